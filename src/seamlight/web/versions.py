"""The version that a form was made from: what was looked at, so that nothing newer is overwritten."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form

# Any integer at all: what no version ever was is a conflict (`seamlight.shop.change.check_version`).
Version = Annotated[int, Form()]

_NONE = -1  # fits no version
_DIGITS = 10


def version_typed(said: str) -> int:
    """The version that a form says; one that says none, or what is none, fits no version.

    >>> version_typed("3"), version_typed(""), version_typed("9" * 5000)
    (3, -1, -1)
    """
    return int(said) if said.isascii() and said.isdecimal() and len(said) <= _DIGITS else _NONE
