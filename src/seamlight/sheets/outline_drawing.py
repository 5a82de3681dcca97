"""What a full-size drawing of an outline consists of, whatever it is written as: lines and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamlight.outline.measure import half_width_at, polygon, waist_of, widths, zone_polygons
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


_AROUND_MM = 5.0  # from the outline to the box of corner marks
_CROSS_MM = 4.0
_ZONE_WORDS = {"soundhole": "soundhole", "bridge": "bridge and plate", "fingerboard": "fingerboard"}


def full_size(outline: Outline, *, half: bool, unit: Unit, left_handed: bool) -> FullSize:
    """The drawing of an outline as seen from outside, the whole body or its right half as a template."""
    length = outline.length_mm
    body = polygon(outline)
    if half:
        body = np.concatenate((outline.half_mm, outline.half_mm[:1]))[:-1]
    x0, x1 = (0.0 if half else float(body[:, 0].min())), float(body[:, 0].max())
    top, bottom = float(body[:, 1].min()), float(body[:, 1].max())
    box = (x0 - _AROUND_MM, top - _AROUND_MM, x1 + _AROUND_MM, bottom + _AROUND_MM)
    over = 4.0  # the centre line shows beyond both ends, to lay it on the seam
    lines = [
        Line("outline", body, closed=True),
        Line("centre line", np.array([[0.0, -over], [0.0, length + over]])),
        *_zone_lines(outline, half),
        *_width_lines(outline, half),
        *_corner_marks(box),
    ]
    diagonal_mm = float(np.hypot(box[2] - box[0], box[3] - box[1]))
    words = [
        *_direction_words(outline, half, left_handed),
        *_measure_words(outline, half, unit, diagonal_mm),
        *_zone_words(outline),
    ]
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


def _zone_words(outline: Outline) -> list[Word]:
    z = outline.zones
    places = {
        "soundhole": z.soundhole_y_mm + 4,
        "bridge": z.bridge_y_mm + 1,
        "fingerboard": z.fingerboard_end_mm - 6,
    }
    there = [str(zone) for zone in zone_polygons(outline)]
    return [_beside(said, places[zone], 3.2, "zones") for zone, said in _ZONE_WORDS.items() if zone in there]


def _beside(text: str, y: float, size: float, role: Role = "measures") -> Word:
    """Words just right of the centre line."""
    return Word(text, 4.0, y, size, role, "left")


def _width_places(outline: Outline) -> list[float]:
    return list(waist_of(outline)[:3])


def _width_lines(outline: Outline, half: bool) -> list[Line]:
    found = []
    for y in _width_places(outline):
        at = np.array([y])
        left = 0.0 if half else -float(half_width_at(outline, at, "left")[0])
        found.append(Line("measures", np.array([[left, y], [float(half_width_at(outline, at)[0]), y]])))
    return found


def _free_from(outline: Outline, y: float) -> float:
    """Where words may start at a height, right of the fingerboard and the soundhole."""
    z = outline.zones
    board = z.fingerboard_half_width_mm if y < z.fingerboard_end_mm + 5 else 0.0
    near = max(abs(y - z.soundhole_y_mm) - 6.0, 0.0)  # words reach as far above and below
    chord = float(np.sqrt(max((z.soundhole_mm / 2) ** 2 - near**2, 0.0)))
    return max(board, chord, 1.0) + 3.0


def _measure_words(outline: Outline, half: bool, unit: Unit, diagonal_mm: float) -> list[Word]:
    other: Unit = "inch" if unit == "mm" else "mm"

    def said(mm: float) -> str:
        return f"{show_length(mm, unit)}, {show_length(mm, other)}"

    found = []
    names = ("upper bout", "waist", "lower bout")
    for name, full, y in zip(names, widths(outline), _width_places(outline), strict=True):
        x = _free_from(outline, y + 4.0)
        text = f"half {name} {said(full / 2)}" if half else f"{name} {said(full)}"
        found.append(Word(text, x, y + 4.0, 3.0, align="left"))
        found.append(Word(f"{show_length(y, unit)} from the neck end", x, y + 8.2, 3.0, align="left"))
    length = outline.length_mm
    below = waist_of(outline).lower_at_mm + 0.36 * (length - waist_of(outline).lower_at_mm)
    title = f"{outline.name}, {'back' if _is_back(outline) else 'top'}{', half template' if half else ''}"
    rows = (
        (title, 6.0),
        (f"length {said(length)}", 3.6),
        ("the middle of the line is the outline", 3.2),
        ("taped together, corner cross to corner cross, both ways:", 3.2),
        (said(diagonal_mm), 3.2),
    )
    return [*found, *(_beside(text, below + 7.0 * i, size) for i, (text, size) in enumerate(rows))]


def _direction_words(outline: Outline, half: bool, left_handed: bool) -> list[Word]:
    length, z, back = outline.length_mm, outline.zones, _is_back(outline)
    words = [_beside("NECK END", 12.0, 4.2), _beside("TAIL END", length - 8.0, 4.2)]
    hole_to_bridge = (z.soundhole_y_mm + z.soundhole_mm / 2 + z.bridge_y_mm - z.bridge_length_mm / 2) / 2
    seen = "seen from outside: the back from behind" if back else "seen from outside: the top from the front"
    # left in the drawing: the bass side of a right-handed top, the treble side of its back
    sides = ("BASS SIDE", "TREBLE SIDE") if back == left_handed else ("TREBLE SIDE", "BASS SIDE")
    if half:
        words.append(_beside(f"{sides[1]}, {seen}", hole_to_bridge, 3.4))
        words.append(
            _beside(
                "centre line along the straight edge; turn over for the other half", hole_to_bridge + 6, 3.0
            )
        )
        return words
    reach = 0.72 * float(half_width_at(outline, np.array([hole_to_bridge]))[0])
    words += [Word(sides[0], -reach, hole_to_bridge, 4.2), Word(sides[1], reach, hole_to_bridge, 4.2)]
    return [*words, _beside(seen, hole_to_bridge, 3.4)]


def _corner_marks(box: tuple[float, float, float, float]) -> list[Line]:
    left, top, right, bottom = box
    found = []
    for x in (left, right):
        for y in (top, bottom):
            found.append(Line("corners", np.array([[x - _CROSS_MM, y], [x + _CROSS_MM, y]])))
            found.append(Line("corners", np.array([[x, y - _CROSS_MM], [x, y + _CROSS_MM]])))
    return found
