"""Finding the target sheets' tags in a picture, their corners to a small part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Points, Rgb
from seamlight.photo.target import TAG_CELLS, Paper, place_of_tag, tag_dictionary, target_sheet

Array = NDArray[np.float64]

_SAMPLES_ALONG = 24
_SAMPLES_ACROSS = 33
_ROUGH_DOUBT = 0.7  # px, of a corner of the shrunken picture
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
        of_id = {tag.id: tag.corners_mm for tag in target_sheet(self.paper, self.number).tags}
        return np.concatenate([of_id[tag.id] for tag in self.tags])

    def corners_px(self) -> Points:
        """(4n, 2) where they lie in the picture."""
        return np.concatenate([tag.corners_px for tag in self.tags])

    def doubt_px(self) -> NDArray[np.float64]:
        """(4n,) standard errors of the corners."""
        return np.repeat([tag.doubt_px for tag in self.tags], 4)


def find_tags(
    rgb: Rgb, small: Rgb, shrink: int, dictionary: cv2.aruco.Dictionary | None = None, cells: int = TAG_CELLS
) -> list[FoundTag]:
    """Tags found in the picture made `shrink` times smaller, their corners measured in the full one."""
    detector = cv2.aruco.ArucoDetector(dictionary if dictionary is not None else tag_dictionary())
    gray = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    corners, ids, _ = detector.detectMarkers(gray)
    if ids is None:
        return []
    rough = [np.asarray((np.reshape(found, (4, 2)) + 0.5) * shrink, np.float64) for found in corners]
    return [
        _measure(rgb, int(tag_id), at, cells, shrink) for tag_id, at in zip(np.ravel(ids), rough, strict=True)
    ]


def _measure(rgb: Rgb, tag_id: int, corners: Points, cells: int, shrink: int) -> FoundTag:
    """The tag with its corners where lines fitted to its four sides meet, or as found where that fails."""
    side = float(np.mean(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)))
    pad = side / 3 + 4 * shrink
    low = np.maximum(np.floor(corners.min(axis=0) - pad), 0).astype(int)
    high = np.minimum(np.ceil(corners.max(axis=0) + pad), (rgb.shape[1], rgb.shape[0])).astype(int)
    patch = np.ascontiguousarray(rgb[low[1] : high[1], low[0] : high[0]])
    gray = cv2.cvtColor(patch, cv2.COLOR_RGB2GRAY).astype(np.float32)
    local = np.asarray(corners - low, np.float64)
    doubt = _ROUGH_DOUBT * shrink
    for _ in range(2):
        refined = _corners_from_sides(gray, local, side / cells)
        if refined is None or np.abs(refined[0] - local).max() > side / cells:
            break
        local, doubt = refined
    return FoundTag(tag_id, local + low, doubt)


def _corners_from_sides(
    gray: NDArray[np.float32], corners: Points, cell_px: float
) -> tuple[Points, float] | None:
    """Corners (4, 2) in the patch and their standard error; None where a side is no edge of a tag."""
    along = np.linspace(_CORNER_FREE, 1 - _CORNER_FREE, _SAMPLES_ALONG)
    reach = max(0.45 * cell_px, 2.5)
    across = np.linspace(-reach, reach, _SAMPLES_ACROSS)  # negative inside the tag
    ends = np.roll(corners, -1, axis=0)
    direction = (ends - corners) / np.linalg.norm(ends - corners, axis=1, keepdims=True)
    outward = np.stack([direction[:, 1], -direction[:, 0]], axis=1)
    base = corners[:, None] + along[None, :, None] * (ends - corners)[:, None]
    at = base[:, :, None] + across[None, None, :, None] * outward[:, None, None]
    flat = at.reshape(4 * _SAMPLES_ALONG, _SAMPLES_ACROSS, 2).astype(np.float32) - 0.5
    light = cv2.remap(gray, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = light.reshape(4, _SAMPLES_ALONG, _SAMPLES_ACROSS)

    quarter = _SAMPLES_ACROSS // 4
    dark, bright = light[..., :quarter].mean(-1), light[..., -quarter:].mean(-1)
    contrast = bright - dark
    if np.median(contrast) < 15:
        return None
    # Where a step from dark to bright would stand that lets the same light through as the blurred edge does.
    share = (light - dark[..., None]) / np.maximum(contrast, 1.0)[..., None]
    offset = reach - 2 * reach * share.mean(-1)
    shift, lean, doubt = _straight(along, offset, contrast > 0.5 * np.median(contrast))
    starts = corners + (shift - lean * 0.5)[:, None] * outward
    stops = ends + (shift + lean * 0.5)[:, None] * outward
    meets = [_meet(starts[side - 1], stops[side - 1], starts[side], stops[side]) for side in range(4)]
    return np.array(meets), max(float(np.median(doubt)), 0.02)


def _straight(along: Array, offset: Array, good: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """Straight lines through the sides' offsets, places far off left out.

    Args:
        along: (n,) places along a side, 0..1.
        offset: (4, n) px outward.
        good: (4, n) places with contrast enough.

    Returns:
        (4,) offset in the middle of the side, its change over the side, standard error at a corner.
    """
    keep = np.where(good.sum(axis=1, keepdims=True) >= 6, good, True)
    place = np.broadcast_to(along - 0.5, offset.shape)
    shift, lean, off = np.zeros(4), np.zeros(4), offset
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


def _meet(one: Points, one_end: Points, other: Points, other_end: Points) -> Points:
    """Where the lines through two pairs of points meet."""
    steps = np.stack([one_end - one, other - other_end], axis=1)
    if abs(np.linalg.det(steps)) < 1e-6:
        return np.asarray((one_end + other) / 2)
    return np.asarray(one + np.linalg.solve(steps, other - one)[0] * (one_end - one))


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
    of_id = {tag.id: tag.corners_mm for tag in target_sheet(place.paper, place.number).tags}
    to_mm = cv2.getPerspectiveTransform(one.corners_px.astype(np.float32), of_id[one.id].astype(np.float32))
    seen = cv2.perspectiveTransform(other.corners_px.mean(axis=0)[None, None], to_mm)[0, 0]
    expected = of_id[other.id].mean(axis=0)
    far = float(np.linalg.norm(expected - of_id[one.id].mean(axis=0)))
    return float(np.linalg.norm(seen - expected)) < 10 + 0.25 * far
