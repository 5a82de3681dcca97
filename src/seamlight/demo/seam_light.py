"""An invented joint held against a lamp, photographed and filmed: its gap is known to the last micron."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.demo.noise import cloud, stream
from seamlight.demo.seam_rays import FINER, blurred, gathered, spread, trace
from seamlight.demo.seam_sensor import Rgb, Tone, expose

Array = NDArray[np.float64]
F32 = NDArray[np.float32]

_STEP_MM = 0.1
_LAMP_COLOUR = np.array([1.0, 0.97, 0.9], np.float32)
_GLOW_COLOUR = np.array([1.0, 0.6, 0.35], np.float32)
_WOOD_COLOUR = np.array([0.55, 0.42, 0.28], np.float32)
_SKIN = np.array([0.4, 0.22, 0.16], np.float32)


@dataclass(frozen=True, eq=False)
class CandledJoint:
    """Two leaves edge to edge; `gap_mm` at even places from the neck end to the tail end."""

    gap_mm: Array
    length_mm: float = 550.0
    depth_mm: float = 4.0
    leaf_mm: float = 200.0  # each leaf's width
    reflectance: float = 0.35  # of the edges
    glow: float = 0.0  # light through the wood itself, as a share of the lamp's
    rings_mm: float = 1.3
    fingers_mm: tuple[tuple[float, float], ...] = ()  # stretches under a finger
    extra_at_mm: float | None = None  # a second seam of the same gap, that far across

    def gap_at(self, s_mm: Array) -> Array:
        """(n,) the gap at places along the joint."""
        return np.interp(s_mm, np.linspace(0, self.length_mm, len(self.gap_mm)), self.gap_mm)


@dataclass(frozen=True)
class Candling:
    """How the picture is taken."""

    px_per_mm: float = 5.0
    distance_mm: float = 400.0
    lens_mm: float = 3.0
    off_plane_mm: float = 0.0
    slant_deg: float = 0.0
    turned: bool = False  # the neck end at the right
    across_mm: float = 60.0  # of the picture, square to the seam
    beyond_mm: float = 22.0  # seen beyond each end of the joint
    lamp_beyond: bool = True  # and the lamp shines there
    lamp_level: float = 0.75  # 1 is just clipped
    uneven: float = 0.0  # how much the lamp's brightness changes over the joint
    vignette: float = 0.0  # darker by that share at the picture's far ends
    ambient: float = 0.004
    blur_px: float = 0.8
    halo: float = 0.05
    noise: float = 1.0
    tone: Tone = "srgb"
    jpeg: int | None = 93
    bulb_at_mm: tuple[float, float] | None = None  # a bare bulb in the picture, along and across


@dataclass(frozen=True, eq=False)
class LightShot:
    """A picture and its truth; the neck end first."""

    rgb: Rgb
    ends_px: tuple[tuple[float, float], tuple[float, float]]
    joint: CandledJoint
    candling: Candling


def photograph_joint(joint: CandledJoint, candling: Candling, seed: int) -> LightShot:
    """The closed joint against the lamp."""
    scene = _Scene(joint, candling, seed)
    dice = stream(seed, "joint", round(candling.off_plane_mm * 1000))
    wood = scene.wood()
    lamp = scene.lamp()
    # the light between the edges replaces the dark (or the glow) of wood where it falls
    face = blurred(scene.face(lamp), candling.blur_px, candling.halo)
    base = lamp * (1 - wood)[..., None] + face * wood[..., None]
    slit = scene.slit(dice, 0.0)
    if joint.extra_at_mm is not None:
        slit += scene.slit(dice, joint.extra_at_mm)
    picture = base + slit[..., None] * lamp
    picture = scene.fingers(picture)
    if candling.bulb_at_mm is not None:
        picture = scene.bulb(picture, candling.bulb_at_mm)
    rgb = expose(picture, candling.tone, candling.noise, candling.jpeg, dice)
    return LightShot(rgb, scene.ends(), joint, candling)


def photograph_lamp(joint: CandledJoint, candling: Candling, seed: int) -> Rgb:
    """The lamp from the same place with the joint taken away."""
    scene = _Scene(joint, candling, seed)
    return expose(scene.lamp(), candling.tone, candling.noise, candling.jpeg, stream(seed, "lamp alone"))


def film_joint(
    joint: CandledJoint, candling: Candling, seed: int, off_plane_mm: Sequence[float]
) -> list[Rgb]:
    """Frames of a film in which the phone swings through the plane of the joint, not quite steady."""
    frames = []
    dice = stream(seed, "film")
    for off in off_plane_mm:
        slant = candling.slant_deg + float(dice.uniform(-0.3, 0.3))
        one = replace(candling, off_plane_mm=float(off), slant_deg=slant)
        frames.append(photograph_joint(joint, one, seed).rgb)
    high, wide = (min(f.shape[axis] for f in frames) // 2 * 2 for axis in (0, 1))
    return [_middle(f, high, wide) for f in frames]


def write_film(path: Path, frames: Sequence[Rgb], fps: int = 10, quality: int = 16) -> None:
    """Frames as H.264 in an MP4 or MOV file."""
    with av.open(str(path), "w") as film:
        stream_ = film.add_stream("libx264", rate=Fraction(fps), options={"crf": str(quality)})
        stream_.height, stream_.width = frames[0].shape[:2]
        stream_.pix_fmt = "yuv420p"
        for rgb in frames:
            film.mux(stream_.encode(av.VideoFrame.from_ndarray(rgb, format="rgb24")))
        film.mux(stream_.encode())


class _Scene:
    """The picture plane: where each pixel lies along and across the joint, mm."""

    def __init__(self, joint: CandledJoint, candling: Candling, seed: int) -> None:
        self.joint, self.view, self.seed = joint, candling, seed
        angle = np.radians(candling.slant_deg + (180.0 if candling.turned else 0.0))
        self.along = np.array([np.cos(angle), np.sin(angle)])
        self.square = np.array([-np.sin(angle), np.cos(angle)])
        half = np.array([joint.length_mm / 2 + candling.beyond_mm, candling.across_mm / 2])
        corners = np.abs(np.outer(half[:1], np.abs(self.along)) + np.outer(half[1:], np.abs(self.square)))[0]
        wide, high = np.ceil(2 * corners * candling.px_per_mm).astype(int)
        self.shape = (int(high), int(wide))
        self.centre = np.array([(wide - 1) / 2, (high - 1) / 2])
        x = np.arange(wide, dtype=np.float32)[None, :] - np.float32(self.centre[0])
        y = np.arange(high, dtype=np.float32)[:, None] - np.float32(self.centre[1])
        scale = np.float32(1 / candling.px_per_mm)
        (ax, ay), (sx, sy) = self.along.astype(np.float32), self.square.astype(np.float32)
        self.s = (x * ax + y * ay) * scale + np.float32(joint.length_mm / 2)
        self.x = (x * sx + y * sy) * scale

    def to_px(self, s_mm: Array, x_mm: Array) -> Array:
        """(n, 2) places in the picture."""
        middle = s_mm - self.joint.length_mm / 2
        offset = middle[:, None] * self.along + x_mm[:, None] * self.square
        return np.asarray(self.centre + offset * self.view.px_per_mm)

    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """The joint's neck and tail end in the picture."""
        neck, tail = self.to_px(np.array([0.0, self.joint.length_mm]), np.zeros(2))
        return (float(neck[0]), float(neck[1])), (float(tail[0]), float(tail[1]))

    def lamp(self) -> F32:
        """(h, w, 3) what the lamp alone sends, vignetting and all."""
        along = (self.s - self.joint.length_mm / 2) / self.joint.length_mm  # -0.5..0.5 over the joint
        dice = stream(self.seed, "lamp")
        lean, bow, turn = dice.uniform(-0.5, 0.5, 3)
        shape = lean * 2 * along + bow * (1 - 8 * along**2) * 0.5 + 0.5 * np.sin(5 * along + 6 * turn)
        bright = self.view.lamp_level * (1 + self.view.uneven * shape)
        bright = bright * (1 - self.view.vignette * (2 * along) ** 2 * 0.8)
        return np.asarray(bright[..., None] * _LAMP_COLOUR, dtype=np.float32)

    def wood(self) -> F32:
        """(h, w) how much of each pixel is leaf, through the lens."""
        view = self.view
        leaf = blurred(self._leaf(self.s, self.x, 1), view.blur_px, view.halo)
        if not view.lamp_beyond:
            return leaf
        # the ends on a finer grid: from whole pixels a blurred edge would come out in steps
        for end in (0.0, self.joint.length_mm):
            rows, cols = np.nonzero(np.abs(self.s - end) * view.px_per_mm < 14.0)
            if len(rows) > 0:
                box = slice(rows.min(), rows.max() + 1), slice(cols.min(), cols.max() + 1)
                leaf[box] = self._finer(box)
        return leaf

    def _finer(self, box: tuple[slice, slice]) -> F32:
        """Some rows and columns of how much of each pixel is leaf, from many small parts of each."""
        pad = int(np.ceil(9 * self.view.blur_px)) + 2
        y, x = (
            part.start - pad - 0.5 + (np.arange((part.stop - part.start + 2 * pad) * FINER) + 0.5) / FINER
            for part in box
        )
        x, y = (x - self.centre[0]) / self.view.px_per_mm, (y - self.centre[1]) / self.view.px_per_mm
        s = np.add.outer(y * self.along[1], x * self.along[0]) + self.joint.length_mm / 2
        across = np.add.outer(y * self.square[1], x * self.square[0])
        seen = gathered(self._leaf(s, across, FINER), self.view.blur_px, self.view.halo)
        return seen[pad:-pad, pad:-pad]

    def _leaf(self, s_mm: F32 | Array, x_mm: F32 | Array, finer: int) -> F32:
        """(h, w) how much of each of some finer pixels is leaf."""
        scale = self.view.px_per_mm * finer
        ends = np.minimum(s_mm, self.joint.length_mm - s_mm) * scale
        sides = (self.joint.leaf_mm - np.abs(x_mm)) * scale
        leaf = np.clip(ends + 0.5, 0, 1) * np.clip(sides + 0.5, 0, 1)
        return np.asarray(leaf if self.view.lamp_beyond else np.ones(leaf.shape), dtype=np.float32)

    def face(self, lamp: F32) -> F32:
        """(h, w, 3) the leaves' faces: a little room light, and the lamp's light through the wood."""
        dice = stream(self.seed, "wood")
        rings = 0.5 + 0.5 * np.sin(2 * np.pi * self.x / self.joint.rings_mm + 3 * np.sin(self.x / 11.0))
        grain = cloud(dice, *self.shape, 4.0, 120.0) * 0.06
        room = self.view.ambient * (0.8 + 0.4 * rings + grain)
        edge = 0.3 * np.exp(-np.abs(self.x) / 1.5)  # edges lit from inside
        glow = self.joint.glow * (0.85 + 0.25 * rings + grain + edge)
        return np.asarray(
            room[..., None] * _WOOD_COLOUR * 2 + glow[..., None] * _GLOW_COLOUR * lamp, dtype=np.float32
        )

    def slit(self, dice: np.random.Generator, across_mm: float) -> F32:
        """(h, w) the light between the edges, as a share of bare lamp in each pixel."""
        joint, view = self.joint, self.view
        s = np.arange(_STEP_MM / 2, joint.length_mm, _STEP_MM)
        x, light = trace(
            joint.gap_at(s), joint.depth_mm, view.distance_mm, view.lens_mm, view.off_plane_mm,
            joint.reflectance, dice,
        )  # fmt: skip
        some = light.ravel() > 0
        at = self.to_px(np.repeat(s, x.shape[1]), x.ravel() + across_mm)[some]
        share = light.ravel()[some] * _STEP_MM * view.px_per_mm**2
        return spread(self.shape, at, share, view.blur_px, view.halo)

    def fingers(self, picture: F32) -> F32:
        """Fingers laid over the seam from one side."""
        cover = np.zeros(self.shape, np.float32)
        for start, stop in self.joint.fingers_mm:
            half = (stop - start) / 2
            beside = np.abs(self.s - (start + stop) / 2)
            tip = np.hypot(beside, np.maximum(self.x - 4.0, 0.0))
            cover = np.maximum(cover, np.clip((half - tip) * self.view.px_per_mm + 0.5, 0, 1))
        if not cover.any():
            return picture
        cover = np.asarray(cv2.GaussianBlur(cover, (0, 0), 2 * self.view.blur_px), dtype=np.float32)
        skin = 2.0 * self.view.ambient * _SKIN
        return np.asarray(picture * (1 - cover[..., None]) + skin * cover[..., None], dtype=np.float32)

    def bulb(self, picture: F32, at_mm: tuple[float, float]) -> F32:
        """A bare bulb before the wood, its glare over everything."""
        away = np.hypot(self.s - at_mm[0], self.x - at_mm[1])
        glare = 3.0 / (1 + np.exp(np.minimum((away - 14.0) / 1.5, 50.0))) + 1.2 * np.exp(-away / 18.0)
        return np.asarray(picture + glare[..., None] * _LAMP_COLOUR, dtype=np.float32)


def _middle(picture: Rgb, high: int, wide: int) -> Rgb:
    top, left = (picture.shape[0] - high) // 2, (picture.shape[1] - wide) // 2
    return np.ascontiguousarray(picture[top : top + high, left : left + wide])
