"""Feelers on both faces joined to a light reading: what light cannot see, in one judgement."""

from __future__ import annotations

import json

import numpy as np
import pytest

from seamlight.mistake import Mistake
from seamlight.seam.advice import UNSEEN
from seamlight.seam.bench import Bench
from seamlight.seam.document import SeamDocument
from seamlight.seam.faces import join_faces, light_again
from seamlight.seam.light_reading import LightReading
from seamlight.seam.meaning import judge_light
from seamlight.seam.readings import Readings

LENGTH = 550.0
S = (np.arange(1100) + 0.5) / 1100 * LENGTH
AT = np.linspace(0.0, LENGTH, 5)
BENCH = Bench(thickness_mm=4.0)
ZERO = np.zeros(5)


def by_light(gap: np.ndarray, relative: bool = False) -> LightReading:
    """The light of a gap on shims of 0.05 and 0.15 mm."""
    seen = gap + 0.05 + 0.1 * S / LENGTH
    return LightReading(
        s_mm=S,
        light=np.clip((gap if relative else seen) / 0.5, 0.0, 1.0),
        gap_mm=None if relative else seen,
        error_mm=None if relative else 0.006,
        measured="relative" if relative else "width",
        touching=(gap if relative else seen) < 0.01,
        length_mm=LENGTH,
        lower_bound=False,
        warnings=("said of the light",),
        straight=np.zeros((3, 3, 3), np.uint8),
        straight_px_per_mm=1.0,
        ends_px=((0.0, 0.0), (1.0, 0.0)),
    )


def hollow(deep_mm: float, at: np.ndarray = S) -> np.ndarray:
    return np.asarray(deep_mm * (1 - (2 * at / LENGTH - 1) ** 2))


@pytest.mark.parametrize("relative", [True, False])
def test_a_closed_joint_asks_until_both_faces_were_felt(relative: bool) -> None:
    meaning = judge_light(by_light(0 * S, relative), BENCH)
    asking = SeamDocument.of_meaning(meaning, BENCH)
    assert asking.shape == "closed"
    assert UNSEEN in asking.advice
    felt = SeamDocument.of_meaning(join_faces(meaning, Readings(AT, ZERO, ZERO), BENCH), BENCH)
    assert felt.verdict == "glue"
    assert UNSEEN not in felt.advice
    assert any("edges are square" in line for line in felt.advice)
    assert felt.square is not None


@pytest.mark.parametrize("relative", [True, False])
def test_a_closed_joint_that_leans_is_not_glued(relative: bool) -> None:
    meaning = judge_light(by_light(0 * S, relative), BENCH)
    leaning = SeamDocument.of_meaning(join_faces(meaning, Readings(AT, ZERO + 0.1, ZERO), BENCH), BENCH)
    assert leaning.verdict == "a few strokes"
    assert leaning.square is not None
    assert leaning.square.out_of_square_mm == pytest.approx(0.1)
    assert leaning.square.out_of_square_deg == pytest.approx(np.degrees(np.arctan(0.1 / 4.0)), abs=1e-3)
    assert any("front face is open 0.10 mm more" in line for line in leaning.advice)
    assert any("plane both edges together" in line for line in leaning.advice)
    assert not any("paper" in line for line in leaning.advice)


@pytest.mark.parametrize("relative", [True, False])
def test_wind_that_no_light_shows_is_planed_again(relative: bool) -> None:
    meaning = judge_light(by_light(0 * S, relative), BENCH)
    faces = Readings(AT, np.array([0.0, 0.0, 0.0, 0.05, 0.1]), np.array([0.1, 0.05, 0.0, 0.0, 0.0]))
    wind = SeamDocument.of_meaning(join_faces(meaning, faces, BENCH), BENCH)
    assert (wind.shape, wind.verdict) == ("wind", "plane again")
    assert wind.square is not None
    assert wind.square.wind_mm == pytest.approx(0.2, abs=0.005)
    assert wind.widest_mm == pytest.approx(0.1, abs=0.003)
    assert wind.strokes == []


def test_feelers_agree_with_the_light_or_the_difference_is_named() -> None:
    meaning = judge_light(by_light(hollow(0.1)), BENCH)
    same = join_faces(meaning, Readings(AT, hollow(0.1, AT), hollow(0.1, AT)), BENCH)
    assert same.felt is not None
    assert same.felt.agrees
    assert same.verdict == "glue"
    less = join_faces(meaning, Readings(AT, ZERO, ZERO), BENCH)
    assert less.felt is not None
    assert not less.felt.agrees
    document = SeamDocument.of_meaning(less, BENCH)
    assert document.square is not None
    assert document.square.feelers_off_mm == pytest.approx(-0.06, abs=0.015)  # a hollow less its best line
    assert any("feelers and light differ" in line for line in document.advice)


def test_a_kept_light_reading_is_judged_anew_as_it_was() -> None:
    for relative in (True, False):
        for gap in (0 * S, hollow(0.2), np.clip(S / LENGTH - 0.7, 0, None)):
            first = SeamDocument.of_meaning(judge_light(by_light(gap, relative), BENCH), BENCH)
            kept = SeamDocument.model_validate(json.loads(first.to_json()))
            again = SeamDocument.of_meaning(light_again(kept, BENCH), BENCH)
            for name in ("shape", "verdict", "warnings", "length_mm", "measured", "lower_bound"):
                assert getattr(again, name) == getattr(first, name)  # kept figures are rounded
            assert len(again.advice) == len(first.advice)
            assert again.advice[0] == first.advice[0]
            assert sum(one.count for one in again.strokes) == sum(one.count for one in first.strokes)
            assert again.widest_mm == (None if relative else pytest.approx(first.widest_mm, abs=1e-3))


def test_mistakes() -> None:
    meaning = judge_light(by_light(0 * S), BENCH)
    with pytest.raises(Mistake, match="one face"):
        join_faces(meaning, Readings(AT, ZERO, None), BENCH)
    with pytest.raises(Mistake, match="beyond the joint"):
        join_faces(meaning, Readings(AT * 1.2, ZERO, ZERO), BENCH)
    feelers = SeamDocument.of_meaning(meaning, BENCH).model_copy(update={"light": None})
    with pytest.raises(Mistake, match="no reading of light"):
        light_again(feelers, BENCH)
