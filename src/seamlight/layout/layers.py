"""What one side says at one tilt for a whole block of offsets and shifts at once.

The wood is turned once; then every strip's edge is a number, and what a place asks for is a window over
strips: the least offset is the greatest joint edge in the window, the greatest is the least outer edge less
the body's half width. What can be had in neither way (rough ends, holes, flaws) forbids stretches of offsets.
All arrays are (offsets, shifts) unless said otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, ZONES, HalfBody
from seamlight.layout.domain import grid
from seamlight.layout.judge import Edges, Half, Place, edges_of, strip_widths
from seamlight.layout.pieces import TOUCH_MM, Pieces, innermost, strip_pieces
from seamlight.layout.raster import Raster, raster_of
from seamlight.layout.score import SEAM_BAND_MM
from seamlight.layout.side import Side
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
OPEN = ZONES.index("open")


@dataclass(frozen=True, eq=False)
class TurnedSide:
    """A side turned by one tilt, facing left and neck first; `flipped` gives the other ways to face."""

    edges: Edges
    silhouette: Pieces
    flaws_uv: Points  # points of all flaws that count

    def flipped(self, across: bool, along: bool) -> TurnedSide:
        """The same side with u or v counted the other way."""
        signs = np.array([-1.0 if across else 1.0, -1.0 if along else 1.0])
        low, high = self.edges.low_end * signs, self.edges.high_end * signs
        edges = Edges(
            self.edges.wood.flipped(across, along),
            high if along else low,
            low if along else high,
            tuple(h.flipped(across, along) for h in self.edges.holes),
        )
        return TurnedSide(edges, self.silhouette.flipped(across, along), self.flaws_uv * signs)


class Turner:
    """Keeps what was turned: the openings of a pair ask for the same tilts."""

    def __init__(self) -> None:
        self._turned: dict[tuple[int, float], TurnedSide] = {}
        self._rasters: dict[tuple[int, float], Raster] = {}

    def side(self, half: Half, tilt_deg: float) -> TurnedSide:
        """A half's side at a tilt, facing as the half does."""
        key = (id(half.side), tilt_deg)
        if key not in self._turned:
            self._turned[key] = _turned(half.side, half.body, tilt_deg)
        return self._turned[key].flipped(not half.joint_left, not half.neck_first)

    def raster(self, half: Half, tilt_deg: float) -> Raster:
        """A half's grain grid at a tilt, facing as the half does."""
        key = (id(half.side), tilt_deg)
        if key not in self._rasters:
            self._rasters[key] = raster_of(half.side, tilt_deg)
        return self._rasters[key].flipped(not half.joint_left, not half.neck_first)


def _turned(side: Side, body: HalfBody, tilt_deg: float) -> TurnedSide:
    half, place = Half(side, body, True, True), Place(tilt_deg, 0.0, 0.0)
    counted = [half.to_body(f.points_mm, place) for f in side.flaws if f.counts]
    return TurnedSide(
        edges_of(half, place),
        strip_pieces(half.to_body(side.silhouette_mm, place)),
        np.concatenate(counted) if counted else np.zeros((0, 2)),
    )


@dataclass(frozen=True, eq=False)
class Reach:
    """How far offsets may go: `least_mm`, `greatest_mm` by shift (s,), the wood's ends by offset (o,)."""

    least_mm: Array
    greatest_mm: Array
    neck_mm: Array
    tail_mm: Array
    fits: Flags
    forbidden: Flags


