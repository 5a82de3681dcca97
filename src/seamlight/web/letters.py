"""Letters that no text has: the NUL byte, and halves of a letter. They are refused once, at the door.

A database that keeps text as text (PostgreSQL) takes neither; no name, note or search ever holds one.
"""

from __future__ import annotations

import json
import re
from typing import Any
from urllib.parse import unquote

from fastapi import HTTPException, Request

from seamlight.web.access import SAFE

SAYS = "There is a letter in this that no text has (NUL)."
_NONE = re.compile("[\x00\ud800-\udfff]")
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
LONGEST = 200_000  # letters in one field of a form; what a field itself takes is less, and said there


def in_address(request: Request) -> bool:
    """Whether the address holds such a letter, written plainly or with a percent sign."""
    query = request.scope.get("query_string", b"").decode("latin-1")
    return bool(_NONE.search(request.scope["path"]) or "\x00" in unquote(query))


async def only_letters(request: Request) -> None:
    """FastAPI dependency of the whole house: what was typed, or sent as JSON, is text.

    Raises:
        HTTPException: 400 where it is not, 413 where one field holds a book.
    """
    if request.method in SAFE:
        return
    kind = request.headers.get("content-type", "")
    if kind.startswith(_FORMS):
        for name, value in (await request.form()).multi_items():
            if isinstance(value, str) and len(value) > LONGEST:
                raise HTTPException(413, f"{name[:40]}: at most {LONGEST:,} letters are taken.")
            if _NONE.search(name) or (isinstance(value, str) and _NONE.search(value)):
                raise HTTPException(400, SAYS)
    elif "json" in kind and not _is_text(await request.body()):
        raise HTTPException(400, SAYS)


def _is_text(body: bytes) -> bool:
    """Whether no string of a JSON document holds such a letter; what is no JSON is told elsewhere."""
    try:
        waiting: list[Any] = [json.loads(body)]
    except (ValueError, RecursionError):
        return True
    while waiting:
        one = waiting.pop()
        if isinstance(one, str) and _NONE.search(one):
            return False
        if isinstance(one, dict):
            waiting += [*one, *one.values()]
        elif isinstance(one, list):
            waiting += one
    return True
