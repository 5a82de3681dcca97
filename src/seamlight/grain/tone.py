"""Two-tone: does the lighter half change sides with the lamp (runout) or not (colour)?"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.grain.tone_advice import NOTABLE_PCT, Cause, advice_for
from seamlight.mistake import Mistake
from seamlight.photo import FlatLeaf, Picture, ScaleSpec, lay_flat

Array = NDArray[np.float64]

_LONG_SIDE_PX = 1400
_PX_PER_MM = 2.0  # nothing here depends on the scale
_BANDS = 24  # along the joint, each read for itself, tell how sure the reading is
_PLACES = 24  # across a half
_RIM = 0.06  # of a half's width and of the length, left out
_CLIPPED = 0.03  # share of burnt-out or black px from which it is said


@dataclass(frozen=True)
class Tone:
    """What two pictures of an opened pair say, lit from end 1 and from end 2.

    Contrast: by how much the left half sends back more light than the right at the joint, in percent of the
    right half's; below 0 the right half is the lighter one. None where it could not be read.
    """

    swaps: bool | None
    contrast_pct: tuple[float | None, float | None]
    cause: Cause
    runout_pct: float | None  # half the change between the two lights: what the runout does
    colour_pct: float | None  # what stays the same in both
    advice: tuple[str, ...]
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """The step of light at the joint in one picture, as ln(left / right), and its standard error."""

    log_ratio: float
    error: float
    clipped: float  # share of px that are burnt out or black

    @property
    def contrast_pct(self) -> float:
        """In percent of the right half's light."""
        return 100.0 * float(np.expm1(self.log_ratio))


def read_tone(lit_from_1: Picture, lit_from_2: Picture) -> Tone:
    """Compare the halves of an opened or joined pair in both lights.

    Raises:
        Mistake: a picture doesn't show both halves of a pair.
    """
    steps = [step_at_joint(*_halves(picture)) for picture in (lit_from_1, lit_from_2)]
    return tone_of(steps[0], steps[1])


def tone_of(lit_from_1: Step, lit_from_2: Step) -> Tone:
    """The verdict from the step at the joint in either light."""
    one, two = lit_from_1.contrast_pct, lit_from_2.contrast_pct
    runout, colour = (one - two) / 2, (one + two) / 2
    error = 100.0 * float(np.hypot(lit_from_1.error, lit_from_2.error)) / 2
    swaps, cause = _verdict(runout, colour, error)
    return Tone(
        swaps=swaps,
        contrast_pct=(one, two),
        cause=cause,
        runout_pct=abs(runout),
        colour_pct=colour,
        advice=advice_for(cause, abs(runout), colour),
        warnings=tuple(
            f"lit from end {end}: {100 * step.clipped:.0f} % of the wood is burnt out or black; "
            "use less light or set the exposure by hand"
            for end, step in ((1, lit_from_1), (2, lit_from_2))
            if step.clipped > _CLIPPED
        ),
    )


def _verdict(runout: float, colour: float, error: float) -> tuple[bool | None, Cause]:
    """Which of the two parts of the contrast (%) stands out, and whether the lighter half changes sides."""
    least = max(NOTABLE_PCT, 3 * error)
    if error > NOTABLE_PCT and max(abs(runout), abs(colour)) < least:
        return None, "unclear"
    if max(abs(runout), abs(colour)) < least:
        return False, "none"
    if abs(runout) >= 1.25 * abs(colour):
        return True, "runout"
    if abs(colour) >= 2 * abs(runout):
        return False, "colour"
    # the lighter half changes sides where the part that changes is the larger
    return (None if abs(abs(runout) - abs(colour)) < error else abs(runout) > abs(colour)), "unclear"


