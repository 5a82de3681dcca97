"""A leaf's own parts of the score for a whole block of offsets and shifts, by running sums along rows."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import HalfBody
from seamlight.layout.domain import grid
from seamlight.layout.layers import TurnedSide, planed_mm, seam_means
from seamlight.layout.raster import Raster
from seamlight.layout.score import GRID_MM, LeafParts, Sums, leaf_parts

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


def parts_of(turned: TurnedSide, raster: Raster, body: HalfBody, offsets: range, shifts: range) -> LeafParts:
    """Points of each part, (offsets, shifts)."""
    ring = seam_means(raster.ring_deg, raster, body, offsets, shifts) if raster.ring_read else None
    return leaf_parts(
        plate_block(raster, body, offsets, shifts),
        ring,
        planed_mm(turned, body, offsets, shifts),
        angle_read=raster.angle_read,
        spacing_read=raster.spacing_read,
    )


def plate_block(raster: Raster, body: HalfBody, offsets: range, shifts: range) -> Sums:
    """The sums over the points inside the outline, at every offset and shift."""
    o, s = grid(offsets), grid(shifts)
    zero = np.zeros((len(o), len(s)))
    if not (raster.angle_read or raster.spacing_read):  # nothing to sum: every part counts as unread
        return Sums(zero, zero, zero, zero, zero, (zero, zero, zero), (zero, zero, zero))
    rows, on, half = _rows(raster, body, s)
    first = np.searchsorted(raster.u_mm, o, side="right")
    stops = [_column_before(raster, o, share * half / 3) for share in (1, 2, 3)]
    edges = [np.broadcast_to(first, stops[0].shape), *stops]
    counts = [_over_rows((b - a).astype(np.float64), on) for a, b in pairwise(edges)]
    squared = _running(raster.angle_deg**2) if raster.angle_read else None
    spacing = _running(raster.spacing_mm) if raster.spacing_read else None
    spacing_squared = _running(raster.spacing_mm**2) if raster.spacing_read else None
    thirds = [_between(spacing, rows, on, a, b, zero) for a, b in pairwise(edges)]
    return Sums(
        count=sum(counts, zero),
        angle=zero,
        angle_squared=_between(squared, rows, on, edges[0], edges[3], zero),
        spacing=sum(thirds, zero),
        spacing_squared=_between(spacing_squared, rows, on, edges[0], edges[3], zero),
        third_counts=(counts[0], counts[1], counts[2]),
        third_spacings=(thirds[0], thirds[1], thirds[2]),
    )


def _rows(raster: Raster, body: HalfBody, s: Array) -> tuple[Ints, NDArray[np.bool_], Array]:
    """The grid's rows inside the body at each shift, (shifts, rows): index, whether inside, half width."""
    first = np.searchsorted(raster.v_mm, s, side="left")
    most = int(body.length_mm // GRID_MM) + 1
    rows = first[:, None] + np.arange(most)[None]
    there = rows < len(raster.v_mm)
    rows = np.minimum(rows, len(raster.v_mm) - 1)
    v = raster.v_mm[rows] - s[:, None]
    on = there & (v >= 0) & (v <= body.length_mm)
    return rows, on, np.where(on, body.half_at(v), 0.0)


def _column_before(raster: Raster, o: Array, width: Array) -> Ints:
    """How many of the grid's columns lie at or before offset + width, (shifts, rows, offsets)."""
    at = (o[None, None, :] + width[:, :, None] - raster.u_mm[0]) / GRID_MM
    return np.asarray(np.clip(np.floor(at).astype(np.int64) + 1, 0, len(raster.u_mm)))


def _running(values: Array) -> Array:
    out = np.zeros((values.shape[0], values.shape[1] + 1))
    np.cumsum(values, axis=1, out=out[:, 1:])
    return out


def _between(
    running: Array | None, rows: Ints, on: NDArray[np.bool_], start: Ints, stop: Ints, zero: Array
) -> Array:
    if running is None:
        return zero
    at = rows[:, :, None]
    return _over_rows(running[at, stop] - running[at, start], on)


def _over_rows(values: Array, on: NDArray[np.bool_]) -> Array:
    """(shifts, rows, offsets) summed over the rows inside -> (offsets, shifts)."""
    return np.asarray(np.einsum("sro,sr->os", values, on.astype(np.float64)))
