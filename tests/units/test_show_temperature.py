"""Temperatures as a maker reads them."""

from __future__ import annotations

import pytest

from seamlight.units import show_temperature


@pytest.mark.parametrize(
    ("temp_c", "said"),
    [
        (20.0, "20 °C"),
        (20.5, "20.5 °C"),
        (20.04, "20 °C"),
        (19.96, "20 °C"),
        (-0.04, "0 °C"),
        (-3.25, "-3.2 °C"),
    ],
)
def test_a_tenth_where_there_is_one(temp_c: float, said: str) -> None:
    assert show_temperature(temp_c) == said
