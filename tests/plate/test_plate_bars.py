"""Bars and deflections: there and back, overtones, what cannot be."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.plate.agreement import Estimate, agreement
from seamlight.plate.bars import bar_air_share, bar_hz, invert_bar
from seamlight.plate.piece import Piece
from seamlight.plate.static import Rig, deflection_mm, modulus_from_deflection


def blank(length: float, width: float, height: float, density: float = 420) -> Piece:
    return Piece(length, width, width, height, density * length * width * height * 1e-6)


@settings(max_examples=15, deadline=None)
@given(
    st.floats(8000, 16000),
    st.floats(500, 1100),
    st.sampled_from([(300, 8, 16), (250, 20, 20), (400, 12, 14)]),
)
def test_blank_with_overtones(e: float, g: float, size: tuple[float, float, float]) -> None:
    piece = blank(*size)
    hz = bar_hz(e, g, 420, size[0], size[2], 3, bar_air_share(piece))
    found = invert_bar(piece, list(hz))
    assert found.bending == (0, 1, 2)
    assert found.e_along_mpa == pytest.approx(e, rel=0.004)
    assert found.g_mpa == pytest.approx(g, rel=0.05)
    assert found.g_told


def test_the_first_bending_is_found_among_sideways_and_stray_tones() -> None:
    piece = blank(300, 8, 16)
    upright = bar_hz(12000, 700, 420, 300, 16, 2, bar_air_share(piece))
    flat = bar_hz(12000, 700, 420, 300, 8, 2)
    hz = sorted([*upright, *flat, 311.0])
    found = invert_bar(piece, hz, species="Sitka spruce")
    assert hz[found.bending[0] or 0] == pytest.approx(upright[0])
    assert found.e_along_mpa == pytest.approx(12000, rel=0.01)
    said = invert_bar(piece, hz, first_hz=float(upright[0]))
    assert said.bending[0] == found.bending[0]


def test_without_overtones_g_is_assumed_and_said() -> None:
    piece = blank(300, 8, 16)
    found = invert_bar(piece, [float(bar_hz(12000, 700, 420, 300, 16)[0])])
    assert not found.g_told
    assert any("assumed" in line for line in found.warnings)
    with pytest.raises(Mistake, match="no peak gives"):
        invert_bar(piece, [40.0])
    with pytest.raises(Mistake, match="no peak of the bar"):
        invert_bar(piece, [])


@settings(max_examples=20, deadline=None)
@given(
    st.floats(4000, 20000),
    st.floats(60, 228.5),
    st.sampled_from(["middle", "load"]),
    st.floats(2.0, 5.0),
)
def test_deflection_there_and_back(e: float, at: float, read_at: str, thick: float) -> None:
    rig = Rig(457, 10.0, at, read_at)  # type: ignore[arg-type]
    bent = deflection_mm(rig, 200, thick, e, 15.6)
    found = modulus_from_deflection(rig, 550, 200, thick, bent)
    assert found.e_mpa == pytest.approx(e, rel=1e-9)


def test_formulas_of_the_bench() -> None:
    # load in the middle: E = F L^3 / 48 I delta; off the middle, read in it: F b (3 L^2 - 4 b^2) / 48 E I
    # (computed)
    inertia = 200 * 3.2**3 / 12
    assert deflection_mm(Rig(457, 22.2, 228.5), 200, 3.2, 10000) == pytest.approx(
        22.2 * 457**3 / (48 * 10000 * inertia)
    )
    assert deflection_mm(Rig(457, 22.2, 152), 200, 3.2, 10000) == pytest.approx(
        22.2 * 152 * (3 * 457**2 - 4 * 152**2) / (48 * 10000 * inertia)
    )
    # under the load in the middle both readings are one
    assert deflection_mm(Rig(457, 22.2, 228.5, "load"), 200, 3.2, 10000, 15) == pytest.approx(
        deflection_mm(Rig(457, 22.2, 228.5, "middle"), 200, 3.2, 10000, 15)
    )


@pytest.mark.parametrize(
    ("rig", "read_mm", "says"),
    [
        (Rig(600, 22.2, 152), 5.6, "longer than the piece"),
        (Rig(457, 22.2, 300), 5.6, "nearer support"),
        (Rig(457, 22.2, 152), 0.56, "no wood has"),
        (Rig(457, 2.27, 152), 560, "no wood has"),
        (Rig(457, 22.2, 152), 0.0, "above 0"),
        (Rig(457, -1, 152), 5.6, "above 0"),
    ],
)
def test_rigs_that_cannot_be(rig: Rig, read_mm: float, says: str) -> None:
    with pytest.raises(Mistake, match=says):
        modulus_from_deflection(rig, 550, 200, 3.2, read_mm)


def test_a_short_span_is_named() -> None:
    rig = Rig(80, 22.2, 40)
    found = modulus_from_deflection(rig, 550, 200, 3.2, deflection_mm(rig, 200, 3.2, 12000, 15.6))
    assert any("thicknesses" in line for line in found.warnings)
    assert found.shear_pct > 1


def test_ways_that_differ_are_explained() -> None:
    taps, bent = Estimate("taps", 12500, 1.0), Estimate("deflection", 12000, 1.5)
    assert agreement(taps, bent).agrees  # a slow weight reads a little lower
    assert not agreement(Estimate("taps", 12000, 1.0), Estimate("deflection", 13500, 1.5)).agrees
    far = agreement(
        Estimate("taps", 24000, 1.0, sure=0.5), Estimate("deflection", 12000, 1.5, span_over_thickness=30)
    )
    assert not far.agrees
    assert far.differ_pct == pytest.approx(100)
    assert any("mode" in line for line in far.reasons)
    assert any("span" in line for line in far.reasons)
    wet = agreement(Estimate("taps", 12000, 0.5, 6.0), Estimate("leaves apart", 11000, 0.5, 11.0))
    assert any("moisture" in line for line in wet.reasons)
    assert np.isclose(wet.differ_pct, 100 / 11)
