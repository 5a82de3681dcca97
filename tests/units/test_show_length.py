"""Lengths as a maker reads them, and slips that no one means."""

import pytest

from seamlight.units import likely_slip, show_length


@pytest.mark.parametrize(
    ("length_mm", "unit", "shown"),
    [
        (198.5, "mm", "198.5 mm"),
        (-0.04, "mm", "0.0 mm"),
        (-0.5, "mm", "-0.5 mm"),
        (198.5, "inch", "7 13/16 in (7.815)"),
        (19.05, "inch", "3/4 in (0.750)"),
        (25.4, "inch", "1 in (1.000)"),
        (0.025, "inch", "0 in (0.001)"),
        (-6.35, "inch", "-1/4 in (-0.250)"),
        (25.399, "inch", "1 in (1.000)"),
    ],
)
def test_shows_a_length(length_mm: float, unit: str, shown: str) -> None:
    assert show_length(length_mm, unit) == shown  # type: ignore[arg-type]


def test_more_decimals_where_they_matter() -> None:
    assert show_length(0.0254, decimals=3) == "0.025 mm"


def test_no_slip_within_the_range() -> None:
    assert likely_slip(560, 300, 800) is None


@pytest.mark.parametrize(
    ("length_mm", "low", "high", "meant"),
    [
        (56, 300, 800, "560 mm (centimetres"),
        (22, 300, 800, "558.8 mm (inches)"),
        (28, 2, 4, "2.8 mm (the point one place too far right)"),
        (508_000, 300, 800, "508 mm (the point three places too far right)"),
        (110, 2, 4, "2.794 mm (thou)"),
    ],
)
def test_a_slip_names_what_was_meant(length_mm: float, low: float, high: float, meant: str) -> None:
    said = likely_slip(length_mm, low, high)
    assert said is not None
    assert meant in said


def test_a_length_with_no_likely_meaning_is_still_said() -> None:
    assert likely_slip(7, 300, 320) == "7 mm is not between 300 and 320 mm"
