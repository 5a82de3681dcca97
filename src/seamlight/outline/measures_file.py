"""A maker's measures file: a JSON of plain words from which an outline and its zones are made."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal, cast

from seamlight.mistake import Mistake
from seamlight.outline.drawing import DrawnUnit
from seamlight.outline.drawn import drawn_shape, nearest_size
from seamlight.outline.fields import Fields
from seamlight.outline.measure import LENGTH_RANGE_MM, LOWER_BOUT_RANGE_MM
from seamlight.outline.measures import Cutaway, Measures
from seamlight.outline.parametric import draw, named
from seamlight.outline.shape import Outline
from seamlight.outline.zones_said import said_zones

_MOST_BYTES = 100_000
_WIDTHS = (
    "length",
    "upper bout width",
    "upper bout from neck end",
    "waist width",
    "waist from neck end",
    "lower bout width",
    "lower bout from neck end",
)
_SHAPE = (
    *_WIDTHS,
    "neck flat half width",
    "waist radius",
    "shoulder fullness",
    "lower bout fullness",
    "tail radius",
    "cutaway",
)
FIELDS = ("name", *_SHAPE, "zones", "drawing", "drawing unit")


def load_measures(path: Path, unit: DrawnUnit | None = None) -> Outline:
    """An outline from a measures file (docs/outlines.md).

    Args:
        path: the JSON file. With "drawing" it names a DXF or SVG beside it, to which it gives zones.
        unit: the drawing's unit, where nothing else says it.

    Raises:
        Mistake: it can't be read, a field is missing, unknown or absurd, or no fair curve has the measures.
    """
    fields = Fields(_read(path), FIELDS, path.name)
    outline = _drawn(fields, path, unit) if "drawing" in fields else _measured_in(fields, path)
    length_mm = outline.length_mm
    given = fields.raw("zones") if "zones" in fields else {}
    near = nearest_size(outline)
    zones, untold = said_zones(given, named(near).zones, length_mm, path.name)
    warnings = outline.warnings
    if untold:
        said = f"{path.name}: nothing is said of {', '.join(untold)}; taken as on a generic {near}"
        warnings = (*warnings, said)
    return replace(outline, zones=zones, warnings=warnings)


def _read(path: Path) -> Any:
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise Mistake("is over 100 kB", where=path.name, do="name a measures file")
        return json.loads(path.read_text(encoding="utf-8-sig"), object_pairs_hook=_once)
    except FileNotFoundError as error:
        raise Mistake("no such file", where=str(path), do="check the name") from error
    except (ValueError, OSError, RecursionError) as error:
        raise Mistake(f"is no JSON file ({error})", where=path.name, do="mend it there") from error


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose fields come once each; the JSON reader would keep the last silently."""
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ValueError(f"{name!r} is there twice")
        found[name] = value
    return found


def _measured_in(fields: Fields, path: Path) -> Outline:
    """The outline by its measures; what is wrong with them is said of the file."""
    if "drawing unit" in fields:
        raise Mistake("'drawing unit' is given without 'drawing'", where=fields.where, do="leave it out")
    try:
        return draw(_measures(fields, path.stem))
    except Mistake as mistake:
        if mistake.where.startswith(path.name):
            raise
        raise Mistake(mistake.what, where=path.name, do=mistake.do) from mistake


def _measures(fields: Fields, stem: str) -> Measures:
    half_flat = fields.length_mm("neck flat half width", 15, 60)
    return Measures(
        name=fields.text("name") or stem,
        length_mm=fields.needed_mm("length", *LENGTH_RANGE_MM),
        upper_bout_mm=fields.needed_mm("upper bout width", 160, 450),
        upper_at_mm=fields.needed_mm("upper bout from neck end", 30, 250),
        waist_mm=fields.needed_mm("waist width", 140, 420),
        waist_at_mm=fields.needed_mm("waist from neck end", 80, 400),
        lower_bout_mm=fields.needed_mm("lower bout width", *LOWER_BOUT_RANGE_MM),
        lower_at_mm=fields.needed_mm("lower bout from neck end", 150, 600),
        neck_flat_mm=Measures.neck_flat_mm if half_flat is None else 2 * half_flat,
        waist_radius_mm=fields.length_mm("waist radius", 30, 400),
        shoulder_fullness=fields.number("shoulder fullness", 1.8, 3.0),
        lower_fullness=fields.number("lower bout fullness", 1.8, 3.0),
        tail_radius_mm=fields.length_mm("tail radius", 60, 5000),
        cutaway=_cutaway(fields),
    )


def _cutaway(fields: Fields) -> Cutaway | None:
    if "cutaway" not in fields:
        return None
    cut = Fields(fields.raw("cutaway"), ("side", "depth", "width", "horn radius"), f"{fields.where}: cutaway")
    side = cast(Literal["left", "right"] | None, cut.word("side", ("left", "right")))
    if side is None:
        raise Mistake(
            "'side' is missing", where=cut.where, do="write left or right, seen from the front, neck up"
        )
    radius_mm = cut.length_mm("horn radius", 15, 60)
    return Cutaway(
        side,
        cut.needed_mm("depth", 40, 160),
        cut.needed_mm("width", 30, 140),
        Cutaway.horn_radius_mm if radius_mm is None else radius_mm,
    )


def _drawn(fields: Fields, path: Path, unit: DrawnUnit | None) -> Outline:
    shape = fields.first_of(_SHAPE)
    if shape is not None:
        raise Mistake(
            f"{shape!r} is given beside 'drawing', which has the shape already",
            where=fields.where,
            do="leave one of them",
        )
    drawing = path.parent / (fields.text("drawing") or "")
    if drawing.suffix.lower() not in (".dxf", ".svg"):
        raise Mistake(
            "names no DXF or SVG file",
            where=f"{fields.where}: drawing",
            do="name the drawing beside this file",
        )
    said = fields.word("drawing unit", ("mm", "cm", "inch"))
    outline = drawn_shape(drawing, unit if unit is not None else cast(DrawnUnit | None, said))
    return replace(outline, name=fields.text("name") or outline.name)
