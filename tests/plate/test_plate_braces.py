"""Braces and their sections, runout, what the constants mean."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.plate.braces import (
    Blank,
    Brace,
    figures,
    height_for,
    rise_mm,
    runout,
    scalloped,
    stiffness_n_mm2,
    tapered,
    width_for,
)
from seamlight.plate.grain_angle import across_at_ring_angle, along_with_runout
from seamlight.plate.meaning import (
    among_past,
    at_moisture,
    beside_species,
    loss,
    radiation_coefficient,
    speed_m_s,
)
from seamlight.plate.section import SECTIONS, area_mm2, second_moment_mm4
from seamlight.plate.stiffness import Elastic
from seamlight.timber.elastic import elastic_ratios

SPRUCE = Blank(12000, 420, 3.0)
OUTLINES = {
    "rectangular": lambda b, h: [(0, 0), (b, 0), (b, h), (0, h)],
    "pointed": lambda b, h: [(0, 0), (b, 0), (b / 2, h)],
    "peaked": lambda b, h: [(0, 0), (b, 0), (b, h / 2), (b / 2, h), (0, h / 2)],
    "rounded": lambda b, h: [(x, h * (1 - (2 * x / b - 1) ** 2)) for x in np.linspace(0, b, 2001)],
}


@pytest.mark.parametrize("kind", SECTIONS)
def test_sections_by_slicing_their_outline(kind: str) -> None:
    b, h = 8.0, 14.0
    outline, slice_mm = shapely.Polygon(OUTLINES[kind](b, h)), h / 700
    middles = (np.arange(700) + 0.5) * slice_mm
    wide = np.array([outline.intersection(shapely.LineString([(-1, y), (b + 1, y)])).length for y in middles])
    area = (wide * slice_mm).sum()
    centre = (wide * middles).sum() * slice_mm / area
    second = (wide * (middles - centre) ** 2).sum() * slice_mm
    assert area_mm2(kind, b, h) == pytest.approx(area, rel=1e-3)  # type: ignore[arg-type]
    assert second_moment_mm4(kind, b, h) == pytest.approx(second, rel=1e-3)  # type: ignore[arg-type]


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(sorted(SECTIONS)), st.floats(5, 12), st.floats(6, 20))
def test_height_and_width_for_a_wanted_stiffness(kind: str, width: float, height: float) -> None:
    wanted = stiffness_n_mm2(SPRUCE, kind, width, height)  # type: ignore[arg-type]
    assert height_for(SPRUCE, kind, width, wanted) == pytest.approx(height)  # type: ignore[arg-type]
    assert width_for(SPRUCE, kind, height, wanted) == pytest.approx(width)  # type: ignore[arg-type]


def test_taper_and_scallop() -> None:
    even = Brace("rectangular", 8, np.array([0.0, 300.0]), np.array([14.0, 14.0]))
    whole = figures(even, SPRUCE)
    assert whole.even_height_mm == pytest.approx(14, rel=1e-4)
    assert whole.weight_g == pytest.approx(8 * 14 * 300 * 420e-6)
    down = tapered("rectangular", 8, 14, 300, 3, 80)
    less = figures(down, SPRUCE)
    assert 12 < less.even_height_mm < 14  # ends count little for the middle
    assert less.weight_g == pytest.approx(whole.weight_g * (1 - 2 * 80 * 5.5 / (300 * 14)), rel=1e-4)
    cut = figures(scalloped(down, 100, 7, 40), SPRUCE)
    assert cut.height_mm.min() >= 3 - 1e-9
    assert np.interp(100, cut.s_mm, cut.height_mm) == pytest.approx(7, abs=0.05)
    assert cut.even_height_mm < less.even_height_mm
    assert cut.weight_g < less.weight_g
    with pytest.raises(Mistake, match="do not fit"):
        tapered("rectangular", 8, 14, 150, 3, 80)
    with pytest.raises(Mistake, match="not below"):
        scalloped(down, 150, 15, 40)


def test_rise_of_a_radiused_brace() -> None:
    # trade cases (computed): 25 ft over 15.5 in 2.54 mm; 15 ft 4.24 mm, over 10 in 1.76 mm
    assert rise_mm(25 * 304.8, 15.5 * 25.4) == pytest.approx(2.54, abs=0.005)
    assert rise_mm(15 * 304.8, 15.5 * 25.4) == pytest.approx(4.24, abs=0.005)
    assert rise_mm(15 * 304.8, 254) == pytest.approx(1.76, abs=0.005)
    with pytest.raises(Mistake, match="spans no"):
        rise_mm(100, 300)


def test_runout_beside_the_aircraft_limit() -> None:
    # FAA AC 43.13-1B, Table 1-1: 1 in 15 for spruce. Wood Handbook, Table 5-12 (from memory): 89 % at 1 in 15
    assert runout(3.8, 14).within
    steep = runout(5.711, 14)
    assert not steep.within
    assert steep.one_in == pytest.approx(10, abs=0.01)
    assert steep.strength_pct == pytest.approx(81, abs=0.1)
    assert "140 mm" in steep.words
    assert runout(0, 14).strength_pct == 100


def test_radiation_and_speed_of_published_tops() -> None:
    # published pairs of the trade: 12.1 and 10.3; common practice, no source
    assert radiation_coefficient(14_900, 467.7) == pytest.approx(12.1, abs=0.1)
    assert radiation_coefficient(5_700, 375.7) == pytest.approx(10.3, abs=0.1)
    assert speed_m_s(14_900, 467.7) == pytest.approx(5644, abs=1)
    assert loss(100.0) == 0.01
    assert loss(None) is None


def test_moisture() -> None:
    board = Elastic(11000, 858, 704)
    wet, heavier = at_moisture(board, 400, 8, 12, "Sitka spruce")
    # Wood Handbook, Eq. 5-3 with 9.9 and 7.9 GPa, Mp 27: (9.9/7.9)^(-4/15)
    assert wet.e_along_mpa / 11000 == pytest.approx((9.9 / 7.9) ** (-4 / 15), rel=1e-6)
    assert wet.e_across_mpa < 858
    assert 400 < heavier < 412
    back, light = at_moisture(wet, heavier, 12, 8, "Sitka spruce")
    assert back.e_across_mpa == pytest.approx(858)
    assert light == pytest.approx(400, rel=1e-6)


def test_grain_off_its_best_angles() -> None:
    ratios = elastic_ratios("Sitka spruce")
    assert along_with_runout(0, ratios) == 1
    # with the constants of the plane of grain and radius, the figures collected: 0.9846, 0.9109, 0.7207 at
    # 2, 5, 10
    # degrees; in the plane of grain and tangent, where runout of a quartered face lies, a little lower
    for angle, published in ((2, 0.9846), (5, 0.9109), (10, 0.7207)):
        assert along_with_runout(angle, ratios) == pytest.approx(published, abs=0.015)
    assert across_at_ring_angle(90, ratios) == 1
    assert across_at_ring_angle(0, ratios) == pytest.approx(0.043 / 0.078)
    assert across_at_ring_angle(45, ratios) < 0.2  # rolling shear


def test_beside_the_species_and_past_plates() -> None:
    rows = beside_species("Sitka spruce", 11000, 403)
    assert [row.words for row in rows] == ["usual for the species"] * 2
    assert rows[0].mean == pytest.approx(1.1 * 9900)
    assert beside_species("Sitka spruce", 16000, 500)[0].words == "high for the species"
    assert among_past(1.0, [1, 2]) == ""
