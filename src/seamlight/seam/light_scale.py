"""How far along the joint each of its places lies: taken as even, or by a mark in the middle, or by tags.

A camera that stands askew lengthwise sees the nearer end larger. Even scale then errs in the place of a gap
and, more across than along, in how wide it reads.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo import Picture, ScaleSpec
from seamlight.photo.pose import fit_plane
from seamlight.photo.tags import find_tags, group_sheets
from seamlight.photo.target import BAR_MM
from seamlight.seam.light_ends import Ends
from seamlight.seam.light_follow import Strip
from seamlight.seam.light_measure import Cut, cut_joint

Floats = NDArray[np.float64]

_SMALL_PX = 1600  # long side of the picture in which tags are sought
_MOST_SKEW = 1.5  # the nearer end's scale over the farther's
_BETWEEN_MM = 0.5  # the step over which the scale across is taken


@dataclass(frozen=True)
class Known:
    """What is known of the joint's length. Either the length or the tags; the mark only with the length."""

    length_mm: float | None = None
    tags: ScaleSpec | None = None  # from `seamlight.photo.parse_scale`
    middle_px: tuple[float, float] | None = None  # a mark halfway between the joint's ends


def cut_known(strip: Strip, ends: Ends, known: Known, picture: Picture, neck_last: bool) -> Cut:
    """The joint's columns at their places along it, neck end first.

    Raises:
        Mistake: no tags can be read, the joint they give is none, or the mark cannot be the middle.
    """
    if known.tags is not None:
        u, s, across = _by_tags(strip, ends, known.tags, picture)
    elif known.length_mm is None:
        raise AssertionError("neither a length nor tags")
    elif known.middle_px is not None:
        u, s, across = _by_middle(strip, ends, known.length_mm, known.middle_px, picture.name)
    else:
        return cut_joint(strip, ends, known.length_mm, neck_last)
    length_mm = float(s[-1])
    cut = cut_joint(strip, ends, length_mm, neck_last)
    # the cut has its places evenly between the ends
    even = length_mm - cut.s_mm if neck_last else cut.s_mm
    at = ends.from_px + even * cut.px_per_mm
    place = np.interp(at, u, s)
    # light is summed across the seam: a place seen larger has more pixels of it
    larger = np.interp(at, u, across / np.trapezoid(across, u) * (u[-1] - u[0]))
    return replace(cut, s_mm=length_mm - place if neck_last else place, cosine=cut.cosine / larger)


def stretched(cut: Cut, length_mm: float) -> Cut:
    """The same joint taken to be a little longer or shorter: as other pictures of it say."""
    by = length_mm / cut.length_mm
    return replace(cut, s_mm=cut.s_mm * by, px_per_mm=cut.px_per_mm / by, length_mm=length_mm)


def _by_middle(
    strip: Strip, ends: Ends, length_mm: float, middle_px: tuple[float, float], name: str
) -> tuple[Floats, Floats, Floats]:
    """Places along the strip, along the joint, and the scale across; one mark at half of the length.

    A line seen by a camera: s = a u / (1 + c u) (projective map of a line); the scale across goes as one over
    the distance, as 1 / (a - c s) does.
    """
    whole = ends.to_px - ends.from_px
    near = int(np.argmin(np.linalg.norm(strip.at_px - np.array(middle_px), axis=1)))
    half = float(strip.s_px[near]) - ends.from_px
    away = float(np.linalg.norm(strip.at_px[near] - np.array(middle_px)))
    skew = (whole - half) / half if 0 < half < whole else 0.0
    if not 1 / _MOST_SKEW < skew < _MOST_SKEW or away > 0.1 * whole:
        raise Mistake(
            "the mark cannot be the joint's middle",
            where=name,
            do="mark the place halfway between its two ends, on the seam",
        )
    # s(whole) = L and s(half) = L / 2
    c = (whole - 2 * half) / (half * whole)
    a = length_mm * (1 + c * whole) / whole
    u = np.linspace(0.0, whole, 200)
    s = a * u / (1 + c * u)
    return u + ends.from_px, s, 1 / (a - c * s)


def _by_tags(strip: Strip, ends: Ends, spec: ScaleSpec, picture: Picture) -> tuple[Floats, Floats, Floats]:
    """The same, through the camera that the tags of target sheets in the plane of the face give."""
    shrink = 1
    small = picture.rgb
    while max(small.shape[:2]) > _SMALL_PX:
        high, wide = (side // 2 * 2 for side in small.shape[:2])
        small = np.asarray(
            cv2.resize(small[:high, :wide], (wide // 2, high // 2), interpolation=cv2.INTER_AREA), np.uint8
        )
        shrink *= 2
    sheets = group_sheets(find_tags(picture.rgb, small, shrink))
    if not sheets:
        raise Mistake(
            "no target sheet can be read in the picture",
            where=picture.name,
            do="fix a printed sheet (seamlight sheet target) beside the joint, lit, or give its length",
        )
    size_px = (picture.rgb.shape[1], picture.rgb.shape[0])
    camera = fit_plane(sheets, size_px, picture.focal_px, spec.bar_mm / BAR_MM).camera
    inside = (strip.s_px > ends.from_px) & (strip.s_px < ends.to_px)
    u = np.concatenate([[ends.from_px], strip.s_px[inside][::8], [ends.to_px]])
    # the photo room counts pixels from their corners, the seam from their middles
    at_px = np.column_stack([np.interp(u, strip.s_px, strip.at_px[:, axis]) for axis in (0, 1)]) + 0.5
    at_mm = camera.to_plane(at_px, 0.0)
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(at_mm, axis=0), axis=1))])
    if not 50.0 <= s[-1] <= 1500.0:
        raise Mistake(
            f"by the tags the joint is {s[-1]:.0f} mm long", where=picture.name, do="give its length"
        )
    along = np.gradient(at_mm, axis=0)
    square = np.column_stack([-along[:, 1], along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
    sides = [camera.to_px(at_mm + sign * _BETWEEN_MM * square, 0.0) for sign in (-1, 1)]
    across = np.linalg.norm(sides[1] - sides[0], axis=1) / (2 * _BETWEEN_MM)
    return u, s, np.asarray(across, dtype=np.float64)
