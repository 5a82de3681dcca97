"""Every containment and distance that a layout reports, asked of Shapely (GEOS), on ragged leaves."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Polygon, box
from shapely.affinity import affine_transform

from seamlight.grain.flaw import Flaw
from seamlight.layout.opening import Layout, LayoutSettings, Opening
from seamlight.layout.openings import lay_out
from seamlight.layout.pair import Leaf, Registration
from seamlight.outline import half_width_at, named

STRIP_MM = 0.5
SETTINGS = LayoutSettings(joint_mm=2.0)


def ragged(seed: int, width_mm: float, length_mm: float) -> Leaf:
    rng = np.random.default_rng(seed)
    corners = np.array([[2, 3], [width_mm - 1, 0], [width_mm, length_mm - 2], [0, length_mm]], dtype=float)
    ring = []
    for i, (start, stop) in enumerate(zip(corners, np.roll(corners, -1, axis=0), strict=True)):
        along = np.linspace(0, 1, 120, endpoint=False)[:, None]
        rough = np.zeros((120, 2))
        rough[:, 1 - i % 2] = rng.normal(0, 0.8 if i % 2 == 0 else 0.15, 120)  # square to the edge
        ring.append(start + (stop - start) * along + rough)
    outline = np.vstack(ring)
    outline -= outline.min(axis=0)
    turn = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    knots = [
        Flaw("knot", np.column_stack([x + 4 * np.cos(turn), y + 4 * np.sin(turn)]), 1.0)
        for x, y in rng.uniform((10, 10), (width_mm - 10, length_mm - 10), (4, 2))
    ]
    edge = np.array([[width_mm - 5, -2], [width_mm + 3, -2], [width_mm + 3, 140], [width_mm - 1, 140]])
    return Leaf(outline, (*knots, Flaw("wane", edge, 1.0)))


@pytest.fixture(
    scope="module", params=[("concert", 11, 207.0), ("dreadnought", 12, 211.0), ("jumbo", 13, 208.0)]
)
def layout(request: pytest.FixtureRequest) -> Layout:
    name, seed, width = request.param
    laid = Registration(0.9, slide_mm=1.3, across_mm=0.4, rotate_deg=0.15)
    return lay_out(
        ragged(seed, width, 556), ragged(seed + 90, width, 552), laid, named(name), SETTINGS, smaller=()
    )


def sound(leaf: Leaf) -> Polygon:
    wane = [Polygon(f.outline_mm) for f in leaf.flaws if f.kind == "wane"]
    wood = Polygon(leaf.outline_mm)
    for part in wane:
        wood = wood.difference(part)
    return wood


def in_body(opening: Opening, leaf: str, shape: Polygon, length_mm: float) -> Polygon:
    """A shape of a leaf as it lies from the joint line: x outward, y from the neck end."""
    placing = getattr(opening, leaf)
    neck, tail = np.asarray(placing.joint_line_mm)
    down = (tail - neck) / np.hypot(*(tail - neck))
    outward = np.array([down[1], -down[0]])
    if (np.asarray(placing.outline_mm)[:, :].mean(axis=0) - neck) @ outward < 0:
        outward = -outward
    start = neck + down * SETTINGS.end_trim_mm
    return affine_transform(shape, [*outward, *down, -outward @ start, -down @ start])


@pytest.mark.parametrize("leaf", ["a", "b"])
def test_what_fits_lies_on_sound_wood(layout: Layout, leaf: str) -> None:
    for opening in (o for o in layout.openings if o.fits):
        wood = sound(getattr(layout, leaf))
        placing = getattr(opening, leaf)
        half = Polygon(placing.outline_mm)
        assert wood.covers(half)
        assert wood.buffer(1e-6).covers(LineString(placing.joint_line_mm))
        length = float(layout.outline.half_mm[-1, 1])
        laid = in_body(opening, leaf, wood, length)
        end = SETTINGS.end_trim_mm - 1e-5
        joint = box(1e-5 - SETTINGS.joint_mm, -end, 0, length + end)
        assert laid.area > half.area
        assert laid.buffer(1e-6).covers(joint)


@pytest.mark.parametrize("leaf", ["a", "b"])
def test_the_edge_is_as_far_as_reported(layout: Layout, leaf: str) -> None:
    length = float(layout.outline.half_mm[-1, 1])
    for opening in layout.openings:
        room = beside(layout, opening, leaf, length)
        if opening.fits:
            assert room >= opening.spare_mm - 1e-6
        shorts = [s.by_mm for s in opening.short if s.leaf == leaf and s.from_mm >= 0 and s.to_mm <= length]
        if shorts:
            assert room == pytest.approx(
                -max(shorts), abs=0.3
            )  # half widths count by strips of half a millimetre


def test_the_worse_leaf_sets_the_spare(layout: Layout) -> None:
    length = float(layout.outline.half_mm[-1, 1])
    for opening in layout.openings:
        least = min(beside(layout, opening, leaf, length) for leaf in "ab")
        assert least == pytest.approx(opening.spare_mm, abs=0.3)


def beside(layout: Layout, opening: Opening, leaf: str, length_mm: float) -> float:
    """Least room square to the joint from outline to wood's edge, less trim, at every twentieth of a mm."""
    wood = in_body(opening, leaf, sound(getattr(layout, leaf)), length_mm)
    on = box(0, -1e3, 1e3, 1e3).intersection(wood)
    low, high = max(0.0, on.bounds[1]), min(length_mm, on.bounds[3])
    y = np.arange(low + 1, high - 1, 0.05)
    rays = [LineString([(1e-3, v), (1e3, v)]) for v in y]
    from shapely import bounds, intersection

    ends = bounds(intersection(wood.exterior, rays))[:, 0]
    half = opening.a_is if leaf == "a" else ("right" if opening.a_is == "left" else "left")
    return float(np.nanmin(ends - half_width_at(layout.outline, y, half))) - layout.settings.trim_mm


def test_flaws_inside_are_those_that_meet_the_outline(layout: Layout) -> None:
    for opening in layout.openings:
        for leaf in "ab":
            half = Polygon(getattr(opening, leaf).outline_mm)
            told = {f.flaw for f in opening.flaws_inside if f.leaf == leaf}
            for index, flaw in enumerate(getattr(layout, leaf).flaws):
                shared = half.intersection(Polygon(flaw.outline_mm)).area
                if shared > 1.0:
                    assert index in told
                if shared == 0.0:
                    assert index not in told
