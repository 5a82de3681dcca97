"""Where to hold a plate and where to tap it; and what two places say of a mode."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

import numpy as np

from seamlight.plate.legendre import Array
from seamlight.plate.named import Name
from seamlight.plate.peaks import Peak, Place
from seamlight.plate.ritz import RitzMode

_FLOOR = 0.1  # of a shape's root mean square: no place is a perfect node under a fingertip
_LEVEL_SD_DB = 6.0  # how alike two taps by hand are; common practice, no source
_COST_CAP = 4.0


@dataclass(frozen=True, eq=False)
class HoldAndTap:
    """How to bring one mode out: fractions 0..1 of length and width.

    Attributes:
        hold: one or two places on its still lines, to hold lightly between finger and thumb.
        tap: where it moves most, away from the other modes' best places where possible.
        still_lines: polylines along which it does not move, each (n, 2).
        what: the same in words.
    """

    hold: tuple[tuple[float, float], ...]
    tap: tuple[float, float]
    still_lines: tuple[Array, ...]
    what: str


# In words for a usual leaf; common practice, no source
_WORDS: dict[Name, str] = {
    "twist": "hold at the middle, where both still lines cross; tap a corner, ear or microphone at another",
    "along": "hold a long edge 22 % from an end, on a still line; tap the middle or an end's middle",
    "across": "hold an end 22 % of the width in, on a still line; tap the middle of a long edge",
}


def hold_and_tap(name: Name, mode: RitzMode) -> HoldAndTap:
    """Where to hold and tap for one of the named modes of a free plate."""
    along, across = np.linspace(0, 1, 61), np.linspace(0, 1, 41)
    shape = mode.shape(along, across)
    lines = _still_lines(shape, along, across)
    if name == "twist":
        hold: tuple[tuple[float, float], ...] = ((0.5, 0.5),)
        tap = (0.97, 0.97)
    elif name == "along":
        at = _crossing(shape[:, -1], along, 0.22)
        hold, tap = ((at, 1.0), (1 - at, 1.0)), (0.5, 0.5)
    else:
        at = _crossing(shape[0, :], across, 0.22)
        hold, tap = ((0.0, at), (0.0, 1 - at)), (0.5, 0.97)
    return HoldAndTap(hold, tap, lines, _WORDS[name])


def _crossing(profile: Array, fractions: Array, otherwise: float) -> float:
    """The first place where a profile changes sign."""
    change = np.nonzero(np.diff(profile > 0))[0]
    if not len(change):
        return otherwise
    k = int(change[0])
    part = profile[k] / (profile[k] - profile[k + 1])
    return float(fractions[k] + part * (fractions[k + 1] - fractions[k]))


def _still_lines(shape: Array, along: Array, across: Array) -> tuple[Array, ...]:
    """Where the shape is 0: a polyline for each change of sign, down the rows or over the columns."""
    down = [
        [(float(x), _crossing_at(row, across, k)) for x, row in zip(along, shape, strict=True)]
        for k in range(_most_changes(shape))
    ]
    over = [
        [(_crossing_at(column, along, k), float(y)) for y, column in zip(across, shape.T, strict=True)]
        for k in range(_most_changes(shape.T))
    ]
    lines = [np.array([p for p in line if not (isnan(p[0]) or isnan(p[1]))]) for line in (*down, *over)]
    return tuple(line for line in lines if len(line) > 4)


def _most_changes(rows: Array) -> int:
    return int(np.median(np.count_nonzero(np.diff(rows > 0, axis=1), axis=1)))


def _crossing_at(profile: Array, fractions: Array, which: int) -> float:
    change = np.nonzero(np.diff(profile > 0))[0]
    if which >= len(change):
        return float("nan")
    k = int(change[which])
    step = profile[k] - profile[k + 1]
    part = profile[k] / step if step else 0.5
    return float(fractions[k] + part * (fractions[k + 1] - fractions[k]))


def place_score(mode: RitzMode, peak: Peak, places: Sequence[Place]) -> float:
    """What it costs to call a peak this mode, given its level at each place; 0 where levels say nothing.

    A mode is loud where the plate moves in it, and dies where it is held there.
    """
    if len(peak.level_at_db) != len(places) or len(places) < 2:
        return 0.0
    heard = np.array(peak.level_at_db, dtype=np.float64)
    known = ~np.isnan(heard)
    if known.sum() < 2:
        return 0.0
    moves = np.array([max(abs(mode.at(p.along, p.across)), _FLOOR) for p in places])
    signs = np.array([1.0 if p.what == "tapped" else -1.0 for p in places])
    told = signs * 20 * np.log10(moves)
    difference = (heard - heard[known].mean()) - (told - told[known].mean())
    cost = float((difference[known] ** 2).sum() / (2 * _LEVEL_SD_DB**2))
    return min(cost, _COST_CAP)
