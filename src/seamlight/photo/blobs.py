"""What lies on the bench: which piece of the picture is the leaf, and which bench makes it so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.bench import NOT_BENCH, Array32, Bench, Ground, bench_guesses
from seamlight.photo.flat import Mask

_LEAST_PART = 0.02  # of the picture: smaller pieces are no leaf
_LIKE_LARGEST = 0.35  # of the largest piece: as large as this it is a leaf too
_LEAST_SCORE = 0.5
_GOOD_SCORE = 0.65
_FAINT_SHADOW = 0.03  # natural log


@dataclass(frozen=True, eq=False)
class Blob:
    """One piece on the bench, in small pixels."""

    mask: Mask  # (h, w), inner gaps filled
    score: float  # 0..1: how much it looks like one sawn leaf on this bench


@dataclass(frozen=True, eq=False)
class OnBench:
    """The bench that explains the picture best and the leaves on it, largest first; none: nothing found."""

    ground: Ground
    leaves: tuple[Blob, ...]
    score: float = 0.0
    runs_out: bool = (
        False  # nothing found, but for a piece that would be a leaf if the picture held all of it
    )


def leaves_on_bench(colour: Array32, paper: Mask) -> OnBench:
    """Try every bench the picture may show; take the one whose pieces look most like leaves on a plain bench.

    Args:
        colour: (h, w, 3) log colour, small.
        paper: (h, w) True where a target sheet lies.
    """
    guesses = bench_guesses(colour, ~paper)
    best = _best(guesses, colour, paper)
    if best.score <= _LEAST_SCORE:
        # Wood of the bench's own tint looks like a deep shadow: look again for a bench without deep shadows.
        best = _best([replace(bench, shadow=_FAINT_SHADOW) for bench in guesses], colour, paper)
    if best.score > _LEAST_SCORE:
        return best
    return OnBench(Ground(()), (), runs_out=any(_cut_leaf(blob, best.score) for blob in best.leaves))


def _cut_leaf(blob: Blob, score: float) -> bool:
    """Whether it is only the picture's sides that keep a piece from counting as a leaf."""
    whole = _borders(blob.mask)
    return whole < 1 and score / whole > _LEAST_SCORE


def _best(guesses: list[Bench], colour: Array32, paper: Mask) -> OnBench:
    fars = [bench.far(colour) for bench in guesses]
    tries = [_try((bench,), far, paper) for bench, far in zip(guesses, fars, strict=True)]
    if max((one.score for one in tries), default=0.0) < _GOOD_SCORE:
        tries += [
            _try((guesses[one], guesses[two]), np.minimum(fars[one], fars[two]), paper)
            for one, two in combinations(range(len(guesses)), 2)
        ]
    return max(tries, key=lambda one: one.score, default=OnBench(Ground(()), ()))


def _try(benches: tuple[Bench, ...], far: Array32, paper: Mask) -> OnBench:
    """The leaves on these benches, and how well they and the benches account for the picture."""
    blobs = [_scored(piece, far, paper) for piece in _pieces((far > NOT_BENCH) & ~paper)]
    if not blobs:
        return OnBench(Ground(benches), ())
    areas = [float(blob.mask.sum()) for blob in blobs]
    lead = int(np.argmax([area * blob.score for area, blob in zip(areas, blobs, strict=True)]))
    keep = [
        blob
        for blob, area in zip(blobs, areas, strict=True)
        if area >= _LIKE_LARGEST * areas[lead] and blob.score > 0.6 * blobs[lead].score
    ]
    keep.sort(key=lambda blob: -blob.mask.sum())
    return OnBench(Ground(benches), tuple(keep), blobs[lead].score * _explained(far, keep, paper))


def _pieces(mask: Mask) -> list[Mask]:
    """The separate pieces of a mask that are large enough, small gaps closed and thin threads cut."""
    cross = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    clean = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, cross)
    clean = cv2.morphologyEx(clean, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5)))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(clean, connectivity=4)
    areas = stats[:, cv2.CC_STAT_AREA]
    return [labels == index for index in range(1, count) if areas[index] >= _LEAST_PART * mask.size]


def filled(mask: Mask) -> Mask:
    """The mask with everything inside its outer edge."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    full = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(full, rings, -1, 1, cv2.FILLED)
    return full.astype(bool)


def _scored(piece: Mask, far: Array32, paper: Mask) -> Blob:
    full = filled(piece)
    ring = max(cv2.findContours(full.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)
    (_, (long, short), _) = cv2.minAreaRect(ring)
    box = (long + 1) * (short + 1)
    straight = min(1.0, float(full.sum()) / box) * min(1.0, float(piece.sum()) / float(full.sum()))
    slim = max(long, short) / max(min(long, short), 1.0)
    shape = straight * (1.0 if slim < 8 else 0.5)
    return Blob(full, shape * _borders(full) * _stands_out(full, far, paper))


def _borders(mask: Mask) -> float:
    """1 for a piece wholly in the picture, less the more sides of the picture cut it."""
    extent = {axis: int(mask.any(axis=axis).sum()) for axis in (0, 1)}
    sides = ((mask[0], 0), (mask[:, -1], 1), (mask[-1], 0), (mask[:, 0], 1))
    cut = [bool(side.sum() > min(0.2 * len(side), 0.5 * extent[axis])) for side, axis in sides]
    if sum(cut) == 2 and (cut[0] == cut[2]):
        return 0.9
    return (1.0, 0.95, 0.75, 0.4, 0.3)[sum(cut)]


def _stands_out(mask: Mask, far: Array32, paper: Mask) -> float:
    """Part of the piece's edge where bench lies outside and something else inside."""
    element = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7))
    inked = mask.astype(np.uint8)
    outside = (cv2.dilate(inked, element) > 0) & ~mask & ~paper
    inside = mask & (cv2.erode(inked, element, borderValue=1) == 0)
    if not outside.any() or not inside.any():
        return 0.0
    return float(np.mean(far[outside] < NOT_BENCH) * np.mean(far[inside] > NOT_BENCH))


def _explained(far: Array32, leaves: list[Blob], paper: Mask) -> float:
    """Part of what is neither leaf nor paper that is bench."""
    rest = ~paper
    for leaf in leaves:
        rest &= ~leaf.mask
    return float(np.mean(far[rest] < NOT_BENCH)) if rest.sum() > 50 else 0.0


def looks_like_wood(colour: Array32) -> bool:
    """Whether a picture without bench is all wood: lines that run on through it, down or across.

    Rings show as differences between the means of columns (or rows) that speckle and noise average away.
    """
    lightness = colour.mean(axis=2)
    smooth = lightness - cv2.GaussianBlur(lightness, (0, 0), max(lightness.shape) / 25)
    across, down = float(smooth.mean(axis=0).std()), float(smooth.mean(axis=1).std())
    warm = float(np.median(colour[..., 0] - colour[..., 2]))
    return max(across, down) > 0.012 and warm > 0.05


def grain_runs_across(colour: NDArray[np.float32]) -> bool:
    """Whether the lines of an all-wood picture run across it rather than down it."""
    lightness = colour.mean(axis=2)
    smooth = lightness - cv2.GaussianBlur(lightness, (0, 0), max(lightness.shape) / 25)
    return float(smooth.mean(axis=1).std()) > float(smooth.mean(axis=0).std())
