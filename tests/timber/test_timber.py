"""Species, slopes and cuts as the shop asks for them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.timber import USAGES, cut_of, degrees_of_slope, slope_of_degrees, species, species_names


def test_every_species_says_where_its_figures_come_from() -> None:
    for name in species_names():
        one = species(name.upper())
        assert one.botanical[0].isupper()
        for figure in vars(one).values():
            if hasattr(figure, "source"):
                assert figure.source
                assert (figure.standing == "from memory") == ("from memory" in figure.source)
                assert figure.value > 0


def test_wood_shrinks_and_moves_more_along_the_rings_than_across() -> None:
    for name in species_names():
        one = species(name)
        assert one.shrinkage_radial_pct is not None
        assert one.shrinkage_tangential_pct is not None
        assert one.shrinkage_radial_pct.value < one.shrinkage_tangential_pct.value
        if one.movement_radial is not None and one.movement_tangential is not None:
            assert one.movement_radial.value < one.movement_tangential.value


def test_an_unknown_species_lists_the_known() -> None:
    with pytest.raises(Mistake, match="did you mean western redcedar"):
        species("western red cedar")


@given(st.floats(0.01, 89))
def test_slopes_and_degrees_turn_into_each_other(angle_deg: float) -> None:
    assert degrees_of_slope(slope_of_degrees(angle_deg)) == pytest.approx(angle_deg)
    assert slope_of_degrees(-angle_deg) == slope_of_degrees(angle_deg)


def test_straight_grain_has_no_slope() -> None:
    assert slope_of_degrees(0) == math.inf
    assert degrees_of_slope(math.inf) == 0


@pytest.mark.parametrize(
    ("angle_deg", "words"),
    [
        (90, "quarter quarter quarter"),
        (60, "quarter quarter rift"),
        (50, "rift quarter rift"),
        (40, "rift flat flat"),
        (29, "flat flat flat"),
    ],
)
def test_the_usages_differ(angle_deg: float, words: str) -> None:
    assert [cut_of(angle_deg, usage) for usage in USAGES] == words.split()


def test_no_such_angle_or_usage() -> None:
    with pytest.raises(Mistake):
        cut_of(91)
    with pytest.raises(Mistake, match="woodwork, forest service, strict"):
        cut_of(45, "mine")
