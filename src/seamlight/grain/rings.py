"""Ring lines of a leaf in its own frame, and how far they stray from straight."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.grain.field import GrainField
from seamlight.grain.field_bands import bands
from seamlight.grain.field_straight import Straight, straighten
from seamlight.grain.flaw import Flaw
from seamlight.grain.ragged import Rows
from seamlight.grain.ring_borders import ring_borders
from seamlight.grain.ring_tracks import Tracks, follow_lines
from seamlight.photo.flat import FlatLeaf, Points

Array = NDArray[np.float64]
__all__ = ["lines_on_leaf", "ring_borders", "ring_lines", "wander_mm"]

POINT_MM = 3.0  # along a line from point to point, about
CLEAR_OF_FLAWS_MM = 12.0
LONG_ENOUGH = 0.6  # of the leaf's length, for a line to be called straight or not


def ring_lines(flat: FlatLeaf, field: GrainField) -> tuple[Points, ...]:
    """The ring lines that could be followed, each (n, 2) mm in the leaf frame, y rising.

    Args:
        field: the leaf's grain field; lines are followed in the picture made straight by it.
    """
    slope = np.tan(np.radians(field.angle_deg))
    read = bands(flat.rgb, flat.wood, flat.px_per_mm)
    straight = straighten(read, field.x_mm, field.y_mm, _filled(slope))
    return lines_on_leaf(straight, follow_lines(straight))


def lines_on_leaf(straight: Straight, tracks: Tracks) -> tuple[Points, ...]:
    """Tracks of the upright picture carried to the leaf frame, left to right."""
    if not len(tracks.upright_mm):
        return ()
    step = max(1, round(POINT_MM / straight.row_mm))
    rows, drift = straight.rows_mm()[::step], straight.drift_mm[::step]
    upright = _between_stretches(tracks, rows)
    on_line = np.isfinite(upright)
    columns = drift.shape[1]
    place = np.where(on_line, (upright - straight.start_mm) / straight.column_mm - 0.5, 0.0)
    whole = np.clip(place.astype(int), 0, columns - 2)
    share = place - whole
    at = np.arange(len(rows))[None, :] * columns + whole
    flat = drift.ravel()
    x_mm = upright + flat[at] * (1 - share) + flat[at + 1] * share
    count = on_line.sum(axis=1)
    order = np.argsort(np.where(on_line, x_mm, 0.0).sum(axis=1) / np.maximum(count, 1))
    line, row = np.nonzero(on_line[order])
    points = np.column_stack([x_mm[order[line], row], rows[row]])
    return tuple(np.split(points, np.cumsum(count[order])[:-1]))


def _between_stretches(tracks: Tracks, rows_mm: Array) -> Array:
    """X of every line at rows (lines, rows); NaN beyond its ends.

    The first and the last stretch speak for the wood to their ends.
    """
    stretches = tracks.upright_mm.shape[1]
    place = np.interp(rows_mm, tracks.y_mm, np.arange(stretches))
    above = np.minimum(place.astype(int), max(0, stretches - 2))
    below = np.minimum(above + 1, stretches - 1)
    share = place - above
    there = tracks.upright_mm[:, above] * (1 - share) + tracks.upright_mm[:, below] * share
    # a place right on a stretch needs no other
    for one, exact in ((above, share == 0), (below, share == 1)):
        there[:, exact] = tracks.upright_mm[:, one[exact]]
    return np.asarray(there, np.float64)


def wander_mm(lines: Sequence[Points], length_mm: float, flaws: Sequence[Flaw] = ()) -> float | None:
    """Greatest departure of a ring line from its straight fit, away from flaws.

    A line counts when what is left of it is long enough; of each line and its two neighbours the middle one
    speaks, so that one line followed wrongly does not. None where no line is long enough.
    """
    zones = [
        shapely.box(*shapely.Polygon(flaw.outline_mm).buffer(CLEAR_OF_FLAWS_MM).bounds) for flaw in flaws
    ]
    keep_out = shapely.union_all(zones) if zones else None
    told = [line for line in lines if len(line) > 1]
    if not told:
        return None
    points, rows = (
        np.concatenate(told),
        Rows(np.repeat(np.arange(len(told)), [len(line) for line in told]), len(told)),
    )
    step_mm = points[rows.starts + 1, 1] - points[rows.starts, 1]
    if keep_out is not None:
        clear = ~shapely.contains_xy(keep_out, points[:, 0], points[:, 1])
        points, rows = points[clear], rows.of(clear)
    departures = _departures_mm(points, rows)[rows.lengths * step_mm >= LONG_ENOUGH * length_mm]
    if len(departures) < 3:
        return float(departures.max()) if len(departures) else None
    middle = np.median(np.lib.stride_tricks.sliding_window_view(departures, 3), axis=1)
    return float(middle.max())


def _departures_mm(points: Points, rows: Rows) -> Array:
    """(lines,) greatest departure in x of each line's points from its straight fit by least squares."""
    out = np.zeros(rows.count)
    some = np.flatnonzero(rows.lengths)
    if not len(some):
        return out
    starts, of = rows.starts[some], np.repeat(np.arange(len(some)), rows.lengths[some])

    def summed(values: Array) -> Array:
        return np.asarray(np.add.reduceat(values, starts), np.float64)

    x, y = (part - (summed(part) / rows.lengths[some])[of] for part in points.T)
    x -= y * (summed(x * y) / np.maximum(summed(y * y), 1e-12))[of]
    out[some] = np.maximum.reduceat(np.abs(x), starts)
    return out


def _filled(slope: NDArray[np.float64]) -> NDArray[np.float64]:
    """NaN replaced row by row from the nearest read places, then by the field's middle value."""
    out = slope.copy()
    at = np.arange(slope.shape[1])
    for row in out:
        read = np.isfinite(row)
        if read.any():
            row[~read] = np.interp(at[~read], at[read], row[read])
    middle = float(np.nanmedian(slope)) if np.isfinite(slope).any() else 0.0
    return np.nan_to_num(out, nan=middle)
