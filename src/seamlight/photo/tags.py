"""Finding the target sheets' tags in a picture, their corners to a small part of a pixel."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Points, Rgb
from seamlight.photo.target import SLOTS, TAG_CELLS, Paper, place_of_tag, tag_dictionary, target_sheet

Array = NDArray[np.float64]

_SAMPLES_ALONG = 24
_SAMPLES_ACROSS = 33
_ROUGH_DOUBT = 0.7  # px, of a corner of the shrunken picture
_WINDOW_PX = 13
# ITU-R BT.601
_GRAY = np.array([[0.299, 0.587, 0.114]])
_CORNER_FREE = 0.12  # part of a side left out at either end, where the next side's blur reaches


@dataclass(frozen=True, eq=False)
class FoundTag:
    """A tag in the picture: corners (4, 2) px, clockwise from the tag's own top left."""

    id: int
    corners_px: Points
    doubt_px: float  # standard error of a corner


@dataclass(frozen=True, eq=False)
class FoundSheet:
    """The tags seen of one sheet; the same print may lie in the picture twice and is then two of these."""

    paper: Paper
    number: int
    tags: tuple[FoundTag, ...]

    def corners_mm(self) -> Points:
        """(4n, 2) where the seen corners lie in the sheet frame."""
        of_id = _tags_mm(self.paper, self.number)
        return np.concatenate([of_id[tag.id] for tag in self.tags])

    def corners_px(self) -> Points:
        """(4n, 2) where they lie in the picture."""
        return np.concatenate([tag.corners_px for tag in self.tags])

    def doubt_px(self) -> NDArray[np.float64]:
        """(4n,) standard errors of the corners."""
        return np.repeat([tag.doubt_px for tag in self.tags], 4)


def find_tags(
    rgb: Rgb,
    small: Rgb,
    shrink: int,
    dictionary: cv2.aruco.Dictionary | None = None,
    cells: int = TAG_CELLS,
    *,
    quick: bool = False,
) -> list[FoundTag]:
    """Tags found in the picture made `shrink` times smaller, their corners measured in the full one.

    Args:
        rgb: the photograph.
        small: the same, `shrink` times smaller.
        shrink: a whole number.
        dictionary: the family of the tags; None: that of the target sheets.
        cells: of a side of a tag, border included.
        quick: one threshold instead of OpenCV's three: enough for tags in even light.
    """
    how = cv2.aruco.DetectorParameters()
    if quick:
        how.adaptiveThreshWinSizeMin = how.adaptiveThreshWinSizeMax = _WINDOW_PX
    detector = cv2.aruco.ArucoDetector(dictionary if dictionary is not None else tag_dictionary(), how)
    corners, ids, _ = detector.detectMarkers(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY))
    if ids is None:
        return []
    rough = (np.reshape(np.asarray(corners, np.float64), (-1, 4, 2)) + 0.5) * shrink
    places, doubts = _measured(rgb, rough, cells, shrink)
    return [
        FoundTag(int(tag_id), at, float(doubt))
        for tag_id, at, doubt in zip(np.ravel(ids), places, doubts, strict=True)
    ]


def sheets_are_whole(tags: list[FoundTag]) -> bool:
    """Whether there is a sheet, and of every sheet seen all the tags."""
    count = Counter(
        (place.paper, place.number) for place in (place_of_tag(tag.id) for tag in tags) if place is not None
    )
    return bool(count) and all(seen % SLOTS == 0 for seen in count.values())


def _measured(rgb: Rgb, rough: Array, cells: int, shrink: int) -> tuple[Array, Array]:
    """Corners (n, 4, 2) where lines through the sides meet, or as found where that fails; doubts (n,)."""
    corners, doubt = rough.copy(), np.full(len(rough), _ROUGH_DOUBT * shrink)
    cell_px = np.linalg.norm(np.roll(rough, -1, axis=1) - rough, axis=2).mean(axis=1) / cells
    going = np.arange(len(rough))
    for _ in range(2):
        refined, refined_doubt, good = _corners_from_sides(rgb, corners[going], cell_px[going])
        good &= np.abs(refined - corners[going]).max(axis=(1, 2)) <= cell_px[going]
        going = going[good]
        corners[going], doubt[going] = refined[good], refined_doubt[good]
    return corners, doubt


