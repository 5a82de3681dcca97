"""The fast search finds what the exhaustive one finds, on small leaves grown at random."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.layout.best import search
from seamlight.layout.domain import Domain, Found, domain_of
from seamlight.layout.exhaustive import search_grid
from seamlight.layout.layers import Turner
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.refine import refined
from seamlight.layout.score import Key, shown
from seamlight.layout.side import side_a, side_b, size_of
from seamlight.outline.shape import Outline, Zones

sys.path.insert(0, str(Path(__file__).parent))
from cases import round_flaw

ROOM_HUNDREDTHS = 1  # the two searches cut the same room by different arithmetic, then round it


def small_outline() -> Outline:
    y = np.linspace(0, 48, 49)
    half = np.vstack([[0.0, 0.0], np.column_stack([16 + 3 * np.sin(y / 8), y]), [0.0, 48.0]])
    return Outline("small", half, Zones(16, 8, 34, 6, 16, 5, 12, 2))


def rough_leaf(rng: np.random.Generator, width_mm: float, length_mm: float) -> Leaf:
    """A leaf with ragged edges, and at random a grain field and flaws."""
    corners = np.array([[0, 0], [width_mm, 0], [width_mm, length_mm], [0, length_mm]], dtype=float)
    corners += rng.normal(0, 0.6, (4, 2))
    along = np.linspace(0, 1, 10, endpoint=False)[:, None]
    rough = rng.choice([0.0, 0.1, 0.4])
    ring = np.vstack(
        [a + (b - a) * along for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    )
    ring += rng.normal(0, rough, ring.shape)
    ring -= ring.min(axis=0)
    x, y = (np.arange(2.5, far, 5.0) for far in ring.max(axis=0))
    shape = (len(y), len(x))
    field = None
    if rng.random() < 0.8:
        angle = rng.normal(0, 0.5) + x * rng.normal(0, 0.05) + rng.normal(0, 0.2, shape)
        spacing = 1 + 0.02 * x * rng.normal() + rng.normal(0, 0.1, shape)
        field = GrainField(x, y, angle, np.abs(spacing) + 0.1, np.ones(shape))
    flaws: list[Flaw] = []
    for _ in range(rng.integers(0, 3)):
        kind = rng.choice(["knot", "hole", "wane", "crack"])
        at = rng.uniform(0, width_mm), rng.uniform(0, length_mm)
        flaws.append(round_flaw(*at, rng.uniform(1, 5), kind))
    return Leaf(ring, tuple(flaws), field=field)


def random_domain(seed: int) -> tuple[Domain, LayoutSettings]:
    rng = np.random.default_rng(seed)
    width, length = rng.choice([21, 24, 27]), rng.choice([50, 54, 60])
    a, b = rough_leaf(rng, width, length), rough_leaf(rng, width, length)
    chosen = LayoutSettings(
        use=rng.choice(["top", "back"]),
        match="slip" if rng.random() < 0.25 else "book",
        trim_mm=rng.choice([0.0, 1.0, 3.0]),
        end_trim_mm=rng.choice([0.0, 1.3, 2.0]),
        joint_mm=rng.choice([0.0, 0.7, 1.0]),
        most_tilt_deg=0.1,
        most_slide_mm=rng.choice([0.0, 1.0]),
    )
    laid = Registration(
        1.0,
        slide_mm=rng.choice([0.0, 0.7, -1.5, None]),
        across_mm=rng.normal(0, 0.5),
        rotate_deg=rng.normal(0, 0.2),
    )
    sides = side_a(a), side_b(b, laid, size_of(a))
    edge, end = rng.choice(["left", "right"]), int(rng.choice([1, 2]))
    return domain_of(*sides, small_outline(), chosen, laid.slide_mm, edge, end, "left"), chosen


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(seed=st.integers(0, 2**31))
def test_same_optimum_as_the_exhaustive_search(seed: int) -> None:
    domain, chosen = random_domain(seed)
    fast, plain = search(domain, Turner()), search_grid(domain)
    assert replace(fast.key, tight=0, flush=0.0) == replace(plain.key, tight=0, flush=0.0)
    assert abs(fast.key.tight - plain.key.tight) <= ROOM_HUNDREDTHS
    finer = refined(domain, fast, chosen)
    assert finer.key <= replace(plain.key, tight=plain.key.tight + ROOM_HUNDREDTHS, flush=np.inf)


def test_some_of_the_random_leaves_fit_and_some_do_not() -> None:
    keys = [search(random_domain(seed)[0], Turner()).key for seed in range(40)]
    assert {key.short > 0 for key in keys} == {True, False}
    assert len({key.zone for key in keys}) >= 3


keys = st.builds(
    Key,
    short=st.sampled_from([0, 1, 50, 1450]),
    zone=st.integers(0, 5),
    grain=st.integers(0, 60),
    lost=st.integers(0, 2000),
    tight=st.integers(-6000, 6000),
    flush=st.floats(-60, 60),
)


@given(one=keys, other=keys)
def test_a_better_key_never_shows_a_lower_score(one: Key, other: Key) -> None:
    better, worse = sorted((one, other))
    assert shown(better).total >= shown(worse).total - 1e-12
    assert 0 <= shown(one).total <= 100


def test_the_slide_may_reach_where_the_figure_meets() -> None:
    domain, chosen = random_domain(3)
    far = replace(domain, registered_mm=0.0)
    assert isinstance(search(far, Turner()), Found)
    wide = domain_of(
        domain.a.side,
        domain.b.side,
        small_outline(),
        replace(chosen, most_slide_mm=2.0),
        5.0,
        "left",
        1,
        "left",
    )
    slides = [wide.slide_mm(step) for step in wide.slides]
    assert min(slides) == pytest.approx(-2.0)
    assert max(slides) == pytest.approx(5.0)
