"""Flaws on leaves that the demo room grew: every knot of 4 mm or more, at most one false find a leaf.

Seeds here (2000 and up) and the demo's table of cases (9000 and up) trained and tuned nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo import saw, wood
from seamlight.demo.cases import WOOD_CASES, face_of
from seamlight.demo.species import SPECIES
from seamlight.demo.truth import FaceTruth, PlainScale
from seamlight.grain.flaw import Flaw
from seamlight.grain.flaws import find_flaws
from seamlight.photo.flat import FlatLeaf, Scale

LEAST_KNOT_MM = 4.0


def shape_of(flaw: Flaw) -> shapely.Geometry:
    return shapely.make_valid(shapely.Polygon(flaw.outline_mm))


@dataclass
class Score:
    """What was found on one leaf, against its truth."""

    name: str
    knots: int
    missed: list[str]
    false: list[str]
    met: dict[str, tuple[int, int]]  # by kind: met, there

    def __str__(self) -> str:
        parts = ", ".join(f"{kind} {met} of {there}" for kind, (met, there) in sorted(self.met.items()))
        return f"{self.name}: {parts or 'clear'}; missed {self.missed}; false {self.false}"


def on_one_another(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    return bool(one.intersection(other).area > 0.3 * min(one.area, other.area))


def scored(name: str, face: FaceTruth) -> Score:
    finds = find_flaws(face.as_flat(), None)
    shapes = [shape_of(flaw) for flaw in finds]
    truth = [(flaw.kind, shape_of(flaw)) for flaw in face.flaws]
    met: dict[str, tuple[int, int]] = {}
    missed, knots = [], 0
    for kind, shape in truth:
        across_mm = 2.0 * float(np.sqrt(shape.area / np.pi))
        hit = any(on_one_another(shape, found) for found in shapes)
        before = met.get(kind, (0, 0))
        met[kind] = (before[0] + hit, before[1] + 1)
        if kind == "knot" and across_mm >= LEAST_KNOT_MM:
            knots += 1
            if not hit:
                missed.append(f"{across_mm:.1f} mm at {shape.centroid.x:.0f}, {shape.centroid.y:.0f}")
    flawed = shapely.union_all([shape.buffer(1.0) for _, shape in truth])
    false = [
        f"{flaw.kind} {shape.area:.0f} mm2, sure {flaw.sure}"
        for flaw, shape in zip(finds, shapes, strict=True)
        if shape.intersection(flawed).area < 0.2 * shape.area
    ]
    return Score(name, knots, missed, false, met)


def flawed_leaf(species: str, seed: int) -> FaceTruth:
    log = wood.grow_log(
        seed, species=species, knots=4, pitch=2, stains=seed % 2, wane_mm=8.0 * (seed % 3 == 0)
    )
    pair = saw.saw_pair(
        log, seed, length_mm=520, width_mm=200, checks=1, holes=1, streaks=0.6, saw_marks=0.6, chips=1
    )
    return saw.face(pair.a, "sawn", (2.0, 3.0, 5.0)[seed % 3], noise=2.0)


def clear_leaf(species: str, seed: int) -> FaceTruth:
    log = wood.grow_log(seed, species=species, figure=0.6 * (seed % 2))
    pair = saw.saw_pair(log, seed, length_mm=520, width_mm=200, streaks=0.9, saw_marks=0.9, ripple=0.6)
    return saw.face(pair.b, "other", 3.0)


@pytest.fixture(scope="module")
def leaves() -> list[Score]:
    scores = []
    for i, species in enumerate(SPECIES):
        scores += [scored(f"{species} {seed}", flawed_leaf(species, seed)) for seed in (2000 + i, 2010 + i)]
        scores.append(scored(f"clear {species} {2020 + i}", clear_leaf(species, 2020 + i)))
    return scores


def lines(scores: list[Score]) -> str:
    return "\n".join(str(score) for score in scores)


def test_every_knot_is_found_in_every_wood(leaves: list[Score]) -> None:
    assert sum(score.knots for score in leaves) >= 30
    assert not any(score.missed for score in leaves), lines(leaves)


def test_at_most_one_false_find_a_leaf(leaves: list[Score]) -> None:
    assert all(len(score.false) <= 1 for score in leaves), lines(leaves)


@pytest.mark.parametrize("kind", ["crack", "hole", "pitch", "stain", "wane"])
def test_other_flaws_are_found(leaves: list[Score], kind: str) -> None:
    met, there = np.sum([score.met.get(kind, (0, 0)) for score in leaves], axis=0)
    assert there > 0
    assert met >= 0.9 * there, lines(leaves)


def test_the_table_of_cases() -> None:
    scores = [scored(case.name + (" (hard)" if case.hard else ""), face_of(case.name)) for case in WOOD_CASES]
    assert not any(score.missed for score in scores), lines(scores)
    assert all(len(score.false) <= 1 for score in scores), lines(scores)


def blank(colour: tuple[int, int, int], px_per_mm: float, wide_mm: float, long_mm: float) -> FlatLeaf:
    high, wide = round(long_mm * px_per_mm), round(wide_mm * px_per_mm)
    outline = np.array([[0, 0], [wide_mm, 0], [wide_mm, long_mm], [0, long_mm]], dtype=np.float64)
    rgb = np.full((high, wide, 3), colour, np.uint8)
    scale = Scale("px", px_per_mm, 0.0)
    return FlatLeaf(
        rgb,
        np.ones((high, wide), bool),
        px_per_mm,
        outline,
        (),
        long_mm,
        wide_mm,
        wide_mm,
        scale,
        PlainScale(px_per_mm),
    )


@settings(max_examples=6, deadline=None)
@given(
    colour=st.tuples(*[st.integers(20, 235)] * 3),
    px_per_mm=st.floats(1.0, 6.0),
    wide_mm=st.floats(20.0, 120.0),
    long_mm=st.floats(30.0, 160.0),
)
def test_plain_wood_has_no_flaw(
    colour: tuple[int, int, int], px_per_mm: float, wide_mm: float, long_mm: float
) -> None:
    assert find_flaws(blank(colour, px_per_mm, wide_mm, long_mm), None) == ()


@pytest.fixture(scope="module")
def knotty() -> FaceTruth:
    log = wood.grow_log(2100, species="Engelmann spruce", knots=5, pitch=2, wane_mm=7.0)
    return saw.face(saw.saw_pair(log, 2100, length_mm=400, width_mm=180, holes=2, checks=1).a, "sawn", 3.0)


def test_outlines_are_valid_and_on_the_leaf(knotty: FaceTruth) -> None:
    finds = find_flaws(knotty.as_flat(), knotty.field)
    silhouette = shapely.Polygon(knotty.outline_mm).buffer(1e-6)
    assert {"knot", "hole"} <= {flaw.kind for flaw in finds}
    for flaw in finds:
        shape = shapely.Polygon(flaw.outline_mm)
        assert shape.is_valid
        assert shape.area > 0
        assert not np.array_equal(flaw.outline_mm[0], flaw.outline_mm[-1])
        assert silhouette.contains(shape)
        assert 0.0 <= flaw.sure <= 1.0


def test_the_same_leaf_gives_the_same_finds(knotty: FaceTruth) -> None:
    first, second = (find_flaws(knotty.as_flat(), None) for _ in range(2))
    assert [flaw.kind for flaw in first] == [flaw.kind for flaw in second]
    assert all(np.array_equal(a.outline_mm, b.outline_mm) for a, b in zip(first, second, strict=True))


def test_no_wood_no_flaws(knotty: FaceTruth) -> None:
    flat = knotty.as_flat()
    assert find_flaws(replace(flat, wood=np.zeros_like(flat.wood), holes_mm=()), None) == ()


def test_lamp_colour_does_not_matter_much(knotty: FaceTruth) -> None:
    flat = knotty.as_flat()
    warm = np.clip(flat.rgb * np.array([1.0, 0.85, 0.6]), 0, 255).astype(np.uint8)
    count = {"knot": 0}
    for flaw in find_flaws(replace(flat, rgb=warm), None):
        count[flaw.kind] = count.get(flaw.kind, 0) + 1
    assert count["knot"] == sum(flaw.kind == "knot" for flaw in knotty.flaws)
