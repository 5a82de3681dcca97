"""How much may be written into a field: enough for any workshop, and no book."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from seamlight.mistake import Mistake


def check_texts(values: Mapping[str, Any], longest: Mapping[str, int]) -> None:
    """Refuse a text with more letters than its field takes.

    Args:
        values: by field name; what is no text is left alone.
        longest: letters, by field name.

    Raises:
        Mistake: `where` is the field; nothing is cut short in silence.
    """
    for name, most in longest.items():
        text = values.get(name)
        if isinstance(text, str) and len(text) > most:
            raise Mistake(f"{len(text):,} letters are too many", where=name, do=f"write at most {most:,}")
