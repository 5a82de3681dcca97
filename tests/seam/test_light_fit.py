"""The phone's own curve, and how much of the line is summed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo.seam_cases import LENGTH_MM, gap_of
from seamlight.demo.seam_light import CandledJoint, Candling, photograph_joint, photograph_lamp
from seamlight.demo.seam_sensor import Tone as PhoneTone
from seamlight.demo.seam_sensor import curve
from seamlight.photo import Picture
from seamlight.seam.light_calibrate import calibrate
from seamlight.seam.light_measure import window_px
from seamlight.seam.light_scale import Known
from seamlight.seam.light_view import view
from seamlight.seam.optics import Sight
from seamlight.seam.tone_curve import KNOTS, Tone


@settings(max_examples=20, deadline=None)
@given(bend=st.lists(st.floats(-1.5, 1.5), min_size=len(KNOTS), max_size=len(KNOTS)))
def test_a_curve_never_falls_and_is_full_at_full_code(bend: list[float]) -> None:
    table = Tone(tuple(bend)).table()
    assert np.all(np.diff(table) >= 0)
    assert table[-1] >= 1.0 - 1e-9


def test_no_bend_is_srgb() -> None:
    assert Tone().slope() == pytest.approx(np.ones(256))


@pytest.mark.parametrize(("tone", "seed"), [("contrast", 61), ("strong", 62), ("filmic", 63)])
def test_a_bent_curve_is_found(tone: PhoneTone, seed: int) -> None:
    """Light over light between two codes as the phone bent it, over the codes that the line shows."""
    joint = CandledJoint(gap_of("hollow", seed), LENGTH_MM, glow=0.003)
    candling = Candling(slant_deg=1.6, tone=tone, uneven=0.2, lamp_level=0.65)
    picture = Picture(photograph_joint(joint, candling, seed).rgb, name="joint")
    lamp = Picture(photograph_lamp(joint, candling, seed), name="lamp")
    seen = view(picture, Known(LENGTH_MM), lamp, "left", None)
    fit = calibrate(seen.cut, seen.lamp, (0.05, 0.15), Sight(), "joint", seen.edges)
    light = np.array([0.05, 0.1, 0.2, 0.4, 0.6], np.float32)
    found = np.interp(255 * curve(light, tone), np.arange(256), fit.tone.table())
    assert found / found[-1] == pytest.approx(light / light[-1], rel=0.08)


def test_the_window_is_as_wide_as_the_line() -> None:
    away = np.tile(np.arange(-48, 49, dtype=np.float32)[:, None], (1, 40))
    widths = []
    for spread in (1.0, 2.0):
        line = 200 * np.exp(-0.5 * (away / spread) ** 2)
        widths.append(window_px(line.astype(np.uint8), away, 5.0))
    assert 3.0 <= widths[0] < widths[1] <= 9.0
    assert window_px(np.zeros_like(away, dtype=np.uint8), away, 5.0) == pytest.approx(9.0)