def reach_of(turned: TurnedSide, body: HalfBody, offsets: range, shifts: range) -> Reach:
    """Which offsets and shifts fit, and the closed form behind it."""
    o, s = grid(offsets), grid(shifts)
    edges = turned.edges
    neck = innermost(edges.low_end, o, o + body.neck_width_mm, True)
    tail = innermost(edges.high_end, o, o + body.tail_width_mm, False)
    wood = within_windows(edges.wood, body, shifts)
    thin = narrowest(body, wood.strip, shifts)
    inner = wood.near_mm < o[0] - 2 * TOUCH_MM + thin
    least = window(wood, inner, wood.far_mm, body, shifts, np.maximum) + body.joint_mm
    first_mm = max(float(least.min()), float(o[0]))  # no offset below this fits at any shift
    inner = wood.near_mm < first_mm - 2 * TOUCH_MM + thin
    outer = ~inner & (wood.near_mm >= o[-1])
    least = window(wood, inner, wood.far_mm, body, shifts, np.maximum) + body.joint_mm
    greatest = outer_window(wood, outer, body, shifts)
    forbidden = _forbidden_by_edges(some(wood, ~inner & ~outer), body, o, shifts)
    for hole in edges.holes:
        forbidden |= _forbidden_by_hole(within_windows(hole, body, shifts), body, o, shifts)
    fits = (
        (np.isfinite(neck) & np.isfinite(tail))[:, None]
        & (o[:, None] >= least[None] - TOUCH_MM)
        & (o[:, None] <= greatest[None] + TOUCH_MM)
        & (neck[:, None] <= s[None] - body.end_trim_mm + TOUCH_MM)
        & (tail[:, None] >= s[None] + body.length_mm + body.end_trim_mm - TOUCH_MM)
        & ~forbidden
    )
    return Reach(least, greatest, neck, tail, fits, forbidden)


def zones_of(turned: TurnedSide, body: HalfBody, offsets: range, shifts: range, most: int = OPEN) -> Ints:
    """The worst zone that a counted flaw's point falls in; OPEN + 1 where it is worse than `most`."""
    o, s = grid(offsets), grid(shifts)
    points = turned.flaws_uv
    rank = np.full((len(o), len(s)), OPEN + 1, dtype=np.int64)
    as_good = np.ones(rank.shape, dtype=np.bool_)
    for zone in range(most, -1, -1):  # what is worse than a zone is worse than all before it too
        if zone < OPEN and len(points):
            v = points[:, 1][None] - s[:, None]
            first, last = body.clear_beyond(zone, v)
            low, high = points[:, 0][None] - last, points[:, 0][None] - first
            some = (low <= high) & (low <= o[-1]) & (high >= o[0])
            as_good &= ~_stretches(o, low, high, some, closed=True)
        if not as_good.any():
            break
        rank[as_good] = zone
    return rank


def seam_means(values: Array, raster: Raster, body: HalfBody, offsets: range, shifts: range) -> Array:
    """Mean of a grid's values within the seam's band over the body's length."""
    o, s = grid(offsets), grid(shifts)
    from_column, to_column = _columns(raster, o, 0.0), _columns(raster, o, SEAM_BAND_MM)
    from_row = np.searchsorted(raster.v_mm, s, side="left")
    to_row = np.searchsorted(raster.v_mm, s + body.length_mm, side="right")
    sums = np.zeros((values.shape[0] + 1, values.shape[1] + 1))
    sums[1:, 1:] = values.cumsum(axis=0).cumsum(axis=1)
    o0, o1, r0, r1 = from_column[:, None], to_column[:, None], from_row[None], to_row[None]
    total = sums[r1, o1] - sums[r0, o1] - sums[r1, o0] + sums[r0, o0]
    return np.asarray(total / np.maximum((r1 - r0) * (o1 - o0), 1))


def planed_mm(turned: TurnedSide, body: HalfBody, offsets: range, shifts: range) -> Array:
    """The most wood off the silhouette's joint edge."""
    whole = within_windows(turned.silhouette, body, shifts)
    every = np.ones(len(whole.strip), dtype=np.bool_)
    edge = -window(whole, every, -whole.near_mm, body, shifts, np.maximum)
    return np.maximum(grid(offsets)[:, None] - edge[None], 0.0)


def _columns(raster: Raster, o: Array, beyond_mm: float) -> Ints:
    return np.searchsorted(raster.u_mm, o + beyond_mm, side="right")


def some(pieces: Pieces, which: Flags) -> Pieces:
    return Pieces(pieces.strip[which], pieces.near_mm[which], pieces.far_mm[which])


def within_windows(pieces: Pieces, body: HalfBody, shifts: range) -> Pieces:
    """Only pieces in strips that some shift's seam reaches."""
    first, last = body.seam_strips
    on = (pieces.strip >= shifts.start + first) & (pieces.strip < shifts.stop - 1 + last)
    return some(pieces, on)