def step_at_joint(left: FlatLeaf, right: FlatLeaf) -> Step:
    """The step of light from the left half to the right one at the joint, the lamp's own gradient taken out.

    Rows are compared at the same place along the joint, so what falls off from end to end goes out. In a
    mirrored pair the wood's own changes across are the same either side; what is left of ln(left / right)
    is a line in the distance from the joint: its slope is the lamp's gradient across, its value at the
    joint the step.

    Raises:
        Mistake: too little of both halves shows.
    """
    from_joint = (_PLACES - np.arange(_PLACES) - 0.5) / _PLACES * (1 - 2 * _RIM) + _RIM
    light_left, light_right = _light(left)[:, ::-1], _light(right)
    ratio = np.log(light_left / light_right)
    distance = from_joint[::-1]
    if np.isfinite(ratio).sum() < ratio.size / 2:
        raise Mistake(
            "too little of both halves shows", where="tone", do="photograph the whole pair, opened flat"
        )
    # the jackknife, a band left out each time: Tukey, Ann. Math. Stat. 29 (1958) 614, from memory
    without = np.array([_at_joint(np.delete(ratio, band, axis=0), distance) for band in range(_BANDS)])
    error = np.sqrt((_BANDS - 1) / _BANDS * np.sum((without - without.mean()) ** 2))
    clipped = max(_clipped(left), _clipped(right))
    return Step(_at_joint(ratio, distance), float(error), clipped)


def _at_joint(ratio: Array, distance: Array) -> float:
    """The value at distance 0 of a line through the middling ratio at each distance.

    The median over bands passes by shiny patches and streaks, which cover a few bands each.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a place that shows in no band is NaN
        middling = np.nanmedian(ratio, axis=0)
    seen = np.isfinite(middling)
    if seen.sum() < 3:
        raise Mistake(
            "too little of both halves shows", where="tone", do="photograph the whole pair, opened flat"
        )
    return float(np.polyfit(distance[seen], middling[seen], 1)[1])


def _light(half: FlatLeaf) -> Array:
    """(bands, places) mean linear light, places from the half's left edge to its right one."""
    # sRGB to linear light: IEC 61966-2-1
    code = np.arange(256) / 255.0
    linear = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    grey = np.asarray(cv2.transform(linear.astype(np.float32)[half.rgb], _LUMINANCE))
    # a rim is left out: the joint's gap and the bench's shade must not count
    inner = np.asarray(cv2.erode(half.wood.astype(np.uint8), np.ones((9, 9), np.uint8)), bool)
    rows = np.linspace(_RIM, 1 - _RIM, _BANDS + 1) * inner.shape[0]
    columns = np.linspace(_RIM, 1 - _RIM, _PLACES + 1) * inner.shape[1]
    out = np.full((_BANDS, _PLACES), np.nan)
    for j, (top, bottom) in enumerate(zip(rows[:-1].astype(int), rows[1:].astype(int), strict=True)):
        for i, (left, right) in enumerate(
            zip(columns[:-1].astype(int), columns[1:].astype(int), strict=True)
        ):
            seen = inner[top:bottom, left:right]
            if seen.mean() > 0.5:
                out[j, i] = float(grey[top:bottom, left:right][seen].mean()) + 1e-4
    return out


# Relative luminance of linear sRGB: IEC 61966-2-1
_LUMINANCE = np.array([[0.2126, 0.7152, 0.0722]], np.float32)


def _clipped(half: FlatLeaf) -> float:
    """Share of the wood that is burnt out or black."""
    shown = half.rgb[half.wood]
    return float(np.mean((shown.max(axis=1) >= 254) | (shown.max(axis=1) <= 2))) if len(shown) else 1.0


def _halves(picture: Picture) -> tuple[FlatLeaf, FlatLeaf]:
    """The left and the right half as they lie in the picture."""
    shrink = _LONG_SIDE_PX / max(picture.rgb.shape[:2])
    rgb = picture.rgb
    if shrink < 1:
        rgb = np.asarray(cv2.resize(rgb, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8)
    spec = ScaleSpec(how="px", px_per_mm=_PX_PER_MM)
    halves = lay_flat(Picture(rgb, name=picture.name), spec, leaves="pair")
    if len(halves) != 2:
        raise Mistake(
            "shows one leaf, not the two halves of a pair",
            where=picture.name or "tone",
            do="photograph the joined or opened pair as one",
        )
    return halves[0], halves[1]
