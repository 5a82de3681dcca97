"""What an outline's full-size drawing consists of, whatever it is written as: lines and words in the body frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.outline.measure import half_width_at, polygon, side_edge, waist_of, widths, zone_polygons
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points
from seamlight.units import Unit, show_length

Role = Literal["outline", "centre line", "zones", "measures", "corners"]
Align = Literal["left", "middle", "right"]


@dataclass(frozen=True, eq=False)
class Line:
    """A line of the drawing, mm in the body frame."""

    role: Role
    points: Points
    closed: bool = False


@dataclass(frozen=True)
class Word:
    """A line of text with the left, middle or right of its base line at (x, y), mm in the body frame."""

    text: str
    x_mm: float
    y_mm: float
    size_mm: float
    role: Role = "measures"
    align: Align = "middle"


@dataclass(frozen=True, eq=False)
class FullSize:
    """The whole drawing, and the box around it with its corner marks: left, top, right, bottom."""

    name: str
    lines: tuple[Line, ...]
    words: tuple[Word, ...]
    box_mm: tuple[float, float, float, float]

    @property
    def diagonal_mm(self) -> float:
        """From corner mark to corner mark, either way."""
        left, top, right, bottom = self.box_mm
        return float(np.hypot(right - left, bottom - top))


_AROUND_MM = 8.0  # from the outline to the box of corner marks
_CROSS_MM = 4.0
_ZONE_WORDS = {"soundhole": "soundhole", "bridge": "bridge and plate", "fingerboard": "fingerboard"}


def full_size(outline: Outline, *, half: bool, unit: Unit, left_handed: bool) -> FullSize:
    """The drawing of an outline as seen from outside, the whole body or its right half as a template."""
    length = float(outline.half_mm[-1, 1])
    body = polygon(outline)
    if half:
        body = np.concatenate((outline.half_mm, outline.half_mm[:1]))[:-1]
    x0, x1 = (0.0 if half else float(body[:, 0].min())), float(body[:, 0].max())
    top, bottom = float(body[:, 1].min()), float(body[:, 1].max())
    box = (x0 - _AROUND_MM, top - _AROUND_MM, x1 + _AROUND_MM, bottom + _AROUND_MM)
    over = 6.0  # the centre line shows beyond both ends, to lay it on the seam
    lines = [
        Line("outline", body, closed=True),
        Line("centre line", np.array([[0.0, -over], [0.0, length + over]])),
        *_zone_lines(outline, half),
        *_width_lines(outline, half),
        *_corner_marks(box),
    ]
    words = [*_direction_words(outline, half, left_handed), *_measure_words(outline, half, unit), *_zone_words(outline, half)]
    return FullSize(outline.name, tuple(lines), tuple(words), box)


def _is_back(outline: Outline) -> bool:
    return outline.zones.soundhole_mm == 0 and outline.zones.bridge_width_mm == 0


def _zone_lines(outline: Outline, half: bool) -> list[Line]:
    rings = [Line("zones", ring, closed=True) for ring in zone_polygons(outline).values()]
    if not half:
        return rings
    kept = []
    for ring in rings:
        right = ring.points.copy()
        right[:, 0] = np.maximum(right[:, 0], 0.0)
        kept.append(Line("zones", right, closed=True))
    return kept


def _zone_words(outline: Outline, half: bool) -> list[Word]:
    z = outline.zones
    places = {
        "soundhole": z.soundhole_y_mm + 14,
        "bridge": z.bridge_y_mm + 7,
        "fingerboard": z.fingerboard_end_mm - 12,
    }
    x = 6.0 if half else 0.0
    align: Align = "left" if half else "middle"
    there = zone_polygons(outline)
    return [
        Word(said, x, places[zone], 3.4, "zones", align)
        for zone, said in _ZONE_WORDS.items()
        if any(zone == name for name in there)
    ]


def _width_lines(outline: Outline, half: bool) -> list[Line]:
    found = []
    for y in waist_of(outline)[:3]:
        at = np.array([y])
        right = float(half_width_at(outline, at)[0])
        left = 0.0 if half else -float(half_width_at(outline, at, "left")[0])
        found.append(Line("measures", np.array([[left, y], [right, y]])))
    return found


def _measure_words(outline: Outline, half: bool, unit: Unit) -> list[Word]:
    other: Unit = "inch" if unit == "mm" else "mm"
    length = float(outline.half_mm[-1, 1])
    waist, width = waist_of(outline), widths(outline)

    def said(mm: float) -> str:
        return f"{show_length(mm, unit)}, {show_length(mm, other)}"

    found = []
    rows = zip(("upper bout", "waist", "lower bout"), width, waist[:3], strict=True)
    for name, full, at in rows:
        edge = float(side_edge(outline)[:, 0].max()) * 0.42
        text = f"{name} {said(full)}, {show_length(at, unit)} from the neck end"
        if half:
            found.append(Word(f"half {name} {said(full / 2)}", 4.0, at - 1.5, 3.2, align="left"))
        else:
            found.append(Word(text, edge * 0.0 + 4.0, at - 1.5, 3.2, align="left"))
    x, align = (8.0, "left") if half else (0.0, "middle")
    below = (waist.lower_at_mm + length) / 2
    kind = "back" if _is_back(outline) else "top"
    title = f"{outline.name}, {kind}" + (", half template" if half else "")
    found.append(Word(title, x, below, 6.0, align=align))  # type: ignore[arg-type]
    found.append(Word(f"length {said(length)}", x, below + 7, 3.6, align=align))  # type: ignore[arg-type]
    found.append(Word("the middle of the line is the outline", x, below + 13, 3.2, align=align))  # type: ignore[arg-type]
    return found


def _direction_words(outline: Outline, half: bool, left_handed: bool) -> list[Word]:
    length = float(outline.half_mm[-1, 1])
    waist = waist_of(outline)
    y = (waist.waist_at_mm + waist.lower_at_mm) / 2
    x, align = (8.0, "left") if half else (0.0, "middle")
    back = _is_back(outline)
    seen = "seen from outside: the back, from behind" if back else "seen from outside: the top, from the front"
    words = [
        Word("NECK END", x, 9.0, 4.2, align=align),  # type: ignore[arg-type]
        Word("TAIL END", x, length - 6.0, 4.2, align=align),  # type: ignore[arg-type]
    ]
    if half:
        reach = float(half_width_at(outline, np.array([y]))[0])
        words.append(Word("half template: turn it over on the centre line", 8.0, y, 3.4, align="left"))
        words.append(Word("CENTRE LINE (straight edge)", 8.0, y + 6, 3.4, align="left"))
        return words if reach else words
    bass_left = back == left_handed
    sides = ("BASS SIDE", "TREBLE SIDE") if bass_left else ("TREBLE SIDE", "BASS SIDE")
    reach = float(half_width_at(outline, np.array([y]))[0]) * 0.62
    words += [Word(sides[0], -reach, y, 4.2), Word(sides[1], reach, y, 4.2)]
    words.append(Word(seen, 0.0, y - 18.0 if back else waist.waist_at_mm + 24.0, 3.4))
    return words


def _corner_marks(box: tuple[float, float, float, float]) -> list[Line]:
    left, top, right, bottom = box
    found = []
    for x in (left, right):
        for y in (top, bottom):
            found.append(Line("corners", np.array([[x - _CROSS_MM, y], [x + _CROSS_MM, y]])))
            found.append(Line("corners", np.array([[x, y - _CROSS_MM], [x, y + _CROSS_MM]])))
    return found
