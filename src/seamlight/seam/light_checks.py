"""What spoils a picture of a joint against the light: said in one line each, never read over."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.seam.light_ends import Ends
from seamlight.seam.light_measure import END_MM, Cut
from seamlight.seam.light_reading import FULL_LIGHT_MM
from seamlight.seam.tone_curve import Rgb, clipped

Floats = NDArray[np.float64]
F32 = NDArray[np.float32]

_SMALL_PX = 800
_THINNEST_SHIM_MM = 0.01  # thinner touches
_CLIPPED_AT_MOST = 0.03  # of the joint's length
_COVERED_AT_MOST_MM = 130.0  # a hand
_AT_END_MM = 4.0
_SHIM_MM = 8.0  # at an end: a shim is dark itself
_SAME_LIGHT = 1.10  # the lamp's light in one picture over that in another


def check_lamp(light: F32, rgb: Rgb, name: str) -> None:
    """No bare bulb in the picture: cut off in its middle, its glare running out softly over the wood.

    Raises:
        Mistake: there is one.
    """
    factor = max(1.0, max(light.shape) / _SMALL_PX)
    size = (round(light.shape[1] / factor), round(light.shape[0] / factor))
    small = cv2.resize(light, size, interpolation=cv2.INTER_AREA)
    over = cv2.resize(clipped(rgb).astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.5
    count, blobs, stats, _ = cv2.connectedComponentsWithStats(over.astype(np.uint8))
    for i in range(1, count):
        if stats[i, cv2.CC_STAT_AREA] < 30:
            continue
        blob = (blobs == i).astype(np.uint8)
        ring = cv2.dilate(blob, np.ones((9, 9), np.uint8)) - cv2.dilate(blob, np.ones((5, 5), np.uint8))
        around = small[ring > 0]
        # a wide lamp behind the leaves ends at their sharp edges, or fades little by little
        if around.size and np.mean((around > 0.12) & (around < 0.8)) > 0.6:
            raise Mistake(
                "the lamp itself is in the picture and dazzles it",
                where=name,
                do="put a diffuser or white paper before the lamp",
            )


def check_exposed(cut: Cut, name: str) -> None:
    """The seam's own light is not cut off.

    Raises:
        Mistake: it is, over too much of the joint.
    """
    inner = (cut.s_mm > 2 * END_MM) & (cut.s_mm < cut.length_mm - 2 * END_MM)
    core = np.abs(cut.away_px) <= 3.0
    share = float(np.any(cut.over_px & core, axis=0, where=inner[None, :]).sum() / max(inner.sum(), 1))
    if share > _CLIPPED_AT_MOST:
        raise Mistake(
            f"overexposed: {100 * share:.0f} % of the seam is cut off at white",
            where=name,
            do="lock the exposure on the bare lamp, darker until it is no longer white",
        )


def check_covered(s_mm: Floats, seen_mm: Floats, name: str) -> None:
    """Nothing lies over the seam: no dark stretch that begins and ends at once beside light.

    A plane leaves no such step; a finger, a hand or tape does. At the joint's end one side has to say so.

    Raises:
        Mistake: something does.
    """
    step, count = s_mm[1] - s_mm[0], len(s_mm)
    near, far, jump, end = (round(mm / step) for mm in (8.0, 20.0, 3.5, _AT_END_MM))
    bright = seen_mm > 0.012
    for start, stop in _runs(seen_mm < 0.006):
        ends = start <= end or stop >= count - end
        if not (_SHIM_MM if ends else 5.0) <= (stop - start) * step <= _COVERED_AT_MOST_MM:
            continue
        sides: list[bool] = []
        for at_end, edge, beside in (
            (start <= end, start - jump - 1, slice(start - far, start - near)),
            (stop >= count - end, stop + jump, slice(stop + near, stop + far)),
        ):
            if at_end:
                continue
            if beside.start < 0 or beside.stop > count:
                sides.append(False)
                continue
            level = float(np.median(seen_mm[beside]))
            sides.append(level > 0.02 and bool(bright[edge]) and bool(seen_mm[edge] > 0.65 * level))
        if sides and all(sides):
            what = "a finger, tape or a shim pushed in deep" if ends else "a finger or tape"
            raise Mistake(
                f"{what} covers the seam from {s_mm[start]:.0f} to {s_mm[stop - 1]:.0f} mm",
                where=name,
                do="leave the seam free and take it again",
            )


def check_shims(shims_mm: tuple[float, float] | None) -> None:
    """Shims through which light can be read.

    Raises:
        Mistake: one is no shim, or holds the joint open wider than is read.
    """
    least, most = _THINNEST_SHIM_MM, FULL_LIGHT_MM
    for shim in shims_mm or ():
        if not least <= shim <= most:
            raise Mistake(
                f"a shim of {shim:g} mm tells nothing here",
                where="shims",
                do=f"use feeler leaves of {least:g} to {most:g} mm, such as 0.05 and 0.15",
            )


def check_seated(s_mm: Floats, seen_mm: Floats, name: str) -> None:
    """The joint rests on both shims: then light comes through everywhere.

    Raises:
        Mistake: dark places between the shims. A hump touches there, or the camera's place hides the gap; one
            picture cannot tell which.
    """
    length = s_mm[-1] + s_mm[0]
    dark = (seen_mm < 0.0012) & (s_mm > 10.0) & (s_mm < length - 10.0)
    for start, stop in _runs(dark):
        if s_mm[stop - 1] - s_mm[start] >= 1.5:
            raise Mistake(
                f"dark at {s_mm[(start + stop) // 2]:.0f} mm: not seated on both shims, a hump above them,"
                " or the camera is off the joint's plane",
                where=name,
                do="use thicker shims; dark all the same: film while moving the phone through the plane",
            )


def check_same_exposure(lamps: Sequence[Sequence[float | None]], names: Sequence[str]) -> None:
    """The lamp is as bright in each picture as in the first; each row: its light at both ends, or None.

    Raises:
        Mistake: the exposure changed between the pictures.
    """
    for i, lamp in enumerate(lamps[1:], start=1):
        pairs = [(a, b) for a, b in zip(lamps[0], lamp, strict=True) if a is not None and b is not None]
        ratios = [max(a, b) / max(min(a, b), 1e-6) for a, b in pairs]
        if ratios and min(ratios) > _SAME_LIGHT:
            raise Mistake(
                f"the exposure changed between {names[0]} and {names[i]}",
                do="lock exposure and white balance on the phone, then take all of them",
            )


def lamp_beyond(ends: Ends) -> tuple[float | None, float | None]:
    """The lamp's light at both ends, None where it is not seen or may be cut off."""
    low, high = (None if lamp is None or lamp > 0.94 else lamp for lamp in ends.lamp)
    return low, high


def _runs(where: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches of True as (first, one past the last)."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], where, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
