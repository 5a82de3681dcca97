"""What the history holds, in plain words: names of fields, and values as they were and as they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from seamlight.units import Unit
from seamlight.web.filters import length_in

WORDS = {
    "bought_on": "bought",
    "class_id": "class",
    "deleted_at": "deleted",
    "for_whom": "for whom",
    "is": "set to",
    "kind_wishes": "wood wished",
    "lies_at": "lies at",
    "price_minor": "price",
    "scale_spec": "scale of its photographs",
    "species_botanical": "botanical name",
    "species_common": "species",
    "starts_on": "begins on",
    "student_id": "student",
    "thickness_mm": "thickness",
    "want_by": "wanted by",
}
OURS = frozenset({"label_key", "species_key", "currency"})  # nobody typed them: they follow from the others
NOTHING = "nothing"
PARTS = ("top", "back")
Row = tuple[str, str, str]  # what, before, now


def told_names(names: Iterable[str]) -> list[str]:
    """Fields of the history by the names that their forms give them.

    >>> told_names(["label", "label_key", "thickness_mm"])
    ['label', 'thickness']
    """
    return [WORDS.get(name, name.replace("_", " ")) for name in names if name not in OURS]


def told_rows(
    before: Mapping[str, Any], after: Mapping[str, Any], names: Iterable[str], unit: Unit
) -> list[Row]:
    """Each field as it was and as it is now; of a table of figures only those that differ."""
    rows = []
    for name in names:
        if name in OURS:
            continue
        (word,) = told_names([name])
        was, now = (_part(name, side, unit) for side in (before, after))
        if isinstance(was, dict | list) or isinstance(now, dict | list):
            rows += _differing(word, was, now, unit)
        else:
            rows.append((word, _said(name, was, unit), _said(name, now, unit)))
    return rows


def _part(name: str, side: Mapping[str, Any], unit: Unit) -> Any:
    value = side.get(name)
    if value is None:
        return None
    if name == "kind_wishes":
        return "; ".join(f"{part}: {_wish(value.get(part, {}), unit)}" for part in PARTS)
    if name == "outline":
        return value.get("name") or "one's own drawing"
    if name == "price_minor":
        return f"{value / 100:.2f} {side.get('currency') or ''}".strip()
    return value


def _wish(wish: Mapping[str, Any] | None, unit: Unit) -> str:
    if wish is None:
        return "none wanted"
    said = " or ".join(wish.get("woods") or ()) or "any wood"
    if wish.get("least_grade"):
        said += f", {wish['least_grade']} or better"
    return said + (f", {length_in(wish['spare_mm'], unit)} to spare" if wish.get("spare_mm") else "")


def _differing(word: str, was: Any, now: Any, unit: Unit) -> list[Row]:
    """The leaves of two tables that differ, each with the way to it: `top, 1, lines per inch`."""
    old, new = dict(_leaves("", was)), dict(_leaves("", now))
    word = word if word != WORDS["is"] else "set"
    return [
        (f"{word}{way}".replace("_mm", "").replace("_", " "), _said(way, was, unit), _said(way, now, unit))
        for way in dict.fromkeys([*old, *new])
        for was, now in [(old.get(way), new.get(way))]
        if was != now
    ]


def _leaves(way: str, value: Any) -> Iterable[tuple[str, Any]]:
    if isinstance(value, list | tuple):
        value = {str(number): one for number, one in enumerate(value, 1)}
    if not isinstance(value, dict):
        yield way, value
        return
    for name, part in value.items():
        yield from _leaves(f"{way}, {name}", part)


def _said(name: str, value: Any, unit: Unit) -> str:
    if value is None or value == "":
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name.endswith("_mm") and isinstance(value, int | float):
        return length_in(value, unit, 2)
    return f"{value:.6g}" if isinstance(value, float) else str(value)
