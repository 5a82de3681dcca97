"""Painting flaws over a face: knots with their own rings, resin, stain, cracks, bark."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.demo.knots import Knot
from seamlight.demo.leaf import SawnLeaf, Side
from seamlight.demo.noise import F32, stream, tile
from seamlight.demo.trace import (
    check_outline,
    knot_outline,
    pocket_outline,
    stain_outline,
    wane_outline,
)
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Window = tuple[slice, slice]


def paint_flaws(leaf: SawnLeaf, side: Side, planes: list[F32], px_per_mm: float, outline: Points) -> None:
    """Paint every flaw of the leaf into the three colour planes, in place."""
    for i in range(len(leaf.log.stains)):
        _stain(leaf, side, i, planes, px_per_mm)
    for i in range(len(leaf.log.knots)):
        _knot(leaf, side, i, planes, px_per_mm)
    for i in range(len(leaf.log.pockets)):
        _pocket(leaf, side, i, planes, px_per_mm)
    for i in range(len(leaf.checks)):
        _dark_line(check_outline(leaf, side, i), planes, px_per_mm)
    _wane(leaf, side, planes, px_per_mm)


def _window(points: Points, margin_mm: float, shape: tuple[int, int], px_per_mm: float) -> Window | None:
    low = np.floor((points.min(axis=0) - margin_mm) * px_per_mm).astype(int)
    high = np.ceil((points.max(axis=0) + margin_mm) * px_per_mm).astype(int)
    x0, y0 = max(low[0], 0), max(low[1], 0)
    x1, y1 = min(high[0], shape[1]), min(high[1], shape[0])
    return None if x1 <= x0 or y1 <= y0 else (slice(y0, y1), slice(x0, x1))


def _grid(window: Window, px_per_mm: float) -> tuple[Array, Array]:
    x = (np.arange(window[1].start, window[1].stop) + 0.5) / px_per_mm
    y = (np.arange(window[0].start, window[0].stop) + 0.5) / px_per_mm
    across, along = np.meshgrid(x, y)
    return across, along


def _blend(planes: list[F32], window: Window, share: Array, colour: tuple[Array | float, ...]) -> None:
    amount = np.asarray(share, dtype=np.float32)
    for plane, ink in zip(planes, colour, strict=True):
        plane[window] += amount * (np.asarray(ink, dtype=np.float32) - plane[window])


def _grit(dice: np.random.Generator, like: Array, blur_rows: float, blur_cols: float) -> Array:
    return tile(dice, like.shape[0], like.shape[1], blur_rows, blur_cols).astype(np.float64)


def _knot(leaf: SawnLeaf, side: Side, index: int, planes: list[F32], px_per_mm: float) -> None:
    knot = leaf.log.knots[index]
    outline = knot_outline(leaf, side, index)
    if outline is None or knot.kind == "fallen":
        return
    window = _window(outline, 2.5 * knot.radius_mm, planes[0].shape, px_per_mm)
    if window is None:
        return
    points = leaf.log_points(side, *_grid(window, px_per_mm))
    out, turn, _ = knot.polar(*points)
    soft = 1.2 / (px_per_mm * knot.radius_mm)
    inside = np.clip((1.0 - out) / soft + 0.5, 0.0, 1.0)
    halo = np.exp(-(np.clip(out - 1.0, 0, None) ** 2) / 0.18) * (1 - inside)
    dead = knot.kind != "live"
    body = np.array(leaf.log.wood.knot) * (0.72 if dead else 1.12)
    ground = np.array([float(plane[window].mean()) for plane in planes])
    _blend(planes, window, halo * (0.30 if dead else 0.42), tuple(0.55 * ground + 0.45 * body))
    dice = stream(knot.seed, leaf.name, side)
    rings = 0.5 + 0.5 * np.sin(out * knot.radius_mm * 2 * np.pi / 0.9 + 1.5 * np.sin(turn + knot.seed % 7))
    light = 0.86 + 0.16 * rings + 0.05 * _grit(dice, out, 1.2, 1.2) + 0.25 * np.clip(0.5 - out, 0, 1)
    if dead:
        light *= 1.0 - 0.55 * np.exp(-(((out - 0.95) / 0.09) ** 2))
    else:
        light *= 1.0 - 0.22 * np.exp(-(((out - 0.97) / 0.12) ** 2))
    if knot.kind == "cracked":
        light *= 1.0 - 0.8 * _star(knot, out, turn, px_per_mm)
    _blend(planes, window, inside * (0.95 if dead else 0.85), tuple(ink * light for ink in body))


def _star(knot: Knot, out: Array, turn: Array, px_per_mm: float) -> Array:
    """Cracks from the heart of a knot."""
    dice = stream(knot.seed, "star")
    ink = np.zeros_like(out)
    for way in dice.uniform(0, 2 * np.pi, 4):
        off = np.abs(np.angle(np.exp(1j * (turn - way + 0.25 * np.sin(6 * out)))))
        half = (0.22 + 0.1 * dice.uniform()) * (1.05 - out)
        gap = off * out * knot.radius_mm
        ink = np.maximum(
            ink, np.clip((half * min(knot.radius_mm / 3, 1.5) - gap) * px_per_mm + 0.5, 0, 1) * (out < 1.0)
        )
    return ink


def _pocket(leaf: SawnLeaf, side: Side, index: int, planes: list[F32], px_per_mm: float) -> None:
    outline = pocket_outline(leaf, side, index)
    if outline is None:
        return
    window = _window(outline, 3.0, planes[0].shape, px_per_mm)
    if window is None:
        return
    pocket = leaf.log.pockets[index]
    u, v, z = leaf.log_points(side, *_grid(window, px_per_mm))
    inside = pocket.inside(leaf.log.radius(u, v, z), v, z)
    soft = 1.0 / (px_per_mm * pocket.half_width_mm)
    share = np.clip((1.0 - inside) / soft + 0.5, 0.0, 1.0)
    _blend(planes, window, 0.35 * np.exp(-np.clip(inside - 1, 0, None) * 1.2), (176.0, 120.0, 66.0))
    dice = stream(leaf.seed, "resin", index)
    light = 0.82 + 0.25 * np.clip(1 - inside, 0, 1) + 0.08 * _grit(dice, share, 1.5, 1.0)
    _blend(planes, window, 0.92 * share, (168 * light, 104 * light, 46 * light))
    glint = np.clip(_grit(dice, share, 2.0, 0.8) - 1.6, 0, 1) * share
    _blend(planes, window, 0.7 * glint, (250.0, 236.0, 200.0))


def _stain(leaf: SawnLeaf, side: Side, index: int, planes: list[F32], px_per_mm: float) -> None:
    outline = stain_outline(leaf, side, index)
    if outline is None:
        return
    window = _window(outline, 6.0, planes[0].shape, px_per_mm)
    if window is None:
        return
    inside = leaf.log.stains[index].inside(*leaf.log_points(side, *_grid(window, px_per_mm)))
    dice = stream(leaf.log.seed, "stained", index)
    streaky = 1.0 + 0.18 * _grit(dice, inside, 12.0, 1.0)
    share = 0.5 * streaky / (1.0 + np.exp((inside - 1.0) * 14.0))
    softwood = leaf.log.wood.pores == 0
    _blend(planes, window, np.clip(share, 0, 0.8), (96.0, 98.0, 108.0) if softwood else (66.0, 52.0, 44.0))


def _dark_line(outline: Points, planes: list[F32], px_per_mm: float) -> None:
    """A crack: a dark gap with a lit edge."""
    window = _window(outline, 2.0, planes[0].shape, px_per_mm)
    if window is None:
        return
    cover = np.zeros((window[0].stop - window[0].start, window[1].stop - window[1].start), dtype=np.uint8)
    corner = np.array([window[1].start, window[0].start])
    px = np.round((outline * px_per_mm - 0.5 - corner) * 64).astype(np.int32)
    cv2.fillPoly(cover, [px], 255, cv2.LINE_AA, 6)
    share = cover.astype(np.float64) / 255.0
    lit = np.clip(np.roll(share, max(1, int(0.3 * px_per_mm)), axis=1) - share, 0, 1)
    _blend(planes, window, 0.25 * lit, (240.0, 222.0, 190.0))
    _blend(planes, window, 0.92 * share, (34.0, 24.0, 18.0))


def _wane(leaf: SawnLeaf, side: Side, planes: list[F32], px_per_mm: float) -> None:
    """Bark where the face runs out of the log: darker, furrowed, falling away from the light."""
    outline = wane_outline(leaf, side)
    if outline is None:
        return
    window = _window(outline, 2.0, planes[0].shape, px_per_mm)
    if window is None:
        return
    u, v, z = leaf.log_points(side, *_grid(window, px_per_mm))
    beyond = leaf.log.clear_radius(u, v, z) - leaf.log.bark(z)
    share = np.clip(beyond * px_per_mm + 0.5, 0.0, 1.0)
    dice = stream(leaf.seed, "bark", leaf.name, side)
    rough = 0.8 + 0.16 * _grit(dice, share, 3.0 * px_per_mm, 0.35 * px_per_mm)
    rough = rough + 0.08 * _grit(dice, share, 1.0, 1.0)
    light = np.clip(rough * (1.0 - 0.05 * np.clip(beyond, 0, 9)), 0.2, 1.4)
    light = np.where(beyond < 0.8, light * (1.25 - 0.4 * np.clip(beyond, 0, 0.8)), light)
    _blend(planes, window, share, tuple(ink * light for ink in leaf.log.wood.bark))
