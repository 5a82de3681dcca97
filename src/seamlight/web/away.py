"""The worker that answers in the browser when the shop's computer cannot be reached.

It keeps one page without anything of the shop's on it and the files that page needs; every other page comes
from the server or not at all, so that a device taken off the list sees nothing that was shown before.
"""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from fastapi import APIRouter
from starlette.responses import Response

router = APIRouter(include_in_schema=False)

STATIC = Path(__file__).parent / "static"
WORKER = "away_worker.js"
KEPT = ("away.html", "seamlight.css", "mark.svg")


@router.get("/away.js")
def worker() -> Response:
    """The worker's script, at the top so that it may answer for every page."""
    return Response(worker_text(), media_type="text/javascript", headers={"cache-control": "no-cache"})


@cache
def worker_text() -> str:
    """The script behind a line with its version, a hash of it and of everything that it keeps."""
    script = (STATIC / WORKER).read_text(encoding="utf-8")
    said = hashlib.sha256(script.encode())
    for name in KEPT:
        said.update((STATIC / name).read_bytes())
    kept = json.dumps([f"/static/{name}" for name in KEPT])
    return f'const VERSION = "{said.hexdigest()[:16]}";\nconst KEPT = {kept};\n{script}'
