"""One picture of the joint: its seam found, cut out and measured in the seam frame."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from seamlight.mistake import Mistake
from seamlight.photo import Picture
from seamlight.seam.clicks import neck_of
from seamlight.seam.light_checks import check_covered, check_exposed, check_lamp, lamp_beyond
from seamlight.seam.light_closed import dark_joint
from seamlight.seam.light_edge import Edge, leaf_ends
from seamlight.seam.light_ends import Ends, NeckAt, Points, find_ends
from seamlight.seam.light_find import Line, find_line
from seamlight.seam.light_follow import Strip, follow
from seamlight.seam.light_measure import Cut, grid_mm, noise_of, on_grid, seen_px
from seamlight.seam.light_scale import Known, cut_known
from seamlight.seam.tone_curve import Rgb, Tone, clipped, srgb_light

Floats = NDArray[np.float64]

EVEN_MM = 1.5  # spread of the smoothing along the joint
_LAMP_SPREAD_PX = 9.0


@dataclass(frozen=True, eq=False)
class View:
    """One picture's joint."""

    cut: Cut
    ends: Ends
    edges: list[Edge]  # the leaves' ends against the lamp
    beyond: tuple[float | None, float | None]  # the lamp's light there, neck end first
    lamp: Floats | None  # (n,) sRGB light of the bare lamp along the joint
    shows: bool  # a line of light was found
    rgb: Rgb
    name: str

    def seen_mm(self, tone: Tone, edge_glow_px: float = 0.0) -> Floats:
        """(m,) width of bare lamp that would send as much light, on the grid, evened over a few mm."""
        full = np.ones(len(self.cut.s_mm)) if self.lamp is None else tone.light_of(self.lamp)
        seen = seen_px(self.cut, tone, edge_glow_px) / full / self.cut.px_per_mm
        length = self.cut.length_mm
        step = length / len(grid_mm(length))
        even = gaussian_filter1d(on_grid(self.cut.s_mm, seen, length), EVEN_MM / step, mode="nearest")
        return np.asarray(even, dtype=np.float64)


def view(
    picture: Picture, known: Known, lamp: Picture | None, neck_at: NeckAt, clicks: Points | None
) -> View:
    """Find, follow and cut the joint of one picture.

    Args:
        neck_at: where the neck end is; `clicks` (neck end first) say so themselves.

    Raises:
        Mistake: no seam or two, an end outside the picture, overexposed, dazzled, or covered.
    """
    light = srgb_light(picture.rgb)
    check_lamp(light, picture.rgb, picture.name)
    if clicks is not None:
        neck_at = neck_of(clicks)
        first, last = sorted(clicks, key=lambda p: p[0] + p[1])
        marked = _seen_on(picture, light, Line(first, last, 0.0, 0.0), True, known, lamp, neck_at, clicks)
        if _stands_out(marked.seen_mm(Tone())):
            return marked
        # no light between the two places: only the lamp beyond both ends can prove a closed joint
        line, shows = dark_joint(light, picture.name), False
    else:
        line, shows = _line(light, picture)
    return _seen_on(picture, light, line, shows, known, lamp, neck_at, None)


def _seen_on(
    picture: Picture,
    light: NDArray[np.float32],
    line: Line,
    shows: bool,
    known: Known,
    lamp: Picture | None,
    neck_at: NeckAt,
    clicks: Points | None,
) -> View:
    """The joint along a line."""
    strip = follow(light, picture.rgb, line, picture.name)
    lit = (_along(strip, line.from_px), _along(strip, line.to_px)) if shows else None
    ends = find_ends(strip, lit, picture.name, clicks)
    neck_last = neck_at in ("right", "bottom")
    cut = cut_known(strip, ends, known, picture, neck_last)
    check_exposed(cut, picture.name)
    beyond = lamp_beyond(ends)[::-1] if neck_last else lamp_beyond(ends)
    bare = _lamp_along(lamp, picture, cut, strip, ends) if lamp is not None else _between(beyond, cut)
    found = View(cut, ends, leaf_ends(strip, ends), beyond, bare, shows, picture.rgb, picture.name)
    check_covered(grid_mm(cut.length_mm), found.seen_mm(Tone()), picture.name)
    return found


def _line(light: NDArray[np.float32], picture: Picture) -> tuple[Line, bool]:
    """Where the joint is, and whether light shows there."""
    line = find_line(light, picture.name)
    if line is not None:
        return line, True
    return dark_joint(light, picture.name), False


def _stands_out(seen_mm: Floats) -> bool:
    """Whether a line of light is there at all: more than the picture's noise and some microns."""
    return float(np.quantile(seen_mm, 0.9)) > max(0.002, 5 * noise_of(seen_mm))


def _along(strip: Strip, at_px: tuple[float, float]) -> float:
    return float(strip.s_px[np.argmin(np.linalg.norm(strip.at_px - np.array(at_px), axis=1))])


def _between(beyond: tuple[float | None, float | None], cut: Cut) -> Floats | None:
    """The lamp as seen beyond both ends, straight in between."""
    if beyond[0] is None or beyond[1] is None:
        return None
    return np.asarray(np.interp(cut.s_mm, [0.0, cut.length_mm], [beyond[0], beyond[1]]), dtype=np.float64)


def _lamp_along(lamp: Picture, picture: Picture, cut: Cut, strip: Strip, ends: Ends) -> Floats:
    """The lamp's own picture where the joint was.

    Raises:
        Mistake: it has another size, is cut off at white, or was exposed otherwise.
    """
    if lamp.rgb.shape != picture.rgb.shape:
        raise Mistake(
            "the lamp's picture has another size than the joint's",
            where=lamp.name,
            do="take it from the same place with the same phone, the joint taken away",
        )
    light = np.asarray(cv2.GaussianBlur(srgb_light(lamp.rgb), (0, 0), _LAMP_SPREAD_PX), dtype=np.float32)
    over = clipped(lamp.rgb)
    at = np.rint(cut.at_px).astype(int)
    at = np.clip(at, 0, np.array(light.shape)[::-1] - 1)
    if over[at[:, 1], at[:, 0]].mean() > 0.02:
        raise Mistake(
            "the lamp's picture is overexposed",
            where=lamp.name,
            do="lock the exposure on the bare lamp, darker",
        )
    along = np.asarray(light[at[:, 1], at[:, 0]], dtype=np.float64)
    if float(np.median(along)) < 0.02:
        raise Mistake("the lamp's picture shows no lamp", where=lamp.name, do="take it with the joint away")
    _check_lamp_exposure(light, strip, ends, lamp.name, picture.name)
    return along


def _check_lamp_exposure(
    light: NDArray[np.float32], strip: Strip, ends: Ends, lamp_name: str, name: str
) -> None:
    """Beyond the joint's ends both pictures show the same lamp."""
    outside = (strip.s_px < ends.from_px - 25) | (strip.s_px > ends.to_px + 25)
    at = np.rint(strip.at_px[outside]).astype(int)
    seen = strip.flank[outside]
    bare = light[at[:, 1].clip(0, light.shape[0] - 1), at[:, 0].clip(0, light.shape[1] - 1)]
    use = (seen > 0.05) & (seen < 0.94) & (bare < 0.94)
    if "lamp" not in ends.by or np.count_nonzero(use) < 10:
        return
    ratio = float(np.median(bare[use] / seen[use]))
    if max(ratio, 1 / max(ratio, 1e-6)) > 1.10:
        raise Mistake(
            f"the exposure changed between {name} and {lamp_name}",
            do="lock exposure and white balance on the phone, then take all of them",
        )
