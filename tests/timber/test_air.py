"""The shop's air: whether glue may go on, and what a person may type."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.timber import species, species_names
from seamlight.timber.air import glue_weather, judge_air
from seamlight.timber.air_document import AirDocument
from seamlight.timber.glue import glue, glue_names, is_oily
from seamlight.timber.moisture import emc_pct, rh_for_emc_pct
from seamlight.timber.movement import ring_to_face_of, width_change_mm


@settings(max_examples=50, deadline=None)
@given(st.floats(0, 40), st.floats(1, 99), st.floats(0.1, 0.9))
def test_damper_air_makes_damper_wood_and_back(temp_c: float, rh: float, share: float) -> None:
    assert emc_pct(temp_c, rh) > emc_pct(temp_c, rh * share) if rh * share >= 1 else True
    assert rh_for_emc_pct(temp_c, emc_pct(temp_c, rh)) == pytest.approx(rh, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(species_names()), st.floats(5, 15), st.floats(5, 15))
def test_there_and_back_again(name: str, first: float, then: float) -> None:
    out = width_change_mm(200, species(name), 90, first, then)
    back = width_change_mm(200, species(name), 90, then, first)
    assert (out is None) == (back is None)
    if out is not None and back is not None:
        assert out == pytest.approx(-back)
        assert (out <= 0) == (then <= first)


@pytest.mark.parametrize(
    ("temp_c", "rh", "ok", "says"),
    [
        (21, 45, True, "suit"),
        (21, 50, True, "damp end"),
        (21, 33, True, "dry side"),
        (9, 45, False, "warm the wood"),  # 48 F in the morning
        (35, 45, False, "skins"),
        (21, 67, False, "too damp"),
        (21, 60, False, "too damp"),
        (21, 22, False, "too dry"),
    ],
)
def test_when_glue_may_go_on(temp_c: float, rh: float, ok: bool, says: str) -> None:
    weather = glue_weather(temp_c, rh)
    assert weather.ok is ok
    assert says in " ".join(weather.reasons)


def test_every_glue_says_where_its_figures_come_from() -> None:
    for name in glue_names():
        one = glue(name.upper())
        for figure in vars(one).values():
            if hasattr(figure, "source"):
                assert figure.source
                assert 0 < figure.low <= figure.high
        assert one.squeeze_out
        assert one.if_it_goes_wrong


def test_oily_woods() -> None:
    assert is_oily(species("Indian rosewood").botanical)
    assert not is_oily(species("Sitka spruce").botanical)
    assert not is_oily("")


def test_what_was_not_asked_is_null_and_says_so() -> None:
    document = AirDocument.of(judge_air(21, 45))
    assert document.to_emc_pct is None
    assert document.movement_mm is None
    assert document.warnings
    assumed = AirDocument.of(judge_air(21, 45, to_rh_pct=30, width_mm=381))
    assert assumed.movement_mm is not None
    assert any("assumed" in line for line in assumed.warnings)
    missing = AirDocument.of(judge_air(21, 45, to_rh_pct=30, width_mm=381, species_name="sapele"))
    assert (missing.movement_mm is None) == any("no movement figure" in line for line in missing.warnings)


@pytest.mark.parametrize(
    ("temp_c", "rh", "says"),
    [
        (70, 45, "70F"),
        (21, 0.45, "percent: 45"),
        (21, 145, "0 to 100"),
        (-40, 45, "no shop"),
        (21, -1, "0 to 100"),
    ],
)
def test_air_that_is_none(temp_c: float, rh: float, says: str) -> None:
    with pytest.raises(Mistake, match=says) as caught:
        emc_pct(temp_c, rh)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("cut", ["quatrer", "91", "-5", ""])
def test_a_cut_that_is_none(cut: str) -> None:
    with pytest.raises(Mistake, match="no cut"):
        ring_to_face_of(cut)


def test_a_moisture_no_air_gives() -> None:
    with pytest.raises(Mistake, match="no air"):
        rh_for_emc_pct(20, 40)
