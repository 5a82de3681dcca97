"""The maker's own outline from a DXF or SVG file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from seamlight.mistake import Mistake
from seamlight.outline.centre import Halves, halves_of
from seamlight.outline.drawing import MOST_BYTES, Drawing, DrawnUnit, unit_of
from seamlight.outline.dxf import read_dxf
from seamlight.outline.measure import half_width_at, scale_check, waist_of, widths
from seamlight.outline.measures import GENERIC
from seamlight.outline.parametric import named
from seamlight.outline.shape import Outline, Zones
from seamlight.outline.svg import read_svg
from seamlight.outline.which_shape import Shape, find_shape
from seamlight.photo.flat import Points

_STEP_MM = 1.0
_SIMPLIFY_MM = 0.002
_SAME_MM = 0.1  # halves that differ by less are one
_BEND_BACK_MM = 0.5
_UNSURE = 0.03  # bouts nearer than this to each other do not tell the neck end


def load_drawing(path: Path | str, unit: DrawnUnit | None = None) -> Outline:
    """An outline from a DXF or SVG file, whole or half, in the body frame.

    The half's curves are followed to 0.005 mm and its points lie at most 1 mm apart. The zones are those of
    the generic size nearest to it, which a warning says.

    Args:
        path: the file.
        unit: the unit it was drawn in, where the file does not say or says it wrong.

    Raises:
        Mistake: not such a file, unit unknown, no closed shape, several, one that crosses itself,
            or no guitar's size.
    """
    path = Path(path)
    outline = drawn_shape(path, unit)
    near = nearest_size(outline)
    told = f"{path.name}: soundhole, bridge and fingerboard are taken to lie as on a generic {near}"
    return replace(outline, zones=named(near).zones, warnings=(*outline.warnings, told))


def drawn_shape(path: Path, unit: DrawnUnit | None = None) -> Outline:
    """The outline of a DXF or SVG file with zones that are not yet its own; raises as `load_drawing`."""
    where = path.name
    drawing = _read(path)
    shape = find_shape(drawing, where)
    spread = shape.points @ _directions()
    unit_mm, unit_told = unit_of(drawing, float(np.ptp(spread, axis=0).max()), unit, where)
    halves = _halves(shape, unit_mm, where)
    scale_check(Outline(path.stem, halves.right, _zones(), halves.left), where)
    outline, told = _neck_first(path.stem, halves, where)
    warnings = (
        *shape.warnings,
        *((f"{unit_told}, which makes it {outline.length_mm:.1f} mm long",) if unit_told else ()),
        *told,
        *_shape_warnings(outline, where),
    )
    return replace(outline, warnings=warnings, notes=(halves.how, "neck end at the narrower bout"))


def _halves(shape: Shape, unit_mm: float, where: str) -> Halves:
    """The halves of a shape; one far from any body's size is brought near it first: limits are in mm."""
    length_mm = float(np.ptp(shape.points, axis=0).max()) * unit_mm
    near = 1.0 if 50 <= length_mm <= 5000 else 500 / length_mm
    halves = halves_of(shape.points * unit_mm * near, shape.closed, where)
    return Halves(halves.right / near, None if halves.left is None else halves.left / near, halves.how)


def _read(path: Path) -> Drawing:
    readers = {".dxf": read_dxf, ".svg": read_svg}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise Mistake(
            "is no DXF or SVG file", where=path.name, do="name a file that ends in .dxf, .svg or .json"
        )
    try:
        size = path.stat().st_size
    except OSError as error:
        raise Mistake("no such file", where=str(path), do="check the name") from error
    if not path.is_file() or not 0 < size <= MOST_BYTES:
        raise Mistake("is empty, no file, or over 50 MB", where=path.name, do="save the outline alone")
    return reader(path)


def _directions() -> Points:
    """(2, 90) unit vectors, 2 degrees apart: the greatest spread over them is a shape's length."""
    turn = np.radians(np.arange(0, 180, 2))
    return np.stack([np.cos(turn), np.sin(turn)])


