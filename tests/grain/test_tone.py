"""Two-tone: runout or colour, from rendered pairs and from plain arrays."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.demo import phone, saw, wood
from seamlight.grain.tone import Step, read_tone, step_at_joint, tone_of
from seamlight.grain.tone_document import ToneDocument
from seamlight.mistake import Mistake
from seamlight.photo import FlatLeaf, Picture, Scale


def half(rgb: np.ndarray) -> FlatLeaf:
    height, width = rgb.shape[:2]
    outline = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    return FlatLeaf(
        rgb,
        np.ones((height, width), bool),
        1.0,
        outline,
        (),
        height,
        width,
        width,
        Scale("px", 1.0, 0.0),
        None,
    )


def code(light: np.ndarray) -> np.ndarray:
    """Linear light -> sRGB, the inverse of IEC 61966-2-1."""
    curve = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.repeat(np.clip(np.round(255 * curve), 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def lit(contrast: float, across: float, along: float) -> tuple[FlatLeaf, FlatLeaf]:
    """Mirrored halves under a lamp that falls off across and along, the left one lighter by `contrast`."""
    x, y = np.meshgrid(np.linspace(-1, 1, 400), np.linspace(-1, 1, 560))
    rings = 1 + 0.2 * np.sin(np.abs(x) * 150) + 0.1 * np.abs(x)
    lamp = np.exp(across * x + along * y)
    light = 0.3 * rings * lamp * np.where(x < 0, 1 + contrast, 1.0)
    rgb = code(light)
    return half(rgb[:, :200]), half(rgb[:, 200:])


@settings(max_examples=25, deadline=None)
@given(st.floats(-0.25, 0.25), st.floats(-0.3, 0.3), st.floats(-0.5, 0.5))
def test_the_step_is_read_whatever_the_lamp_does(contrast, across, along):
    assert step_at_joint(*lit(contrast, across, along)).contrast_pct == pytest.approx(100 * contrast, abs=0.8)


@pytest.mark.parametrize(
    ("one", "two", "swaps", "cause"),
    [
        (8.0, -7.0, True, "runout"),
        (-3.0, 3.0, True, "runout"),
        (8.0, 7.5, False, "colour"),
        (-5.0, -6.0, False, "colour"),
        (0.4, -0.6, False, "none"),
        (8.0, 1.0, False, "unclear"),
    ],
)
def test_the_verdict(one, two, swaps, cause):
    tone = tone_of(*(Step(float(np.log1p(pct / 100)), 0.002, 0.0) for pct in (one, two)))
    assert (tone.swaps, tone.cause) == (swaps, cause)
    assert tone.contrast_pct == pytest.approx((one, two))


def test_a_reading_as_rough_as_what_it_reads_says_nothing():
    tone = tone_of(Step(0.02, 0.05, 0.0), Step(-0.02, 0.05, 0.0))
    assert (tone.swaps, tone.cause) == (None, "unclear")


def test_no_advice_claims_that_turning_a_leaf_cures_runout():
    runout = tone_of(Step(0.08, 0.002, 0.0), Step(-0.08, 0.002, 0.0))
    said = " ".join(runout.advice)
    assert "doesn't cure it" in said
    assert "slip-match" in said
    assert "1:28 (2.0 degrees; common practice, no source)" in said
    colour = tone_of(Step(0.08, 0.002, 0.0), Step(0.08, 0.002, 0.0))
    assert "right half is darker in both lights" in " ".join(colour.advice)
    assert "Scrape both faces" in " ".join(colour.advice)


@pytest.mark.parametrize(
    ("seed", "spiral_deg", "tint", "cause"),
    [
        (9101, 1.5, 1.0, "runout"),
        (9102, -0.8, 1.0, "runout"),
        (9103, 0.0, 0.94, "colour"),
        (9104, 0.0, 1.0, "none"),
    ],
)
def test_rendered_pairs_lit_from_either_end(seed, spiral_deg, tint, cause):
    log = wood.grow_log(seed, "Engelmann spruce", spiral_deg=spiral_deg)
    pair = saw.saw_pair(log, seed, b_tint=tint)
    shots = phone.raking_pair(pair, seed, px_per_mm=2.0, megapixels=2.0)
    tone = read_tone(*(Picture(shot.rgb) for shot in shots))
    assert tone.cause == cause
    assert tone.swaps is (cause == "runout")
    document = ToneDocument.of(tone)
    assert '"schema":"seamlight/tone/1"' in document.to_json()
    if cause == "runout":
        one, two = document.contrast_pct
        assert one * two < 0


def test_one_leaf_is_no_pair():
    log = wood.grow_log(9105, "Engelmann spruce")
    face = saw.face(saw.saw_pair(log, 9105).a, "sawn", 2.0)
    shot = phone.photograph(face, 9105, megapixels=2.0, targets=0)
    with pytest.raises(Mistake, match="one leaf"):
        read_tone(Picture(shot.rgb), Picture(shot.rgb))
