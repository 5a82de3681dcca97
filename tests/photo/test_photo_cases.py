"""The demo's fixed table of phone pictures: scale and silhouette. Nothing was tuned on it."""

from __future__ import annotations

import numpy as np
import pytest
from test_lay_flat import edge_errors_mm, length_error_mm, picture_of

from seamlight.demo import saw
from seamlight.demo.cases import PHOTO_CASES, Case, pair_of, shot_of
from seamlight.photo import lay_flat, parse_scale


@pytest.mark.parametrize("case", PHOTO_CASES, ids=lambda case: case.name)
def test_560_mm_within_half_a_millimetre(case: Case) -> None:
    face = saw.face(pair_of(case.name).a, "sawn", 6.0, **case.look)
    shot = shot_of(case.name)
    bar_mm = 150 * case.shot.get("print_scale", 1.0)
    (flat,) = lay_flat(picture_of(shot), parse_scale(f"tags={bar_mm}"), case.sawing["thickness_mm"])
    assert abs(length_error_mm(face, shot, flat)) < min(0.5, flat.scale.error_mm)
    assert np.percentile(edge_errors_mm(face, shot, flat), 90) < 0.35
