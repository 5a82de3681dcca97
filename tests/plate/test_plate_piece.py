"""Sizes and weights as typed, and what cannot be meant."""

import pytest

from seamlight.mistake import Mistake
from seamlight.plate.piece import parse_piece


def test_sizes() -> None:
    piece = parse_piece("550x200x3.6", 158)
    assert (piece.length_mm, piece.width_mm, piece.thickness_mm, piece.taper) == (550, 200, 3.6, 0)
    assert piece.density_kg_m3 == pytest.approx(158 / 396 * 1000)
    tapered = parse_piece("550x200:185x3.6", 158)
    assert (tapered.width1_mm, tapered.width2_mm) == (200, 185)
    assert tapered.taper == pytest.approx(15 / 192.5)


@pytest.mark.parametrize(
    ("size", "weight", "says"),
    [
        ("550x200x28", 158, "perhaps 2.8 mm"),
        ("55x20x3.6", 158, "perhaps 550 mm"),
        ("550x200", 158, "not length x width x thickness"),
        ("550x200:120x3.6", 158, "tapers by 50 %"),
        ("550:540x200x3.6", 158, "not a size"),
        ("550x200x3.6", 752, "density comes out 1,899 kg/m3"),
        ("550x200x3.6", 15.8, "lighter than any wood"),
        ("200x550x3.6", 158, "along the grain first"),
    ],
)
def test_what_cannot_be_meant_is_one_line(size: str, weight: float, says: str) -> None:
    with pytest.raises(Mistake) as caught:
        parse_piece(size, weight)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_bar_has_other_limits() -> None:
    assert parse_piece("336.2x38.1x22.4", 310, "bar").thickness_mm == 22.4
    with pytest.raises(Mistake, match="not between"):
        parse_piece("336.2x38.1x22.4", 310)
