"""The scale as a person types it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.photo import ScaleSpec, parse_scale


def test_the_five_ways():
    assert parse_scale("tags") == ScaleSpec()
    assert parse_scale("tags=145.5") == ScaleSpec("tags", bar_mm=145.5, bar_said=True)
    assert parse_scale("4px/mm") == ScaleSpec("px", px_per_mm=4.0)
    assert parse_scale("600dpi").px_per_mm == pytest.approx(600 / 25.4)
    assert parse_scale("size=560x215") == ScaleSpec(
        "size", length_mm=560, width_end1_mm=215, width_end2_mm=215
    )
    assert parse_scale("size=560x215x185").width_end2_mm == 185


def test_units_and_commas():
    assert parse_scale("tags=5.9in").bar_mm == pytest.approx(149.86)
    assert parse_scale("size=22 x 8 1/2 in").width_end1_mm == pytest.approx(215.9)
    assert parse_scale("size=22x8.5", unit="inch").length_mm == pytest.approx(558.8)
    assert parse_scale("4,25 px/mm").px_per_mm == 4.25
    assert parse_scale("tags=145,5").bar_mm == 145.5


@given(st.floats(0.3, 90))
def test_any_sensible_resolution_comes_back(rate):
    assert parse_scale(f"{rate:.4f}px/mm").px_per_mm == pytest.approx(rate, abs=1e-4)


def test_a_leaf_typed_in_centimetres_is_asked_about():
    with pytest.raises(Mistake, match=r"56 x 21 mm is no leaf; did you mean size=560x210\?"):
        parse_scale("size=56x21")
    with pytest.raises(Mistake, match=r"size=558\.8x215\.9"):
        parse_scale("size=22x8.5")


@pytest.mark.parametrize(
    "text",
    [
        "", "tag", "tags=", "tags=97", "tags=x", "size", "size=", "size=560", "size=560x",
        "size=560x215x185x4", "size=215x560", "size=560x0", "size=560x-215", "4", "4px", "px/mm", "0px/mm",
        "-4px/mm", "1000px/mm", "nanpx/mm", "1e3px/mm", "20dpi", "9999999dpi", "٤px/mm",
    ],
)  # fmt: skip
def test_what_is_no_scale_is_one_line_that_says_what_to_do(text):
    with pytest.raises(Mistake) as caught:
        parse_scale(text)
    assert "\n" not in str(caught.value)
    assert caught.value.do
