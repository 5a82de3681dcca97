"""Painting a sawn face and an end: the ring function turned into colour, texture, flaws."""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.demo.blemish import paint_flaws
from seamlight.demo.cover import coverage
from seamlight.demo.leaf import SawnLeaf, Side
from seamlight.demo.noise import F32, stream, tile
from seamlight.demo.rings import TABLE_STEP_MM, darkness_table, early_table
from seamlight.demo.shine import shine
from seamlight.photo.flat import Mask, Points, Rgb

Array = NDArray[np.float64]
ACROSS_PX, ALONG_PX = 6.0, 1.5  # texture tiles: px per mm of ring radius, px per mm of length
FRESH_PER_MM = 60.0  # mm along the tile for each mm of depth


def silhouette_on(leaf: SawnLeaf, side: Side) -> Points:
    """The outline as that face shows it: mirrored for the other face."""
    if side == "sawn":
        return leaf.outline_mm
    return np.column_stack([leaf.width_mm - leaf.outline_mm[:, 0], leaf.outline_mm[:, 1]])[::-1]


def face_picture(
    leaf: SawnLeaf,
    side: Side,
    px_per_mm: float,
    outline: Points,
    holes: tuple[Points, ...],
    lamp: str,
    noise: float,
    blur_mm: float,
    contrast: float,
    bench: tuple[int, int, int],
) -> tuple[Rgb, Mask, Rgb]:
    """The picture, the wood's mask, and the wood gone on beyond its silhouette; all in the leaf frame."""
    rows, cols = int(np.ceil(leaf.length_mm * px_per_mm)), int(np.ceil(leaf.width_mm * px_per_mm))
    radius, along = ring_radius_picture(leaf, side, px_per_mm, rows, cols)
    dark, light = _figure(leaf, leaf.depth_mm(side), radius, along, px_per_mm, contrast)
    light += shine(leaf, side, px_per_mm, rows, cols, lamp)
    wood = leaf.log.wood
    planes = []
    for first, last in zip(wood.early, wood.late, strict=True):
        plane = dark * np.float32(last - first)
        plane += np.float32(first)
        plane *= light
        planes.append(plane)
    paint_flaws(leaf, side, planes, px_per_mm, outline)
    cover = coverage([points * px_per_mm for points in (outline, *holes)], rows, cols)
    return _finish(planes, cover, leaf, side, noise, blur_mm * px_per_mm, bench)


