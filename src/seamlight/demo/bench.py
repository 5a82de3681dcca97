"""The bench, the light on it, and what lies on it: drawing them through the phone's lens."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.demo.cover import coverage
from seamlight.demo.lens import Phone
from seamlight.demo.noise import F32, cloud, tile
from seamlight.mistake import Mistake
from seamlight.photo.flat import Points, Rgb

Array = NDArray[np.float64]
Window = tuple[int, int, int, int]

BENCHES: dict[str, tuple[int, int, int]] = {
    "dark": (46, 43, 42),
    "black": (24, 24, 26),
    "light": (214, 208, 198),
    "white": (236, 236, 233),
    "grey": (128, 128, 126),
    "green": (52, 92, 74),
    "blue": (58, 84, 122),
}
LAMPS: dict[str, tuple[tuple[float, float, float], float]] = {  # tint, fall-off over the picture
    "daylight": ((1.0, 1.0, 1.0), 0.14),
    "window": ((0.95, 0.99, 1.05), 0.30),
    "lamp": ((1.06, 0.98, 0.82), 0.34),
    "even": ((1.0, 1.0, 1.0), 0.0),
}


@dataclass(frozen=True, eq=False)
class Lying:
    """A flat thing on the bench: its picture, its outline, how it is placed and how high its face lies.

    `to_bench` carries its own mm (x right, y down) to bench mm: q = turn @ p + shift.
    """

    rgb: Rgb  # gone on beyond the outline
    px_per_mm: float
    outline_mm: Points
    holes_mm: tuple[Points, ...]
    turn: Array  # (2, 2)
    shift_mm: Array  # (2,)
    lift_mm: float
    side_shade: float = 0.6  # brightness of its edges against its face

    def to_bench(self, points_mm: Points) -> Points:
        return np.asarray(points_mm, dtype=np.float64) @ self.turn.T + self.shift_mm

    def from_bench(self, points_mm: Points) -> Points:
        return (np.asarray(points_mm, dtype=np.float64) - self.shift_mm) @ np.linalg.inv(self.turn).T


def bench_colour(bench: str | tuple[int, int, int]) -> tuple[int, int, int]:
    """The colour of a bench by name or as given; Mistake for an unknown name."""
    if not isinstance(bench, str):
        return bench
    if bench not in BENCHES:
        raise Mistake(f"no bench is {bench!r}", where="bench", do="use one of " + ", ".join(BENCHES))
    return BENCHES[bench]


def bare_bench(phone: Phone, dice: np.random.Generator, colour: tuple[int, int, int]) -> Rgb:
    """(rows, cols, 3) of the empty bench with a faint texture."""
    rows, cols = phone.rows, phone.cols
    small = cloud(dice, rows // 8 + 1, cols // 8 + 1, 40, 40) * 0.6
    small = small + 0.8 * tile(dice, rows // 8 + 1, cols // 8 + 1, 0.5, 3.0)
    strength = 1.0 + 0.012 * max(colour)
    big = cv2.resize(
        np.asarray(small * strength, dtype=np.float32), (cols, rows), interpolation=cv2.INTER_LINEAR
    )
    gray = cv2.convertScaleAbs(big + np.float32(40.0))
    channels = [cv2.convertScaleAbs(gray, alpha=1.0, beta=float(ink - 40)) for ink in colour]
    return np.asarray(cv2.merge(channels), dtype=np.uint8)


def shade(picture: Rgb, phone: Phone, things: list[Lying], reach_mm: float, depth: float) -> None:
    """Soft shadows of the lifted things on the bench, in place; at a sixteenth of the size, then enlarged."""
    part = 8
    veil = np.zeros((phone.rows // part + 1, phone.cols // part + 1), dtype=np.uint8)
    for thing in things:
        if thing.lift_mm <= 0:
            continue
        moved = thing.to_bench(thing.outline_mm) + np.array([0.7, 0.5]) * min(reach_mm, 1.4 * thing.lift_mm)
        px = np.round(phone.to_px(moved) / part * 16).astype(np.int32)
        cv2.fillPoly(veil, [px], 255, cv2.LINE_AA, 4)
    if not veil.any():
        return
    spread = 2.2 * phone.focal_px / abs(float(phone.eye_mm[2])) / part
    veil = np.asarray(cv2.GaussianBlur(veil, (0, 0), max(spread, 0.8)), dtype=np.uint8)
    big = cv2.resize(veil, (phone.cols, phone.rows), interpolation=cv2.INTER_LINEAR)
    factor = cv2.convertScaleAbs(big, alpha=-depth, beta=255.0)
    cv2.multiply(picture, cv2.merge([factor] * 3), dst=picture, scale=1 / 255.0)


def lay(picture: Rgb, phone: Phone, thing: Lying) -> None:
    """Draw a thing into the picture, its edges first where it is lifted, in place."""
    if thing.lift_mm > 0:
        _edges(picture, phone, thing)
    window = _window(phone, phone.to_px(thing.to_bench(thing.outline_mm), thing.lift_mm))
    if window is None:
        return
    x0, y0, x1, y1 = window
    bench_x, bench_y = phone.plane_map(window, thing.lift_mm)
    scale = np.float32(thing.px_per_mm)
    off_x, off_y = bench_x - np.float32(thing.shift_mm[0]), bench_y - np.float32(thing.shift_mm[1])
    (a, b), (c, d) = np.linalg.inv(thing.turn).astype(np.float32)
    map_x = (a * off_x + b * off_y) * scale - np.float32(0.5)
    map_y = (c * off_x + d * off_y) * scale - np.float32(0.5)
    ink = cv2.remap(_softened(thing, phone), map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    outlines = [
        phone.to_px(thing.to_bench(_finely(line)), thing.lift_mm) - [x0, y0]
        for line in (thing.outline_mm, *thing.holes_mm)
    ]
    _paste(picture[y0:y1, x0:x1], np.asarray(ink, dtype=np.uint8), coverage(outlines, y1 - y0, x1 - x0))


def _paste(place: Rgb, ink: Rgb, share: NDArray[np.uint8]) -> None:
    """Lay `ink` (a picture or a colour) over a part of the picture where `share` (0..255) says, in place."""
    full, rim = share == 255, (share > 0) & (share < 255)
    spread = np.broadcast_to(ink, place.shape)
    place[full] = spread[full]
    part = share[rim].astype(np.float32)[:, None] / 255.0
    place[rim] = (spread[rim] * part + place[rim] * (1.0 - part) + 0.5).astype(np.uint8)


def _finely(outline_mm: Points) -> Points:
    """The outline with points at most 20 mm apart, so that the lens may bend it."""
    after = np.roll(outline_mm, -1, axis=0)
    parts = []
    for start, end in zip(outline_mm, after, strict=True):
        steps = int(np.hypot(*(end - start)) / 20.0) + 1
        parts.append(start + np.linspace(0, 1, steps, endpoint=False)[:, None] * (end - start))
    return np.vstack(parts)


def _softened(thing: Lying, phone: Phone) -> Rgb:
    """The thing's picture blurred so that making it smaller does not alias."""
    shrink = thing.px_per_mm * abs(float(phone.eye_mm[2])) / phone.focal_px
    if shrink < 1.25:
        return thing.rgb
    return np.asarray(
        cv2.GaussianBlur(thing.rgb, (0, 0), 0.42 * float(np.sqrt(shrink**2 - 1))), dtype=np.uint8
    )


