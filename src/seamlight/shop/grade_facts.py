"""What the documents of `read`, `layout` and `tone` say of the wood inside the chosen outline."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

import numpy as np
import shapely

from seamlight.layout.document import FlawsPart, OpeningPart
from seamlight.layout.sound import COUNTS_FROM
from seamlight.shop.grade import GradeFacts, InsideFlaw
from seamlight.shop.grade_rules import Use


def facts_of(
    opening: OpeningPart,
    flaws: FlawsPart,
    use: Use,
    outline: str,
    *,
    contrast_pct: Sequence[float | None] = (),
    runout_deg: float | None = None,
) -> GradeFacts:
    """The facts a grade rests on.

    Args:
        opening: the chosen opening.
        flaws: those of both leaves, as the layout's document lists them.
        use: top or back.
        outline: its name, for the sentences.
        contrast_pct: the document of `tone`: the halves' difference in two lights.
        runout_deg: slope of the fibres to the face, as a split offcut gave it.
    """
    lines = opening.grain.lines_per_inch
    thirds = [v for v in (lines.joint, lines.middle, lines.edge) if v is not None and v > 0]
    told = [abs(c) for c in contrast_pct if c is not None]
    return GradeFacts(
        use=use,
        outline=outline,
        lines_per_inch=_mean_lines(thirds),
        ring_to_face_deg=opening.grain.ring_to_face_deg,
        spread_deg=opening.grain.spread_deg,
        tilt_deg=None if opening.grain.tilt_deg is None else abs(opening.grain.tilt_deg),
        runout_deg=runout_deg,
        unevenness=max(thirds) / min(thirds) if len(thirds) > 1 else None,
        two_tone_pct=max(told) if told else None,
        flaws=flaws_of(opening, flaws),
        fits=opening.fits,
    )


def _mean_lines(thirds: list[float]) -> float | None:
    """Lines over all thirds, each equally wide: the mean of lines to the inch."""
    return sum(thirds) / len(thirds) if thirds else None


def flaws_of(opening: OpeningPart, flaws: FlawsPart) -> tuple[InsideFlaw, ...]:
    """The flaws inside the outline with their longest extent there; unsure ones hold nothing back.

    One that was drawn after the layout counts as soon as the pair has been laid out with it.
    """
    found = []
    for inside in opening.flaws_inside:
        known = flaws.a if inside.leaf == "a" else flaws.b
        flaw = known[inside.flaw] if inside.flaw < len(known) else None
        if flaw is None or flaw.sure < COUNTS_FROM:
            continue
        placed = opening.leaves.a if inside.leaf == "a" else opening.leaves.b
        found.append(InsideFlaw(flaw.kind, inside.zone, _extent_mm(flaw.outline_mm, placed.outline_mm)))
    return tuple(found)


def _extent_mm(flaw_mm: list[tuple[float, float]], outline_mm: list[tuple[float, float]]) -> float:
    """The longest distance across the part of a flaw that lies inside the outline, mm."""
    flaw = shapely.make_valid(shapely.Polygon(flaw_mm))
    inside = flaw.intersection(shapely.make_valid(shapely.Polygon(outline_mm)))
    hull = (flaw if inside.is_empty else inside).convex_hull
    points = np.asarray(shapely.get_coordinates(hull))
    between = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    longest = float(between.max()) if len(points) else 0.0
    return longest if isfinite(longest) else 0.0
