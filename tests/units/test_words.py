"""Lengths inside a sentence, in the unit that a person reads."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.units import MM_PER_INCH, said_in


@pytest.mark.parametrize(
    ("said", "inches"),
    [
        ("fits: 12.7 mm to spare", "fits: 1/2 in to spare"),
        ("short by 0.4 mm", "short by 0.016 in"),
        ("from -6 mm to 25.4 mm from the neck end", "from -15/64 in to 1 in from the neck end"),
        ("0.3 degrees within 20 mm of it (29.8 of 30)", "0.3 degrees within 25/32 in of it (29.8 of 30)"),
        ("22 lines per inch there, 12 at the edge", "22 lines per inch there, 12 at the edge"),
        ("0.0 mm at most off a joint edge", "0 in at most off a joint edge"),
        ("plane off 1.0 mm at end 1", "plane off 3/64 in at end 1"),
        ("measure the 150 mm bar", "measure the 150 mm bar"),
        ("at 4px/mm", "at 4px/mm"),
    ],
)
def test_lengths_are_said_in_inches(said: str, inches: str) -> None:
    assert said_in(said, "inch") == inches
    assert said_in(said, "mm") == said


@settings(max_examples=50)
@given(length_mm=st.floats(0.05, 900.0))
def test_what_is_said_is_the_length_to_a_64th(length_mm: float) -> None:
    said = said_in(f"plane off {length_mm:.1f} mm", "inch").removeprefix("plane off ").removesuffix(" in")
    whole, _, rest = said.rpartition(" ")
    over, _, under = rest.partition("/")
    inches = float(whole or 0) + (int(over) / int(under) if under else float(over))
    assert inches * MM_PER_INCH == pytest.approx(round(length_mm, 1), abs=MM_PER_INCH / 128 + 1e-6)
