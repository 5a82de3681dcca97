"""The free plate by Ritz: scaling, symmetry, shapes; what air, shear and a taper do."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.plate.model import all_modes, frequencies_hz, named_modes, surroundings
from seamlight.plate.piece import Piece
from seamlight.plate.ritz import free_plate, free_plate_hz
from seamlight.plate.ritz_shear import thick_class_hz
from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2

BOARD = Elastic(11000, 858, 704, 0.372, 671, 33)
LEAF = Piece(500, 200, 200, 3.0, 120)

moduli = st.tuples(st.floats(4000, 20000), st.floats(0.03, 0.3), st.floats(0.04, 0.15))


@settings(max_examples=15, deadline=None)
@given(moduli, st.floats(1.0, 6.0))
def test_frequencies_go_with_thickness(m: tuple[float, float, float], thick: float) -> None:
    board = Elastic(m[0], m[0] * m[1], m[0] * m[2], 0.37)
    one = free_plate_hz(bending(board, 1.0), 520, 210, mass_t_mm2(400, 1.0))
    more = free_plate_hz(bending(board, thick), 520, 210, mass_t_mm2(400, thick))
    np.testing.assert_allclose(more, thick * one, rtol=1e-9)


@settings(max_examples=15, deadline=None)
@given(moduli)
def test_a_board_turned_a_quarter_rings_the_same(m: tuple[float, float, float]) -> None:
    board = Elastic(m[0], m[0] * m[1], m[0] * m[2], 0.37)
    turned = Elastic(board.e_across_mpa, board.e_along_mpa, board.g_mpa, board.nu_across)
    mass = mass_t_mm2(400, 3.0)
    np.testing.assert_allclose(
        free_plate_hz(bending(board, 3.0), 500, 200, mass),
        free_plate_hz(bending(turned, 3.0), 200, 500, mass),
        rtol=1e-9,
    )


def test_shapes_have_unit_mean_square_and_do_not_overlap() -> None:
    modes = free_plate(bending(BOARD, 3.0), 500, 200, mass_t_mm2(400, 3.0), 6)
    middles = (np.arange(400) + 0.5) / 400
    shapes = np.stack([mode.shape(middles, middles).ravel() for mode in modes])
    np.testing.assert_allclose(shapes @ shapes.T / shapes.shape[1], np.eye(6), atol=2e-3)
    for mode in modes:
        assert sum(mode.shares) == pytest.approx(1)


def test_first_three_are_twist_along_and_across_in_a_usual_leaf() -> None:
    named = named_modes(LEAF, BOARD, surroundings(LEAF, 0.0))
    assert named.modes["twist"].shares[3] > 0.8
    assert named.modes["along"].shares[0] > 0.95
    assert named.modes["across"].shares[2] > 0.9
    assert not named.mixed


def test_along_and_across_mix_where_they_meet() -> None:
    square_ish = Piece(560, 285, 285, 3.2, 220)
    named = named_modes(square_ish, BOARD, surroundings(square_ish))
    assert named.mixed
    assert not named_modes(LEAF, BOARD, surroundings(LEAF)).mixed


def test_air_takes_a_thin_plate_down_by_several_percent() -> None:
    still, vacuum = frequencies_hz(LEAF, BOARD), frequencies_hz(LEAF, BOARD, surroundings(LEAF, 0.0))
    for name, hz in still.items():
        assert 0.94 < hz / vacuum[name] < 0.99
    thick = Piece(500, 200, 200, 6.0, 240)
    less = (
        frequencies_hz(thick, BOARD)["along"]
        / frequencies_hz(thick, BOARD, surroundings(thick, 0.0))["along"]
    )
    assert 1 - less == pytest.approx((1 - still["along"] / vacuum["along"]) / 2, rel=0.1)


def test_shear_takes_down_a_thick_plate_more() -> None:
    stiff = Elastic(11000, 858, 704, 0.372, 1e7, 1e7)
    for thick, least, most in ((3.0, 0.0, 0.01), (12.0, 0.01, 0.2)):
        size = (500.0, 200.0, thick)
        soft = thick_class_hz("ee", BOARD, 400, size, 2)
        hard = thick_class_hz("ee", stiff, 400, size, 2)
        drop = 1 - soft / hard
        assert (drop > 0).all()
        assert least <= drop.max() < most


def test_a_long_plate_twists_as_saint_venant_says() -> None:
    # B. de Saint-Venant, 1855: torsion constant of a rectangle b h^3/3 (1 - 0.630 h/b); a rod's f = c / 2L
    g = 1000 / 2.6
    board = Elastic(1000, 1000, g, 0.3, g, g)
    length, width, thick = 1000.0, 30.0, 3.0
    torsion = width * thick**3 / 3 * (1 - 0.630 * thick / width)
    polar = width * thick * (width**2 + thick**2) / 12
    wanted = np.sqrt(g * torsion / (1e-9 * polar)) / (2 * length)
    assert thick_class_hz("oo", board, 1000, (length, width, thick), 1)[0] == pytest.approx(wanted, rel=1e-3)


def test_a_taper_turned_round_is_the_same_leaf() -> None:
    one = frequencies_hz(Piece(550, 205, 190, 3.6, 160), BOARD)
    other = frequencies_hz(Piece(550, 190, 205, 3.6, 160), BOARD)
    straight = frequencies_hz(Piece(550, 197.5, 197.5, 3.6, 160), BOARD)
    for name, hz in one.items():
        assert other[name] == pytest.approx(hz, rel=1e-6)
    assert one["across"] < straight["across"] * 0.998  # the wide end rules the bending across


def test_modes_for_drawing_rise() -> None:
    hz = [mode.hz for mode in all_modes(LEAF, BOARD, 8)]
    assert hz == sorted(hz)
    assert len(hz) == 8
