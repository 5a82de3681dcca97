"""Light of a picture and light through a slit, against others' work."""

import numpy as np
import pytest
from scipy.integrate import quad
from skimage.color import rgb2xyz

from seamlight.seam.optics import Sight, seen_width_mm
from seamlight.seam.tone_curve import Tone


def test_srgb_is_decoded_as_scikit_image_does() -> None:
    # IEC 61966-2-1: gray has the luminance Y of its code; scikit-image's rgb2xyz
    grays = np.repeat(np.arange(256, dtype=np.uint8)[:, None, None], 3, axis=2)
    assert Tone().table() == pytest.approx(rgb2xyz(grays)[:, 0, 1], abs=2e-4)


@pytest.mark.parametrize(("gap", "off"), [(0.012, 0.0), (0.05, 0.5), (0.1, 6.0), (0.4, 2.0)])
def test_round_lens_is_summed_as_quadpack_does(gap: float, off: float) -> None:
    # the chord of a circle of radius r at height u is 2 sqrt(r^2 - u^2); QUADPACK through SciPy
    radius, lost = 1.65, 4.0 / 400.0

    def through(u: float) -> float:
        return 2 / (np.pi * radius**2) * np.sqrt(radius**2 - u**2) * max(0.0, gap - lost * abs(u + off))

    whole = quad(through, -radius, radius, points=[0.0], limit=400)[0]
    assert float(seen_width_mm(gap, Sight(off_plane_mm=off))) == pytest.approx(whole, abs=2e-5)
