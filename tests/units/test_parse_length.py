"""What makers type is read as they mean it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.units import parse_length, parse_size, show_length


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("19", 19.0),
        ("19mm", 19.0),
        ("19 MM", 19.0),
        ("0.75in", 19.05),
        ('3/4"', 19.05),
        ("1 3/16 in", 30.1625),
        ('15-5/8"', 396.875),
        ("15 5/8", 396.875),
        ("15.625in", 396.875),
        ("15' 0\"", 4572.0),
        ("5' 3 1/2\"", 1612.9),
        ("6 ft 2 in", 1879.6),
        ("15’ 0”", 4572.0),
        ("15'", 4572.0),
        ("4,5", 4.5),
        ("4,5 cm", 45.0),
        (".110", 0.110),
        ("110 thou", 2.794),
        ("7/64", 2.778125),
        ("15½ in", 393.7),
        ('½"', 12.7),
        ("3⁄4 in", 19.05),
        ("25ft", 7620.0),
        ("7.62m", 7620.0),
        ("56cm", 560.0),
        ("0", 0.0),
        ("2 in.", 50.8),
        ("1''", 25.4),
    ],
)
def test_reads_a_length(text: str, length_mm: float) -> None:
    assert parse_length(text) == pytest.approx(length_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "length_mm"), [(".110", 2.794), ("15.625", 396.875), ("19mm", 19.0), ("0,11", 2.794)]
)
def test_a_bare_number_takes_the_shops_unit(text: str, length_mm: float) -> None:
    assert parse_length(text, "inch") == pytest.approx(length_mm, abs=1e-9)


NONSENSE = [
    "",
    " ",
    "abc",
    "12 miles",
    "1/0",
    "1 2 3",
    "-4",
    "1.2.3",
    "1,250.5",
    "3/",
    "15 5 8",
    "5 in 3 ft",
    "nan",
    "1e400",
]


@pytest.mark.parametrize("text", [*NONSENSE, "inf", "9" * 400, "5' 3mm", "٣"])
def test_nonsense_is_a_mistake_of_one_line(text: str) -> None:
    with pytest.raises(Mistake) as caught:
        parse_length(text, where="--trim")
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("--trim: ")


@given(st.text(max_size=12))
def test_any_text_is_a_length_or_a_mistake(text: str) -> None:
    try:
        length_mm = parse_length(text)
    except Mistake:
        return
    assert 0 <= length_mm < 1e6


@given(st.integers(0, 40 * 64))
def test_shown_fractions_read_back(count: int) -> None:
    shown = show_length(count / 64 * 25.4, "inch")
    assert parse_length(shown.split(" (")[0]) == pytest.approx(count / 64 * 25.4, abs=1e-9)


@given(st.floats(0, 2000))
def test_shown_lengths_read_back_within_their_rounding(length_mm: float) -> None:
    assert parse_length(show_length(length_mm)) == pytest.approx(length_mm, abs=0.0501)
    fraction, decimal = show_length(length_mm, "inch").rstrip(")").split(" in (")
    assert parse_length(fraction, "inch") == pytest.approx(length_mm, abs=25.4 / 128 + 1e-9)
    assert parse_length(decimal, "inch") == pytest.approx(length_mm, abs=0.0127 + 1e-9)


def test_reads_a_size() -> None:
    assert parse_size("560x215x185") == (560, 215, 185)
    assert parse_size("560 X 215") == (560, 215)
    assert parse_size("22 x 8 1/2 in") == pytest.approx((558.8, 215.9))
    assert parse_size("22 x 8.5", "inch") == pytest.approx((558.8, 215.9))
    assert parse_size('22" × 8.5"') == pytest.approx((558.8, 215.9))
    assert parse_size("56 x 21.5cm") == pytest.approx((560, 215))


@pytest.mark.parametrize("text", ["560", "560x", "x", "22in x 215", "560x0", "axb", "560x215mmx185"])
def test_a_bad_size_is_a_mistake(text: str) -> None:
    with pytest.raises(Mistake):
        parse_size(text)