def _corners_from_sides(rgb: Rgb, corners: Array, cell_px: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Corners (n, 4, 2), their standard errors (n,), and (n,) False where a side is no edge of a tag."""
    count = len(corners)
    along = np.linspace(_CORNER_FREE, 1 - _CORNER_FREE, _SAMPLES_ALONG)
    reach = np.maximum(0.45 * cell_px, 2.5)[:, None, None]
    across = reach * np.linspace(-1, 1, _SAMPLES_ACROSS)  # negative inside the tag
    ends = np.roll(corners, -1, axis=1)
    direction = (ends - corners) / np.linalg.norm(ends - corners, axis=2, keepdims=True)
    outward = np.stack([direction[..., 1], -direction[..., 0]], axis=2)
    base = corners[:, :, None] + along[:, None] * (ends - corners)[:, :, None]
    at = base[:, :, :, None] + across[:, :, None, :, None] * outward[:, :, None, None]
    flat = (at - 0.5).astype(np.float32).reshape(-1, _SAMPLES_ACROSS, 2)
    seen = cv2.remap(rgb, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    gray = cv2.transform(seen.astype(np.float32), _GRAY).reshape(count, 4, _SAMPLES_ALONG, _SAMPLES_ACROSS)
    light = np.asarray(gray, np.float64)

    quarter = _SAMPLES_ACROSS // 4
    dark, bright = light[..., :quarter].mean(-1), light[..., -quarter:].mean(-1)
    contrast = bright - dark
    usual = np.median(contrast, axis=(1, 2))[:, None, None]
    # Where a step from dark to bright would stand that lets the same light through as the blurred edge does.
    share = (light.mean(-1) - dark) / np.maximum(contrast, 1.0)
    offset = reach - 2 * reach * share
    shift, lean, doubt = _straight(
        along, offset.reshape(-1, _SAMPLES_ALONG), (contrast > 0.5 * usual).reshape(-1, _SAMPLES_ALONG)
    )
    shift, lean, doubt = (value.reshape(count, 4) for value in (shift, lean, doubt))
    starts = corners + (shift - lean * 0.5)[..., None] * outward
    stops = ends + (shift + lean * 0.5)[..., None] * outward
    meets = _meet(np.roll(starts, 1, axis=1), np.roll(stops, 1, axis=1), starts, stops)
    return meets, np.maximum(np.median(doubt, axis=1), 0.02), usual.ravel() >= 15


def _straight(along: Array, offset: Array, good: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """Straight lines through the sides' offsets, places far off left out.

    Args:
        along: (n,) places along a side, 0..1.
        offset: (m, n) px outward.
        good: (m, n) places with contrast enough.

    Returns:
        (m,) offset in the middle of the side, its change over the side, standard error at a corner.
    """
    keep = np.where(good.sum(axis=1, keepdims=True) >= 6, good, True)
    place = np.broadcast_to(along - 0.5, offset.shape)
    shift, lean, off = np.zeros(len(offset)), np.zeros(len(offset)), offset
    for _ in range(3):
        weight = keep.astype(np.float64)
        count = np.maximum(weight.sum(axis=1), 1.0)
        middle, mean = (weight * place).sum(axis=1) / count, (weight * offset).sum(axis=1) / count
        away = weight * (place - middle[:, None])
        lean = (away * offset).sum(axis=1) / np.maximum((away * (place - middle[:, None])).sum(axis=1), 1e-9)
        shift = mean - lean * middle
        off = offset - shift[:, None] - lean[:, None] * place
        spread = 1.4826 * np.median(np.abs(off), axis=1) + 0.01
        near = np.abs(off) < 3 * spread[:, None]
        keep = np.where((near & good).sum(axis=1, keepdims=True) >= 6, near & good, near)
    spread = np.sqrt((keep * off**2).sum(axis=1) / np.maximum(keep.sum(axis=1), 1))
    # A corner stands at the line's end, where its standard error is about twice that in the middle.
    return shift, lean, 2.0 * spread / np.sqrt(np.maximum(keep.sum(axis=1), 1))


def _meet(one: Array, one_end: Array, other: Array, other_end: Array) -> Array:
    """Where the lines through two pairs of points meet, all (..., 2)."""
    run, beside, gap = one_end - one, other_end - other, other - one
    cross = _cross(run, beside)
    parallel = np.abs(cross) < 1e-6
    share = _cross(gap, beside) / np.where(parallel, 1.0, cross)
    return np.asarray(np.where(parallel[..., None], (one_end + other) / 2, one + share[..., None] * run))


def _cross(one: Array, other: Array) -> Array:
    return np.asarray(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0])


def group_sheets(tags: list[FoundTag]) -> list[FoundSheet]:
    """The tags that belong to one print each, largest group first; ids that no sheet uses are left out.

    Each tag's own four corners foretell where the other tags of its print lie, well enough to tell two prints
    of the same sheet apart.
    """
    groups: list[list[FoundTag]] = []
    for tag in sorted(tags, key=lambda found: found.doubt_px):
        place = place_of_tag(tag.id)
        if place is None:
            continue
        for group in groups:
            other = place_of_tag(group[0].id)
            same = other is not None and (other.paper, other.number) == (place.paper, place.number)
            if (
                same
                and all(mate.id != tag.id for mate in group)
                and all(_same_print(tag, mate) for mate in group)
            ):
                group.append(tag)
                break
        else:
            groups.append([tag])
    sheets = []
    for group in groups:
        place = place_of_tag(group[0].id)
        assert place is not None
        sheets.append(FoundSheet(place.paper, place.number, tuple(group)))
    return sorted(sheets, key=lambda sheet: -len(sheet.tags))


def _same_print(one: FoundTag, other: FoundTag) -> bool:
    """Whether `other` lies where `one` foretells it, and the other way round."""
    return _foretold(one, other) and _foretold(other, one)


def _foretold(one: FoundTag, other: FoundTag) -> bool:
    place = place_of_tag(one.id)
    assert place is not None
    mm = _tags_mm(place.paper, place.number)
    to_mm = cv2.getPerspectiveTransform(one.corners_px.astype(np.float32), mm[one.id].astype(np.float32))
    seen = cv2.perspectiveTransform(other.corners_px.mean(axis=0)[None, None], to_mm)[0, 0]
    expected = mm[other.id].mean(axis=0)
    far = float(np.hypot(*(expected - mm[one.id].mean(axis=0))))
    return float(np.hypot(*(seen - expected))) < 10 + 0.25 * far


@cache
def _tags_mm(paper: Paper, number: int) -> dict[int, Points]:
    """Corners (4, 2) of a sheet's tags by their ids, in the sheet frame."""
    return {tag.id: tag.corners_mm for tag in target_sheet(paper, number).tags}
