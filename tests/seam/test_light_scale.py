"""The joint's length from tags beside it, and a scale that is uneven along it."""

import cv2
import numpy as np
import pytest

from seamlight.demo.seam_light import CandledJoint, Candling, LightShot, photograph_joint
from seamlight.mistake import Mistake
from seamlight.photo import Picture, ScaleSpec, target_sheet
from seamlight.photo.target import sheet_picture
from seamlight.seam.light import read_light

LENGTH = 420.0
S = np.linspace(0.0, 1.0, 1101)
GAP = 0.05 + 0.1 * S + 0.12 * np.exp(-0.5 * ((S - 0.3) / 0.03) ** 2)
VIEW = Candling(px_per_mm=4.0, across_mm=540.0, slant_deg=0.8)
ASKEW = np.array([[1.0, 0.0, 0.0], [0.02, 1.0, 0.0], [5e-5, 0.0, 1.0]])  # 9 % nearer at one end


def with_sheet(shot: LightShot) -> np.ndarray:
    """A printed sheet on the lower leaf's face, at true scale and lit."""
    px_per_mm = shot.candling.px_per_mm
    page = cv2.resize(sheet_picture(target_sheet(), 10.0), None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA)
    page = np.rot90(page) if page.shape[0] > page.shape[1] else page
    assert page.shape[1] == pytest.approx(297 * px_per_mm, abs=2)
    rgb = shot.rgb.copy()
    top = round(shot.ends_px[0][1] + 30 * px_per_mm)
    left = round(shot.ends_px[0][0] + 50 * px_per_mm)
    paper = np.clip(page * 0.5 + 12, 0, 255).astype(np.uint8)
    rgb[top : top + page.shape[0], left : left + page.shape[1]] = paper[..., None]
    return rgb


def askew(rgb: np.ndarray) -> np.ndarray:
    high, wide = rgb.shape[:2]
    corner = cv2.perspectiveTransform(np.array([[[wide, high], [wide, 0]]], np.float64), ASKEW)[0].max(axis=0)
    size = (int(corner[0]), int(max(corner[1], high)) + 40)
    return np.asarray(cv2.warpPerspective(rgb, ASKEW, size, flags=cv2.INTER_AREA), np.uint8)


@pytest.fixture(scope="module")
def shot() -> LightShot:
    return photograph_joint(CandledJoint(GAP, LENGTH, leaf_mm=260.0), VIEW, 71)


def bump_at(light: np.ndarray, s_mm: np.ndarray) -> float:
    """Where the bump lies."""
    line = np.interp(s_mm, s_mm[[20, -20]], light[[20, -20]])
    above = np.clip(light - line, 0, None) ** 2
    return float((above * s_mm).sum() / above.sum())


def test_length_from_tags(shot: LightShot) -> None:
    reading = read_light([Picture(with_sheet(shot), name="tags")], None, tags=ScaleSpec())
    assert reading.length_mm == pytest.approx(LENGTH, rel=0.005)
    smaller = read_light([Picture(with_sheet(shot), name="tags")], None, tags=ScaleSpec(bar_mm=145.5))
    assert smaller.length_mm == pytest.approx(0.97 * reading.length_mm, rel=0.001)


def test_tags_take_out_a_camera_askew(shot: LightShot) -> None:
    picture = Picture(askew(with_sheet(shot)), name="askew")
    even = read_light([picture], LENGTH)
    tagged = read_light([picture], None, tags=ScaleSpec())
    assert tagged.length_mm == pytest.approx(LENGTH, rel=0.01)
    assert abs(bump_at(even.light, even.s_mm) - 0.3 * LENGTH) > 3.0
    assert bump_at(tagged.light, tagged.s_mm) == pytest.approx(0.3 * LENGTH, abs=2.0)


def test_a_mark_in_the_middle_does_too(shot: LightShot) -> None:
    middle = np.mean(shot.ends_px, axis=0)
    seen = cv2.perspectiveTransform(middle.reshape(1, 1, 2), ASKEW).ravel()
    picture = Picture(askew(shot.rgb), name="askew")
    marked = read_light([picture], LENGTH, middle_px=[(float(seen[0]), float(seen[1]))])
    assert bump_at(marked.light, marked.s_mm) == pytest.approx(0.3 * LENGTH, abs=1.0)
    straight = read_light([Picture(shot.rgb, name="straight")], LENGTH)
    ratio = marked.light / np.interp(marked.s_mm, straight.s_mm, straight.light)
    assert np.polyfit(marked.s_mm / LENGTH, ratio / ratio.mean(), 1)[0] == pytest.approx(0.0, abs=0.03)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"tags": ScaleSpec()}, "no target sheet"),
        ({"length_mm": LENGTH, "tags": ScaleSpec()}, "tags give the length"),
        ({"length_mm": LENGTH, "middle_px": [(300.0, 1100.0)]}, "cannot be the joint's middle"),
        ({}, "how long"),
    ],
)
def test_mistakes(shot: LightShot, given: dict[str, object], says: str) -> None:
    with pytest.raises(Mistake, match=says):
        read_light([Picture(shot.rgb, name="p")], **{"length_mm": None, **given})  # type: ignore[arg-type]