def _edges(picture: Rgb, phone: Phone, thing: Lying) -> None:
    """The sides of a lifted thing that the camera sees: its outline and holes swept from bench to face."""
    rings = [thing.to_bench(_finely(line)) for line in (thing.outline_mm, *thing.holes_mm)]
    lower, upper = [phone.to_px(r) for r in rings], [phone.to_px(r, thing.lift_mm) for r in rings]
    window = _window(phone, np.vstack([lower[0], upper[0]]))
    if window is None:
        return
    x0, y0, x1, y1 = window
    levels = int(np.clip(np.ceil(np.abs(upper[0] - lower[0]).max()), 1, 8))
    share = np.zeros((y1 - y0, x1 - x0), dtype=np.uint8)
    for level in range(levels):
        swept = [
            low + (high - low) * level / levels - [x0, y0] for low, high in zip(lower, upper, strict=True)
        ]
        share = np.maximum(share, coverage(swept, y1 - y0, x1 - x0))
    ink = np.asarray(thing.rgb[::40, ::40].reshape(-1, 3).mean(axis=0) * thing.side_shade, dtype=np.uint8)
    _paste(picture[y0:y1, x0:x1], ink, share)


def _window(phone: Phone, px: Points) -> Window | None:
    low = np.maximum(np.floor(px.min(axis=0)).astype(int) - 3, 0)
    high = np.minimum(np.ceil(px.max(axis=0)).astype(int) + 3, [phone.cols, phone.rows])
    return None if (high <= low).any() else (int(low[0]), int(low[1]), int(high[0]), int(high[1]))


def light_up(picture: Rgb, dice: np.random.Generator, lamp: str, exposure: float) -> Rgb:
    """The lamp's tint and fall-off, and the lens's own darker corners."""
    if lamp not in LAMPS:
        raise Mistake(f"no lamp is {lamp!r}", where="lamp", do="use one of " + ", ".join(LAMPS))
    tint, fall = LAMPS[lamp]
    rows, cols = picture.shape[:2]
    y, x = np.mgrid[-1:1:48j, -1:1:48j]
    way = float(dice.uniform(0, 2 * np.pi))
    level = 1.0 - fall * (0.5 + 0.35 * (np.cos(way) * x + np.sin(way) * y)) + 0.35 * fall
    level = exposure * level * (1.0 - 0.05 * (x**2 + y**2))
    channels = []
    for channel, colour in zip(cv2.split(picture), tint, strict=True):
        factor: F32 = np.asarray(
            cv2.resize(
                (128.0 * colour * level).astype(np.float32), (cols, rows), interpolation=cv2.INTER_LINEAR
            ),
            dtype=np.float32,
        )
        channels.append(cv2.multiply(channel, cv2.convertScaleAbs(factor), scale=1 / 128.0))
    return np.asarray(cv2.merge(channels), dtype=np.uint8)


def sensor(picture: Rgb, dice: np.random.Generator, noise: float, blur_px: float) -> Rgb:
    """Softness of the lens, then noise that repeats only after a thousand pixels."""
    if blur_px > 0.2:
        picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), blur_px), dtype=np.uint8)
    if noise <= 0:
        return picture
    rows, cols = picture.shape[:2]
    grit = np.clip(128 + noise * dice.standard_normal((1021, 1021, 3), dtype=np.float32), 0, 255)
    grit = np.round(grit).astype(np.uint8)
    across = np.tile(grit, (-(-rows // 1021), -(-cols // 1021), 1))[:rows, :cols]
    return np.asarray(cv2.addWeighted(picture, 1.0, across, 1.0, -128.0), dtype=np.uint8)
