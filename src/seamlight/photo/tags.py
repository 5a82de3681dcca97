"""Finding the target sheets' tags in a picture, their corners to a small part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.photo.flat import Points, Rgb
from seamlight.photo.target import TAG_CELLS, Paper, place_of_tag, tag_dictionary, target_sheet

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
    edge = base + offset[..., None] * outward[:, None]
    lines = [_line(edge[side], contrast[side] > 0.5 * np.median(contrast)) for side in range(4)]
    meets = [_meet(lines[side - 1], lines[side]) for side in range(4)]
    spread = float(np.median([line[2] for line in lines]))
    return np.array(meets), max(spread, 0.02)


Line = tuple[Points, Points, float]  # a point on it, its direction, standard error across


def _line(points: Points, good: NDArray[np.bool_]) -> Line:
    """The straight line through the points by total least squares, points far from it left out."""
    keep = good if good.sum() >= 6 else np.ones(len(points), bool)
    middle, direction, off = points.mean(0), np.array([1.0, 0.0]), np.zeros(len(points))
    for _ in range(3):
        middle = points[keep].mean(axis=0)
        direction = np.linalg.svd(points[keep] - middle, full_matrices=False)[2][0]
        off = (points - middle) @ np.array([-direction[1], direction[0]])
        spread = 1.4826 * float(np.median(np.abs(off[keep]))) + 0.01
        keep = np.abs(off) < 3 * spread
        if good[keep].sum() >= 6:
            keep &= good
    spread = float(np.sqrt(np.mean(off[keep] ** 2)))
    # A corner stands at the line's end, where its standard error is about twice that in the middle.
    return middle, direction, 2.0 * spread / np.sqrt(keep.sum())


def _meet(one: Line, other: Line) -> Points:
    """Where two lines meet."""
    steps = np.stack([one[1], -other[1]], axis=1)
    if abs(np.linalg.det(steps)) < 1e-6:
        return np.asarray((one[0] + other[0]) / 2)
    return np.asarray(one[0] + np.linalg.solve(steps, other[0] - one[0])[0] * one[1])


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
