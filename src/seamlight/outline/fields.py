"""What a person wrote in a JSON object: every field known, of its kind, and no absurd size."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable
from typing import Any

from seamlight.mistake import Mistake
from seamlight.units import likely_slip, parse_length


def plain(text: str) -> str:
    """A field's name as it is listed: lower case, single spaces for hyphens and underscores."""
    return " ".join(text.lower().replace("-", " ").replace("_", " ").split())


class Fields:
    """The fields of one JSON object under their plain names.

    Args:
        given: the object.
        known: the names there are.
        where: the file, and the object within it.

    Raises:
        Mistake: it is no object, a name is unknown or comes twice.
    """

    def __init__(self, given: Any, known: Iterable[str], where: str) -> None:
        names = tuple(known)
        if not isinstance(given, dict):
            raise Mistake("should hold one object", where=where, do=f"write {{...}} with: {', '.join(names)}")
        self.where = where
        self._given: dict[str, Any] = {}
        for name, value in given.items():
            if plain(name) not in names:
                near = difflib.get_close_matches(plain(name), names, n=1)
                hint = f"did you mean {near[0]!r}?" if near else f"there are: {', '.join(names)}"
                raise Mistake(f"there is no field {name!r}", where=where, do=hint)
            if plain(name) in self._given:
                raise Mistake(f"the field {plain(name)!r} is there twice", where=where, do="leave one")
            self._given[plain(name)] = value

    def __contains__(self, name: str) -> bool:
        return name in self._given

    def first_of(self, names: Iterable[str]) -> str | None:
        """The first of some names that is given."""
        return next((name for name in names if name in self._given), None)

    def raw(self, name: str) -> Any:
        """What stands there, or None."""
        return self._given.get(name)

    def length_mm(self, name: str, low_mm: float, high_mm: float) -> float | None:
        """A length in mm within low..high, or None where it is not given.

        Raises:
            Mistake: it is no length, or an absurd one.
        """
        if name not in self._given:
            return None
        value, where = self._given[name], f"{self.where}: {name}"
        if isinstance(value, str):
            length_mm = parse_length(value, where=where)
        else:
            length_mm = self._finite(name, 'write a number in mm, or text such as "15 5/8 in"')
        slip = likely_slip(length_mm, low_mm, high_mm)
        if slip is not None:
            halved = name.endswith("width") and "half" not in name and low_mm <= 2 * length_mm <= high_mm
            do = "write the full width, not half of it" if halved else "mend it, or write its unit with it"
            raise Mistake(slip, where=where, do=do)
        return length_mm

    def needed_mm(self, name: str, low_mm: float, high_mm: float) -> float:
        """A length that must be there.

        Raises:
            Mistake: it is missing, no length, or an absurd one.
        """
        length_mm = self.length_mm(name, low_mm, high_mm)
        if length_mm is None:
            raise Mistake(f"{name!r} is missing", where=self.where, do="add it; lengths are in mm")
        return length_mm

    def number(self, name: str, low: float, high: float) -> float | None:
        """A plain number within low..high, or None where it is not given.

        Raises:
            Mistake: it is no number, or out of its range.
        """
        if name not in self._given:
            return None
        value, do = self._finite(name, "write a plain number"), f"usual is {low:g} to {high:g}"
        if not low <= value <= high:
            raise Mistake(f"{value:g} is not possible", where=f"{self.where}: {name}", do=do)
        return value

    def word(self, name: str, words: tuple[str, ...]) -> str | None:
        """One of some words, or None where it is not given.

        Raises:
            Mistake: it is none of them.
        """
        if name not in self._given:
            return None
        value = self._given[name]
        if not isinstance(value, str) or plain(value) not in words:
            raise Mistake(
                f"{value!r} is not known", where=f"{self.where}: {name}", do=f"write {' or '.join(words)}"
            )
        return plain(value)

    def text(self, name: str) -> str | None:
        """A line of text, or None where it is not given.

        Raises:
            Mistake: it is no text, or empty.
        """
        if name not in self._given:
            return None
        value = self._given[name]
        if not isinstance(value, str) or not value.strip():
            raise Mistake("is no text", where=f"{self.where}: {name}", do="write it in quotes")
        return " ".join(value.split())

    def _finite(self, name: str, do: str) -> float:
        value = self._given[name]
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise Mistake(f"{value!r} is no number", where=f"{self.where}: {name}", do=do)
        return float(value)
