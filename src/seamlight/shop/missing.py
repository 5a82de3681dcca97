"""A thing that was asked for by its number and is not there."""

from __future__ import annotations

from seamlight.mistake import Mistake


class Missing(Mistake):
    """There is no such thing; a page answers it as not found."""
