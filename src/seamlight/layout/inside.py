"""The wood inside the outline: its grain, its flaws, and how each leaf is marked out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, ZONES
from seamlight.layout.judge import Half, Place, Verdict
from seamlight.layout.opening import Edge, FlawInside, GrainInside, LeafPlacing, Zone
from seamlight.layout.pieces import strip_pieces
from seamlight.layout.score import third_means
from seamlight.outline.measure import side_edge
from seamlight.outline.shape import Outline
from seamlight.units import MM_PER_INCH

Array = NDArray[np.float64]
_END_STRETCH_MM = 5.0


def placing_of(half: Half, place: Place, outline: Outline, which: Edge, most_mm: float) -> LeafPlacing:
    """Joint line, outline and planing of one leaf, in its own frame."""
    body = half.body
    last = body.length_mm + body.end_trim_mm
    line = half.side.to_leaf(half.to_frame(np.array([[0.0, -body.end_trim_mm], [0.0, last]]), place))
    edge = half.side.to_leaf(half.to_frame(np.asarray(side_edge(outline, which)), place))
    neck, tail = planed_at_ends(half, place)
    end1, end2 = (neck, tail) if line[0, 1] < line[1, 1] else (tail, neck)
    return LeafPlacing(line, edge, end1, end2, most_mm)


def planed_at_ends(half: Half, place: Place) -> tuple[float, float]:
    """Wood off the joint edge at the neck and tail ends of the seam: the middle of the last 5 mm on wood."""
    pieces = strip_pieces(half.to_body(half.side.silhouette_mm, place))
    first, last = half.body.seam_strips
    on = (pieces.strip >= first) & (pieces.strip < last)
    strips = np.unique(pieces.strip[on])
    if not len(strips):
        return 0.0, 0.0
    count = int(_END_STRETCH_MM / STRIP_MM)
    edge = np.full(last - first, np.inf)
    np.minimum.at(edge, pieces.strip[on] - first, pieces.near_mm[on])
    neck, tail = strips[:count] - first, strips[-count:] - first
    at_neck, at_tail = (float(max(0.0, -np.median(edge[part]))) for part in (neck, tail))
    return at_neck, at_tail


def flaws_inside(a: Verdict, b: Verdict) -> tuple[FlawInside, ...]:
    """Every flaw that is not in the waste, worst first; indices count the other face's flaws last."""
    found = [(rank, FlawInside("a", flaw, _zone(rank))) for flaw, rank in a.zones]
    found += [(rank, FlawInside("b", flaw, _zone(rank))) for flaw, rank in b.zones]
    return tuple(flaw for _, flaw in sorted(found, key=lambda item: -item[0]))


def _zone(rank: int) -> Zone:
    return ZONES[rank]  # type: ignore[return-value]


def grain_inside(halves: tuple[Half, Half], verdicts: tuple[Verdict, Verdict]) -> GrainInside:
    """The grain inside the outline, both leaves; the tilt is the worse leaf's, positive where the grain
    leaves the seam toward the tail."""
    read = [(h, v) for h, v in zip(halves, verdicts, strict=True) if h.side.angle_deg is not None]
    tilt = spread = None
    if read:
        tilt = max((v.seam_deg * _sense(h) for h, v in read), key=abs)
        count = sum(float(v.sums.count) for _, v in read)
        mean = sum(float(v.sums.angle) for _, v in read) / max(count, 1)
        square = sum(float(v.sums.angle_squared) for _, v in read) / max(count, 1)
        spread = float(np.sqrt(max(square - mean**2, 0.0)))
    rings = [v.ring_deg for h, v in zip(halves, verdicts, strict=True) if h.side.ring_to_face_deg is not None]
    joint, middle, edge = _lines_per_inch(halves, verdicts)
    ring = float(np.mean(rings)) if rings else None
    return GrainInside(tilt, spread, joint, middle, edge, ring)


def _sense(half: Half) -> float:
    return (1.0 if half.joint_left else -1.0) * (1.0 if half.neck_first else -1.0)


def _lines_per_inch(
    halves: tuple[Half, Half], verdicts: tuple[Verdict, Verdict]
) -> tuple[float | None, float | None, float | None]:
    means = [
        third_means(v.sums)
        for h, v in zip(halves, verdicts, strict=True)
        if h.side.spacing_mm is not None and float(v.sums.count) > 0
    ]
    if not means:
        return None, None, None
    joint, middle, edge = (
        MM_PER_INCH / max(float(np.mean(third)), 1e-6) for third in zip(*means, strict=True)
    )
    return joint, middle, edge