def _zones() -> Zones:
    return named("auditorium").zones


def _resampled(half: Points) -> Points:
    """The edge with points at most 1 mm apart, every bend of more than 0.002 mm kept."""
    plain = shapely.LineString(half).simplify(_SIMPLIFY_MM)
    return np.asarray(shapely.segmentize(plain, _STEP_MM).coords)


def _outline(name: str, right: Points, left: Points | None) -> Outline:
    return Outline(name, _resampled(right), _zones(), None if left is None else _resampled(left))


def _upended(half: Points) -> Points:
    return half[::-1] * (1.0, -1.0) + (0.0, half[-1, 1])


def _flat_mm(half: Points) -> float:
    """Half width of the straight at the first end."""
    return float(half[half[:, 1] < 0.3, 0].max(initial=0.0))


def _neck_first(name: str, halves: Halves, where: str) -> tuple[Outline, list[str]]:
    """The outline with its neck end first, and what to tell where that or its side is not sure."""
    outline = _outline(name, halves.right, halves.left)
    waist = waist_of(outline)
    length = outline.length_mm
    at = (
        np.array([waist.upper_at_mm, waist.lower_at_mm])
        if waist.depth_mm
        else np.array([length / 4, length * 3 / 4])
    )
    first, last = np.maximum(half_width_at(outline, at), half_width_at(outline, at, "left"))
    told = [] if waist.depth_mm else [f"{where}: it has no waist"]
    upend = first > last
    if abs(first - last) < _UNSURE * max(first, last):
        here, there = _flat_mm(halves.right), _flat_mm(_upended(halves.right))
        upend = there > here
        told.append(
            f"{where}: both bouts are nearly as wide; the end with the longer flat was taken for the neck end"
        )
    if upend:
        right, left = _upended(halves.right), None if halves.left is None else _upended(halves.left)
        outline = _outline(name, right if left is None else left, None if left is None else right)
    return _one_or_two(outline, where, told)


def _one_or_two(outline: Outline, where: str, told: list[str]) -> tuple[Outline, list[str]]:
    """The outline as one half where both are alike, else with what to tell of the difference."""
    if outline.left_half_mm is None:
        return outline, told
    y = np.arange(0, outline.length_mm, 0.5)
    apart = half_width_at(outline, y) - half_width_at(outline, y, "left")
    most = float(np.abs(apart[4:-4]).max())
    if most <= _SAME_MM:
        return replace(outline, left_half_mm=None), told
    side = "right" if apart[int(np.argmax(np.abs(apart)))] < 0 else "left"
    told.append(
        f"{where}: the halves differ by up to {most:.1f} mm, the {side} one is the narrower;"
        " taken as drawn from outside with the neck up"
    )
    return outline, told


def _shape_warnings(outline: Outline, where: str) -> list[str]:
    """What is odd in the shape itself."""
    told = []
    halves = [outline.half_mm] + ([outline.left_half_mm] if outline.left_half_mm is not None else [])
    if any(float((np.maximum.accumulate(half[:, 1]) - half[:, 1]).max()) > _BEND_BACK_MM for half in halves):
        told.append(
            f"{where}: a horn bends back toward the neck; across the body the greatest half width counts"
        )
    for end, first, second in (("neck", 0, 1), ("tail", -1, -2)):
        way = outline.half_mm[second] - outline.half_mm[first]
        if abs(way[1]) > 0.1 * abs(way[0]):
            told.append(f"{where}: the outline does not meet the centre line square at the {end} end")
    return told


def nearest_size(outline: Outline) -> str:
    """The name of the generic size nearest in length and bouts."""
    upper, _, lower = widths(outline)
    own = np.array([outline.length_mm, upper, lower])
    sizes = {m.name: np.array([m.length_mm, m.upper_bout_mm, m.lower_bout_mm]) for m in GENERIC.values()}
    return min(sizes, key=lambda name: float(np.hypot.reduce(sizes[name] - own)))
