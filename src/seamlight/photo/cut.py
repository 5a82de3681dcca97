"""The leaf cut out of the bench: silhouette and through holes, in px of the photograph."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from seamlight.mistake import Mistake
from seamlight.photo.bench import NOT_BENCH, Array32, Ground, log_colour
from seamlight.photo.blobs import filled, grain_runs_across, leaves_on_bench, looks_like_wood
from seamlight.photo.edge import SideWidth, refine, refine_hole
from seamlight.photo.flat import Mask, Points, Rgb
from seamlight.photo.holes import small_holes
from seamlight.photo.paper import paper_bench, paper_mask

_SMALL_SIDE_PX = 420
_MIDDLE_SIDE_PX = 1000
_HOLE_PART = 6e-5  # of the leaf's area: a hole of 4 mm in a leaf of 560 x 215
_HOLE_LIKE_BENCH = 2.5  # standard deviations
_LUMP = 0.06  # of the root of the leaf's area: narrower lumps on its edge are looked at
_COARSER = 4
_GLANCE_SIDE_PX = 64
_BRIGHT, _BLACK = 99.0, 12.0  # a picture whose 99th percentile is below this shows nothing
_OTHER_COLOUR = 0.35  # natural log
_NEAR = np.ones((5, 5), np.uint8)


@dataclass(frozen=True, eq=False)
class Silhouette:
    """One leaf in the photograph."""

    ring_px: Points  # (n, 2), not closed by a repeated point
    holes_px: tuple[Points, ...]
    cut_by: tuple[bool, bool, bool, bool]  # whether the picture's top, right, bottom, left side cuts it
    all_wood: bool = False  # no bench in the picture at all

    grain_across: bool | None = None  # for an all-wood picture: how its lines run


def cut_out(
    rgb: Rgb,
    small: Rgb,
    paper: list[Points],
    *,
    may_fill: bool,
    side: SideWidth | None = None,
    name: str = "",
) -> list[Silhouette]:
    """The leaves on the bench, largest first.

    Args:
        rgb: the photograph.
        small: the same, a whole number of times smaller.
        paper: corners (4, 2) px of each target sheet, a little more than the sheet itself.
        may_fill: whether a picture without any bench counts as all leaf.
        side: how wide the leaf's side shows beside its face; None where nothing is known of the camera.
        name: the file, for messages.

    Raises:
        Mistake: there is no leaf.
    """
    tiny = _shrunk(small, _SMALL_SIDE_PX)
    colour = log_colour(_smooth(tiny, 0.7))
    scale = np.array([tiny.shape[1] / rgb.shape[1], tiny.shape[0] / rgb.shape[0]])
    found = leaves_on_bench(colour, paper_mask(colour, paper, scale))
    if not found.leaves:
        if may_fill and looks_like_wood(colour):
            return [_whole_picture(rgb, grain_runs_across(colour))]
        if found.runs_out:
            raise Mistake(
                "the leaf runs out of the picture",
                where=name,
                do="step back until the bench shows all round it",
            )
        raise Mistake(
            "no leaf found",
            where=name,
            do="lay one leaf on a plain bench that is clearly darker or lighter than the wood",
        )
    near = cv2.dilate(np.sum([blob.mask for blob in found.leaves], axis=0, dtype=np.uint8), _NEAR) > 0
    sheet = paper_bench(colour, paper, scale, near)
    ground = found.ground if sheet is None else Ground((*found.ground.benches, sheet))
    return [_silhouette(rgb, small, ground, blob.mask, paper, side) for blob in found.leaves]


def check_lit(small: Rgb, name: str) -> None:
    """Refuse a picture that shows nothing.

    Args:
        small: the photograph, a whole number of times smaller.
        name: the file, for messages.

    Raises:
        Mistake: it is all black.
    """
    if float(np.percentile(_shrunk(small, _GLANCE_SIDE_PX), _BRIGHT)) < _BLACK:
        raise Mistake("the picture is all black", where=name, do="photograph the leaf in daylight")


def _shrunk(rgb: Rgb, side_px: int) -> Rgb:
    while max(rgb.shape[:2]) >= 2 * side_px and min(rgb.shape[:2]) >= 16:
        height, width = (side // 2 for side in rgb.shape[:2])
        whole = rgb[: 2 * height, : 2 * width]
        rgb = np.asarray(cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA), np.uint8)
    shrink = side_px / max(rgb.shape[:2])
    if shrink >= 1:
        return rgb
    size = (max(round(rgb.shape[1] * shrink), 8), max(round(rgb.shape[0] * shrink), 8))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)


def _smooth(rgb: Rgb, spread_px: float) -> Rgb:
    return np.asarray(cv2.GaussianBlur(rgb, (0, 0), spread_px), np.uint8)


def _whole_picture(rgb: Rgb, grain_across: bool) -> Silhouette:
    height, width = rgb.shape[:2]
    ring = np.array([[0.0, 0], [width, 0], [width, height], [0, height]])
    return Silhouette(ring, (), (True, True, True, True), True, grain_across)


def _silhouette(
    rgb: Rgb, small: Rgb, ground: Ground, mask: Mask, paper: list[Points], side: SideWidth | None
) -> Silhouette:
    """The blob's edge found again in a middle-sized picture around it, then in the photograph itself."""
    height, width = rgb.shape[:2]
    tiny = np.array([mask.shape[1], mask.shape[0]], np.float64)
    rows, columns = np.nonzero(mask.any(axis=1))[0], np.nonzero(mask.any(axis=0))[0]
    pad = 4
    low = np.maximum(np.array([columns[0], rows[0]]) - pad, 0) / tiny
    high = np.minimum(np.array([columns[-1], rows[-1]]) + 1 + pad, tiny) / tiny
    size = np.array([small.shape[1], small.shape[0]])
    first, last = np.floor(low * size).astype(int), np.ceil(high * size).astype(int)
    crop = small[first[1] : last[1], first[0] : last[0]]
    shrink = min(_MIDDLE_SIDE_PX / max(size), 1.0)
    if shrink < 0.9:
        crop = np.asarray(
            cv2.resize(crop, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8
        )
    box = (*(first / size), *(last / size))
    colour = log_colour(_smooth(crop, 0.8))
    far = ground.far(colour, box)
    to_photo = (last - first) / size * (width, height) / (crop.shape[1], crop.shape[0])
    origin = first / size * (width, height)
    near = [(corners - origin) for corners in paper]
    wood = (far > NOT_BENCH) & ~paper_mask(colour, near, 1 / to_photo)
    piece = _without_clutter(_same_piece(wood, mask, low, high), colour)
    ring = _outer_ring(piece)
    ring_px = (ring + 0.5) * to_photo + origin
    reach = 2.0 * float(to_photo.max()) + 2.0
    refined = refine(rgb, ring_px, ground, reach, side=side)
    cut_by = _cut_by(ring_px, (width, height), reach)
    refined = _kept_in(refined, cut_by, (width, height), reach)
    large = _hole_rings(piece, far)
    holes = [refine_hole(rgb, (hole + 0.5) * to_photo + origin, reach) for hole in large]
    holes += small_holes(rgb, ground, _with_holes(piece, large), colour, origin, to_photo, side)
    return Silhouette(refined, tuple(holes), cut_by)


def _same_piece(wood: Mask, blob: Mask, low: Points, high: Points) -> Mask:
    """The piece of a finer mask that lies where the blob lay, filled."""
    tiny = np.array([blob.shape[1], blob.shape[0]])
    first, last = np.round(low * tiny).astype(int), np.round(high * tiny).astype(int)
    part = blob[first[1] : last[1], first[0] : last[0]].astype(np.uint8)
    near = cv2.dilate(part, np.ones((5, 5), np.uint8))
    guide = cv2.resize(near, (wood.shape[1], wood.shape[0]), interpolation=cv2.INTER_NEAREST) > 0
    core = cv2.resize(
        cv2.erode(part, np.ones((5, 5), np.uint8), borderValue=1), (wood.shape[1], wood.shape[0])
    )
    inked = ((wood & guide) | (core > 0)).astype(np.uint8)
    element = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7))
    inked = np.asarray(cv2.morphologyEx(inked, cv2.MORPH_OPEN, element), np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(inked, connectivity=4)
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    return filled(labels == largest)


def _without_clutter(piece: Mask, colour: Array32) -> Mask:
    """The piece without the dirt that lies against it: lumps on its edge not of the wood's colour."""
    size = (max(piece.shape[1] // _COARSER, 1), max(piece.shape[0] // _COARSER, 1))
    coarse = np.asarray(cv2.resize(piece.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST), np.uint8)
    tint = cv2.resize(colour, size, interpolation=cv2.INTER_NEAREST)
    reach = max(int(_LUMP * np.sqrt(coarse.sum())), 3)
    round_brush = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    padded = cv2.copyMakeBorder(coarse, reach, reach, reach, reach, cv2.BORDER_REPLICATE)
    core = cv2.morphologyEx(padded, cv2.MORPH_OPEN, round_brush)[reach:-reach, reach:-reach] > 0
    if not core.any():
        return piece
    lumps = ((coarse > 0) & ~core).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(lumps, connectivity=4)
    wood = np.median(tint[core], axis=0)
    spread = float(np.median(np.abs(tint[core] - wood)))
    dirt = np.zeros(coarse.shape, np.uint8)
    for index in range(1, count):
        # A right-angled corner loses (1 - pi/4) r^2 to a round brush of radius r, and stays.
        if stats[index, cv2.CC_STAT_AREA] > 0.7 * reach**2:
            off = float(np.abs(np.median(tint[labels == index], axis=0) - wood).mean())
            if off > max(_OTHER_COLOUR, 4 * spread):
                dirt[labels == index] = 1
    if not dirt.any():
        return piece
    full = cv2.resize(dirt, (piece.shape[1], piece.shape[0]), interpolation=cv2.INTER_NEAREST)
    return np.asarray(piece & (full == 0))


def _outer_ring(mask: Mask) -> Points:
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(rings, key=len).reshape(-1, 2), np.float64)


def _hole_rings(leaf: Mask, far: Array32) -> list[Points]:
    """Rings around what inside the leaf is bench."""
    inner = cv2.erode(leaf.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    bench = ((far < _HOLE_LIKE_BENCH) & inner).astype(np.uint8)
    cross = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    bench = np.asarray(cv2.morphologyEx(bench, cv2.MORPH_OPEN, cross), np.uint8)
    rings, _ = cv2.findContours(bench, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    least = max(_HOLE_PART * float(leaf.sum()), 6.0)
    return [
        np.asarray(ring.reshape(-1, 2), np.float64)
        for ring in rings
        if cv2.contourArea(ring) + len(ring) / 2 > least
    ]


def _with_holes(leaf: Mask, rings: list[Points]) -> Mask:
    """The mask without what the rings hold."""
    if not rings:
        return leaf
    mask = leaf.astype(np.uint8)
    cv2.fillPoly(mask, [np.round(ring).astype(np.int32) for ring in rings], 0)
    return mask > 0


def _cut_by(ring: Points, size: tuple[int, int], reach: float) -> tuple[bool, bool, bool, bool]:
    x, y = ring.T
    sides = (y < reach, x > size[0] - reach, y > size[1] - reach, x < reach)
    top, right, bottom, left = (
        bool(np.ptp(ring[near], axis=0).max() > 5 * reach) if near.any() else False for near in sides
    )
    return top, right, bottom, left


def _kept_in(ring: Points, cut_by: tuple[bool, ...], size: tuple[int, int], reach: float) -> Points:
    """The ring laid on the picture's own sides where these cut the leaf, and nowhere beyond them."""
    x, y = ring.T.copy()
    top, right, bottom, left = cut_by
    reach = 3 * reach  # there is no edge to find at the border, so the ring strayed
    y = np.where(top & (y < reach), 0.0, y)
    x = np.where(right & (x > size[0] - reach), size[0], x)
    y = np.where(bottom & (y > size[1] - reach), size[1], y)
    x = np.where(left & (x < reach), 0.0, x)
    return np.stack([np.clip(x, 0, size[0]), np.clip(y, 0, size[1])], axis=1)
