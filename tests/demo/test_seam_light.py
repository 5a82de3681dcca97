"""The rendered joint keeps its light: what is put in comes out, wherever it falls."""

import numpy as np
import pytest

from seamlight.demo.seam_cases import CASES
from seamlight.demo.seam_light import CandledJoint, Candling, photograph_joint
from seamlight.demo.seam_rays import blurred, spread


def test_spread_and_blur_keep_all_light() -> None:
    at = np.array([[20.3, 18.7], [25.0, 22.5]])
    picture = spread((48, 50), at, np.array([0.4, 0.7]), 0.9, 0.05)
    assert float(picture.sum()) == pytest.approx(1.1, rel=2e-3)
    flat = np.full((30, 30), 0.5, np.float32)
    assert blurred(flat, 0.9, 0.05) == pytest.approx(flat, abs=1e-5)


def test_same_seed_same_picture_and_truth_lies_on_the_seam() -> None:
    joint = CandledJoint(np.full(101, 0.2), 120.0)
    view = Candling(px_per_mm=4.0, slant_deg=10.0, across_mm=40.0)
    one, two = (photograph_joint(joint, view, 5) for _ in range(2))
    assert np.array_equal(one.rgb, two.rgb)
    (x0, y0), (x1, y1) = one.ends_px
    x, y = round((x0 + x1) / 2), round((y0 + y1) / 2)
    assert one.rgb[y - 1 : y + 2, x].max() > 100
    assert one.rgb[y + 12, x].max() < 60


def test_cases_span_the_gaps_that_the_bound_is_stated_for() -> None:
    gaps = np.concatenate([case.joint().gap_mm for case in CASES])
    assert gaps.min() < 0.025
    assert gaps.max() > 0.45