def ring_radius_picture(
    leaf: SawnLeaf, side: Side, px_per_mm: float, rows: int, cols: int
) -> tuple[F32, F32]:
    """Ring radius and place along the log at every pixel: on a half-millimetre grid, linear between.

    Between grid points 0.5 mm apart a ring of 100 mm radius departs from a line by 0.0003 mm.
    """
    step = max(1, round(0.5 * px_per_mm))
    grid_rows, grid_cols = -(-rows // step) + 2, -(-cols // step) + 2
    x = (np.arange(grid_cols) - 0.5) * step / px_per_mm
    y = (np.arange(grid_rows) - 0.5) * step / px_per_mm
    across, along = np.meshgrid(x, y)
    points = leaf.log_points(side, across, along)
    size = (grid_cols * step, grid_rows * step)

    def full(values: Array) -> F32:
        big = cv2.resize(values.astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
        return np.asarray(big[step : step + rows, step : step + cols], dtype=np.float32)

    return full(leaf.log.radius(*points)), full(points[2])


@lru_cache(maxsize=4)
def _fibres(seed: int) -> tuple[F32, F32]:
    """Fine and broad fibre tiles: rows along the log, columns out from the pith."""
    dice = stream(seed, "texture")
    return tile(dice, 1024, 2048, 3.0, 0.5), tile(dice, 512, 2048, 11.0, 2.5)


@lru_cache(maxsize=4)
def _flecks(seed: int) -> F32:
    """Ray fleck: long out from the pith, short along the log."""
    return tile(stream(seed, "fleck"), 1024, 2048, 0.45, 16.0)


@lru_cache(maxsize=4)
def _pores(seed: int, width_mm: float, length_mm: float) -> F32:
    """Dark dashes along the grain, 0 or above."""
    noise = tile(stream(seed, "pores"), 1024, 2048, length_mm * ALONG_PX / 2.5, width_mm * ACROSS_PX / 2.2)
    return np.asarray(np.clip(noise - 1.0, 0.0, 1.4), dtype=np.float32)


def _figure(
    leaf: SawnLeaf, depth_mm: float, radius: F32, along: F32, px_per_mm: float, contrast: float
) -> tuple[F32, F32]:
    """How far each pixel goes toward latewood, and a brightness factor from fibre, pores and fleck."""
    log, wood = leaf.log, leaf.log.wood
    index = (radius * np.float32(1.0 / TABLE_STEP_MM)).astype(np.int32)
    table = darkness_table(log.years, wood, log.seed, 0.3 / px_per_mm) * np.float32(contrast)
    dark = table.take(index, mode="clip")
    across, down = radius * np.float32(ACROSS_PX), along * np.float32(ALONG_PX)
    fine, broad = _fibres(log.seed)
    # fibres, pores and rays end within a kerf: at another depth others show; broad streaks go on
    deeper = down + np.float32(FRESH_PER_MM * ALONG_PX * depth_mm)

    def lay(texture: F32, at: F32 = deeper) -> F32:
        return np.asarray(
            cv2.remap(texture, across, at, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP), dtype=np.float32
        )

    light = np.float32(0.75) * lay(fine)
    light += np.float32(0.65) * lay(broad, np.float32(0.5) * down)
    light *= np.float32(wood.fibre)
    light += np.float32(1.0)
    if wood.fleck > 0.05:
        light += np.float32(wood.fleck) * np.clip(lay(_flecks(log.seed)) - np.float32(0.9), 0.0, 1.2)
    if wood.pores > 0:
        pores = lay(_pores(log.seed, wood.pore_mm, wood.pore_length_mm))
        if wood.ring_porous > 0:
            early = early_table(log.years).take(index, mode="clip")
            pores *= np.float32(1.0 - wood.ring_porous) + np.float32(1.6 * wood.ring_porous) * early
        light -= np.float32(wood.pores) * pores
    return dark, light


@lru_cache(maxsize=2)
def _grain_of_sensor(seed: int) -> F32:
    return tile(stream(seed, "sensor"), 1024, 1024, 0.45, 0.45)


def _finish(
    planes: list[F32],
    cover: NDArray[np.uint8],
    leaf: SawnLeaf,
    side: Side,
    noise: float,
    blur_px: float,
    bench: tuple[int, int, int],
) -> tuple[Rgb, Mask, Rgb]:
    """Bench beyond the wood, blur, noise, eight bits; and the clean wood without an edge."""
    share = cover.astype(np.float32) * np.float32(1 / 255)
    rows, cols = cover.shape
    grit = np.zeros((1, 1), dtype=np.float32)
    if noise > 0:
        start = hash_of(leaf, side) % 997
        grit = np.float32(noise) * np.roll(_grain_of_sensor(7), (start, start // 3), (0, 1))
        grit = np.tile(grit, (-(-rows // 1024), -(-cols // 1024)))[:rows, :cols]
    out, bare = [], []
    for wood, ground in zip(planes, bench, strict=True):
        np.maximum(wood, 0.0, out=wood)
        bare.append(cv2.convertScaleAbs(wood))
        plane = (wood - np.float32(ground)) * share
        plane += np.float32(ground)
        if blur_px > 0.15:
            plane = np.asarray(cv2.GaussianBlur(plane, (0, 0), blur_px), dtype=np.float32)
        plane += grit
        out.append(cv2.convertScaleAbs(np.maximum(plane, 0.0)))
    return (
        np.asarray(cv2.merge(out), dtype=np.uint8),
        np.asarray(cover > 127),
        np.asarray(cv2.merge(bare), dtype=np.uint8),
    )


def hash_of(leaf: SawnLeaf, side: Side) -> int:
    """A number that differs from face to face, the same on every run."""
    return (
        leaf.log.seed * 7919
        + leaf.seed * 104729
        + (1 if leaf.name == "b" else 0) * 31
        + (17 if side == "other" else 0)
    )


def end_picture(leaf: SawnLeaf, which: int, px_per_mm: float, noise: float) -> tuple[Rgb, Mask, Rgb, Points]:
    """The end grain: rings in section, darker than the face, with the saw's scratches."""
    margin = 3.0
    cols, rows = int(leaf.width_mm * px_per_mm), int((leaf.thickness_mm + 2 * margin) * px_per_mm)
    x = np.linspace(0.5, cols - 0.5, cols) / px_per_mm
    depth = (np.arange(rows) + 0.5) / px_per_mm - margin  # below the sawn face
    y = 0.5 if which == 1 else leaf.length_mm - 0.5
    u, z = leaf.to_billet("sawn", x, np.full_like(x, y))
    into = np.sign(leaf.other_v_mm - leaf.sawn_v_mm)
    v = leaf.sawn_v_mm + into * depth
    points = leaf.to_log(np.tile(u, (rows, 1)), np.tile(v[:, None], (1, cols)), np.tile(z, (rows, 1)))
    radius = leaf.log.radius(*points).astype(np.float32)
    log, wood = leaf.log, leaf.log.wood
    index = (radius * np.float32(1.0 / TABLE_STEP_MM)).astype(np.int32)
    dark = darkness_table(log.years, wood, log.seed, 0.3 / px_per_mm).take(index, mode="clip")
    dice = stream(leaf.seed, "end", leaf.name, which)
    light = 0.82 + 0.035 * tile(dice, rows, cols, 0.8, 0.8) + 0.03 * tile(dice, rows, cols, 0.6, 25.0)
    if wood.pores > 0:
        light = light - 0.5 * wood.pores * np.clip(tile(dice, rows, cols, 1.2, 1.2) - 1.0, 0, 1.5)
    planes = [
        np.asarray((first + dark * (last - first)) * light, dtype=np.float32)
        for first, last in zip(wood.early, wood.late, strict=True)
    ]
    across = np.linspace(0, leaf.width_mm, 60)
    ragged = 0.08 * dice.standard_normal((2, 60))
    top = np.column_stack([across, margin + ragged[0]])
    bottom = np.column_stack([across, margin + leaf.thickness_mm + ragged[1]])
    outline = np.vstack([top, bottom[::-1]])
    cover = coverage([outline * px_per_mm], rows, cols)
    rgb, mask, bare = _finish(planes, cover, leaf, "sawn", noise, 0.0, (34, 34, 36))
    if which == 1:  # seen from outside, end 1 shows the leaf's right edge at the left
        outline = np.column_stack([cols / px_per_mm - outline[:, 0], outline[:, 1]])
        rgb, bare = np.ascontiguousarray(rgb[:, ::-1]), np.ascontiguousarray(bare[:, ::-1])
        mask = np.ascontiguousarray(mask[:, ::-1])
    return rgb, mask, bare, outline
