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
from seamlight.grain.ring_borders import ring_borders
from seamlight.grain.ring_tracks import Tracks, follow_lines
from seamlight.photo.flat import FlatLeaf, Points

__all__ = ["lines_on_leaf", "ring_borders", "ring_lines", "wander_mm"]

POINT_MM = 3.0  # along a line from point to point
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
    rows = straight.rows_mm()
    rows = rows[:: max(1, round(POINT_MM / straight.row_mm))]
    drift = straight.drift_mm[:: max(1, round(POINT_MM / straight.row_mm))]
    columns = straight.columns_mm()
    lines = []
    for upright in tracks.upright_mm:
        known = np.flatnonzero(np.isfinite(upright))
        # the first and the last stretch speak for the wood to their ends
        low = 0.0 if known[0] == 0 else tracks.y_mm[known[0]]
        high = np.inf if known[-1] == len(upright) - 1 else tracks.y_mm[known[-1]]
        within = (rows >= low) & (rows <= high)
        there = np.interp(rows[within], tracks.y_mm[known], upright[known])
        place = (there - columns[0]) / straight.column_mm
        whole = np.clip(place.astype(int), 0, len(columns) - 2)
        share = place - whole
        near = drift[within]
        at = np.arange(len(there))
        moved = near[at, whole] * (1 - share) + near[at, whole + 1] * share
        lines.append(np.column_stack([there + moved, rows[within]]))
    return tuple(sorted(lines, key=lambda line: float(np.mean(line[:, 0]))))


def wander_mm(lines: Sequence[Points], length_mm: float, flaws: Sequence[Flaw] = ()) -> float | None:
    """Greatest departure of a ring line from its straight fit, away from flaws.

    A line counts when what is left of it is long enough; of each line and its two neighbours the middle one
    speaks, so that one line followed wrongly does not. None where no line is long enough.
    """
    zones = [
        shapely.box(*shapely.Polygon(flaw.outline_mm).buffer(CLEAR_OF_FLAWS_MM).bounds) for flaw in flaws
    ]
    keep_out = shapely.union_all(zones) if zones else None
    departures = []
    for line in lines:
        clear = line if keep_out is None else line[~shapely.contains_xy(keep_out, line[:, 0], line[:, 1])]
        if len(clear) * POINT_MM < LONG_ENOUGH * length_mm:
            continue
        x, y = clear[:, 0], clear[:, 1]
        slope, start = np.polyfit(y, x, 1)
        departures.append(float(np.abs(x - start - slope * y).max()))
    if not departures:
        return None
    if len(departures) < 3:
        return max(departures)
    return max(float(np.median(departures[k : k + 3])) for k in range(len(departures) - 2))


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