def narrowest(body: HalfBody, strip: Ints, shifts: range) -> Array:
    """Least half width with trim that the body can have in each strip at any of the shifts."""
    n = len(body.strip_mm)
    wanted = np.concatenate([np.zeros(len(shifts)), body.strip_mm + body.trim_mm, np.zeros(len(shifts))])
    least = sliding_window_view(wanted, len(shifts)).min(axis=1)  # starts at body strip -len(shifts)
    at = strip - (shifts.stop - 1) + len(shifts)
    inside = (at >= 0) & (at < len(least))
    return np.where(inside, least[np.clip(at, 0, n + len(shifts))], 0.0)


def window(
    pieces: Pieces, which: Flags, values: Array, body: HalfBody, shifts: range, pick: np.ufunc
) -> Array:
    """Greatest (or least) of the pieces' values over the seam's strips, by shift."""
    first, last = body.seam_strips
    fill = -np.inf if pick is np.maximum else np.inf
    line = np.full(len(shifts) + last - first - 1, fill)
    pick.at(line, pieces.strip[which] - shifts.start - first, values[which])
    return np.asarray(pick.reduce(sliding_window_view(line, last - first), axis=1))


def outer_window(pieces: Pieces, which: Flags, body: HalfBody, shifts: range) -> Array:
    """The greatest offset that keeps the outline with its trim within the outer edge, by shift."""
    n = len(body.strip_mm)
    line = np.full(len(shifts) + n - 1, np.inf)
    at = pieces.strip[which] - shifts.start
    inside = (at >= 0) & (at < len(line))
    np.minimum.at(line, at[inside], pieces.near_mm[which][inside])
    return np.asarray((sliding_window_view(line, n) - (body.strip_mm + body.trim_mm)).min(axis=1))


def _against(pieces: Pieces, body: HalfBody, shifts: range) -> tuple[Ints, Flags, Flags]:
    """Body strip of each piece at each shift (shifts, pieces), whether in the seam, whether in the body."""
    k = pieces.strip[None] - np.arange(shifts.start, shifts.stop)[:, None]
    first, last = body.seam_strips
    return k, (k >= first) & (k < last), (k >= 0) & (k < len(body.strip_mm))


def _forbidden_by_edges(pieces: Pieces, body: HalfBody, o: Array, shifts: range) -> Flags:
    k, seam, within = _against(pieces, body, shifts)
    wanted = strip_widths(body, k) + np.where(within, body.trim_mm, 0.0)
    low = pieces.near_mm[None] - wanted + TOUCH_MM
    high = np.broadcast_to(pieces.far_mm[None] + body.joint_mm - TOUCH_MM, low.shape)
    return _stretches(o, low, high, seam)


def _forbidden_by_hole(pieces: Pieces, body: HalfBody, o: Array, shifts: range) -> Flags:
    k, seam, within = _against(pieces, body, shifts)
    near, far = (np.broadcast_to(x[None], k.shape) for x in (pieces.near_mm, pieces.far_mm))
    width = strip_widths(body, k)
    struck = _stretches(o, near + TOUCH_MM, far - TOUCH_MM, seam)
    return struck | _stretches(
        o, near - width - body.trim_mm + TOUCH_MM, far - width - TOUCH_MM, seam & within
    )


def _stretches(o: Array, low: Array, high: Array, some: Flags, closed: bool = False) -> Flags:
    """(offsets, shifts): whether an offset lies in any stretch low..high of its shift's row."""
    rows = np.broadcast_to(np.arange(low.shape[0])[:, None], low.shape)[some]
    from_step, to_step = (low[some] - o[0]) / STRIP_MM, (high[some] - o[0]) / STRIP_MM
    start = np.ceil(from_step) if closed else np.floor(from_step) + 1
    stop = np.floor(to_step) + 1 if closed else np.ceil(to_step)
    start, stop = (np.clip(x, 0, len(o)).astype(np.int64) for x in (start, stop))
    real = stop > start
    width = len(o) + 1
    size = low.shape[0] * width
    change = np.bincount(rows[real] * width + start[real], minlength=size) - np.bincount(
        rows[real] * width + stop[real], minlength=size
    )
    return np.asarray(change.reshape(-1, width).cumsum(axis=1)[:, :-1].T > 0)
