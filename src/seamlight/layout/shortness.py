"""How short a side falls at one tilt: a bound for a whole block at once, and exact figures where asked."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, HalfBody
from seamlight.layout.domain import grid
from seamlight.layout.judge import Half, room_at
from seamlight.layout.layers import Turner, narrowest, outer_window, some, window, within_windows
from seamlight.layout.pieces import TOUCH_MM, Pieces, innermost
from seamlight.layout.score import NO_PLACE, rounded

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
_ALIKE_MM = 5.0  # offsets whose ends differ by no more share one bound


class ShortBlock:
    """Shortness in hundredths of a millimetre over (offsets, shifts): never less than `bound`."""

    def __init__(
        self,
        half: Half,
        turner: Turner,
        tilt_deg: float,
        offsets: range,
        shifts: range,
        most: int = NO_PLACE,
    ) -> None:
        """`most`: a place at least as good is known, so that bounds above it need not be close."""
        self.half, self.tilt_deg, self.offsets, self.shifts = half, tilt_deg, offsets, shifts
        self._edges = turner.side(half, tilt_deg).edges
        self.bound, self.greatest_mm = self._bound(most)
        self.exact = np.full(self.bound.shape, -1, dtype=np.int64)

    def at(self, row: int, column: int) -> int:
        """The exact shortness of one place."""
        if self.exact[row, column] < 0:
            self.exact[row, column] = room_at(
                self._edges,
                self.half.body,
                self.offsets[row] * STRIP_MM,
                self.shifts[column],
            ).short
        return int(self.exact[row, column])

    def known(self, most: int) -> Ints:
        """What was asked for and is at most `most`; elsewhere no place."""
        return np.where((self.exact >= 0) & (self.exact <= most), self.exact, NO_PLACE)

    def _bound(self, most: int) -> tuple[Ints, Array]:
        body, o, s = self.half.body, grid(self.offsets), grid(self.shifts)
        neck = innermost(self._edges.low_end, o, o + body.neck_width_mm, True)
        tail = innermost(self._edges.high_end, o, o + body.tail_width_mm, False)
        over = np.isfinite(neck) & np.isfinite(tail)
        if not over.any():
            return np.full((len(o), len(s)), NO_PLACE), np.full(len(s), np.inf)
        ends = np.maximum(neck[:, None] - s[None], s[None] + body.length_mm - tail[:, None])
        ends = np.where(over[:, None], np.maximum(ends + body.end_trim_mm, 0.0), 1e4)
        bound, loosest = hundredths(ends), np.full(len(s), -np.inf)
        alike = over & (neck <= neck[over].min() + _ALIKE_MM) & (tail >= tail[over].max() - _ALIKE_MM)
        close = over & ~alike & (bound.min(axis=1) <= most)
        for rows in (np.flatnonzero(alike), *(np.array([row]) for row in np.flatnonzero(close))):
            if not len(rows):
                continue
            wood = _on_wood(self._edges.wood, float(neck[rows].max()), float(tail[rows].min()))
            least, greatest = _certain(within_windows(wood, body, self.shifts), body, o[rows], self.shifts)
            by = ends[rows] + np.maximum(o[rows][:, None] - greatest[None], 0.0)
            bound[rows] = np.where(o[rows][:, None] >= least[None] - TOUCH_MM, hundredths(by), NO_PLACE)
            loosest = np.maximum(loosest, greatest)
        return bound, np.where(np.isfinite(loosest), loosest, np.inf)


def hundredths(by_mm: Array) -> Ints:
    """Shortness as the key counts it."""
    some_mm = np.minimum(by_mm, 1e4)
    return np.where(some_mm <= 2 * TOUCH_MM, 0, np.maximum(rounded(some_mm, 100.0), 1))


def _on_wood(pieces: Pieces, neck_mm: float, tail_mm: float) -> Pieces:
    """Pieces in strips that are wholly on wood along the joint at every offset."""
    v = pieces.strip * STRIP_MM
    return some(pieces, (v >= neck_mm - TOUCH_MM) & (v + STRIP_MM <= tail_mm + TOUCH_MM))


def _certain(pieces: Pieces, body: HalfBody, o: Array, shifts: range) -> tuple[Array, Array]:
    """Least and greatest offset by shift, from pieces that surely bound the joint or surely the outline."""
    middle = pieces.near_mm + pieces.far_mm + body.joint_mm
    at_joint = middle - narrowest(body, pieces.strip, shifts) <= 2 * o[0]
    at_outline = middle - body.widest_mm - body.trim_mm > 2 * o[-1]
    least = window(pieces, at_joint, pieces.far_mm, body, shifts, np.maximum) + body.joint_mm
    return least, outer_window(pieces, at_outline, body, shifts)
