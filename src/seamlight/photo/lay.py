"""From a photograph and what is said of its scale to flat leaves: the whole of the room in one call."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np

from seamlight.mistake import Mistake
from seamlight.one_thread import one_blas_thread
from seamlight.photo.cut import Silhouette, check_lit, cut_out
from seamlight.photo.doubt import doubt_said, doubted
from seamlight.photo.flat import FlatLeaf, Points, Rgb
from seamlight.photo.flatten import LeafFrame, flat_leaf, lay_frame, middle_px_per_mm, quarter_turns
from seamlight.photo.open_pair import PAIR_WIDTH, split_pair
from seamlight.photo.picture import Picture
from seamlight.photo.scale import ScaleSpec
from seamlight.photo.scaling import Scaling, scaling_of
from seamlight.photo.sharpness import blur_px, is_blurred
from seamlight.photo.tags import FoundTag, find_tags, sheets_are_whole

_SMALL_SIDE_PX = 900  # at least, of the picture that is looked at first
_NUMBER = {2: "two", 3: "three", 4: "four", 5: "five"}


@one_blas_thread
def lay_flat(
    picture: Picture,
    spec: ScaleSpec,
    thickness_mm: float | None = None,
    turn: int | None = None,
    leaves: Literal["one", "pair"] = "one",
) -> tuple[FlatLeaf, ...]:
    """The leaf in a photograph, or the leaves of an opened pair from left to right, each laid flat at a known
    scale.

    Args:
        picture: from `open_picture`.
        spec: from `parse_scale`.
        thickness_mm: the leaf's thickness, by which its face lies above the target sheets; None: not known.
        turn: quarter turns clockwise that bring the grain to run down; None: as the leaf lies.
        leaves: "pair": an opened pair may be in the picture; then two flat leaves come back, else one.

    Raises:
        Mistake: no leaf or too many, no scale, a thickness that cannot be meant.
    """
    _check_thickness(thickness_mm, picture.name)
    rgb = picture.rgb
    halves = _halves(rgb)
    small = halves[-1]
    check_lit(small, picture.name)
    tags = _tags(rgb, halves, spec)
    scaling = scaling_of(picture, spec, tags, thickness_mm)
    found = cut_out(
        rgb,
        small,
        scaling.paper_px,
        may_fill=spec.how != "tags",
        side=scaling.side_width,
        name=picture.name,
    )
    turns = quarter_turns(found[0], turn)
    shown = _leaves_shown(found, rgb, leaves, turns, picture.name)
    return tuple(_flat(picture, scaling, one, turns) for one in shown)


def _halves(rgb: Rgb) -> list[Rgb]:
    """The picture, and its halves and quarters and so on; an odd row or column at the end is dropped."""
    halves = [rgb]
    while max(halves[-1].shape[:2]) >= 2 * _SMALL_SIDE_PX:
        height, width = (side // 2 for side in halves[-1].shape[:2])
        whole = halves[-1][: 2 * height, : 2 * width]
        halves.append(np.asarray(cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA), np.uint8))
    return halves


def _tags(rgb: Rgb, halves: list[Rgb], spec: ScaleSpec) -> list[FoundTag]:
    """The tags in the picture: a quick look, and a thorough one where it leaves a sheet in part or unseen."""
    if spec.how == "dpi":
        return []
    least = len(halves) - 1
    tags = find_tags(rgb, halves[least], 2**least, quick=True)
    if sheets_are_whole(tags):
        return tags
    finer = max(least - 1, 0) if spec.how == "tags" else least
    more = find_tags(rgb, halves[finer], 2**finer)
    return more if len(more) >= len(tags) else tags


def _flat(picture: Picture, scaling: Scaling, silhouette: Silhouette, turns: int) -> FlatLeaf:
    rgb = picture.rgb
    size_px = (rgb.shape[1], rgb.shape[0])
    plane = scaling.plane_of(silhouette, turns, size_px)
    frame = lay_frame(plane, silhouette, turns, size_px)
    blur = 0.0 if silhouette.all_wood else blur_px(rgb, silhouette.ring_px)
    scale = doubted(scaling.scale_of(frame, middle_px_per_mm(plane, silhouette.ring_px)), blur)
    unsure = doubt_said(scale, scaling.cut_sheets, is_blurred(blur, rgb), picture.name)
    warnings = (*unsure, *scaling.warnings, *_cut_off(silhouette, turns), *_wide(frame, silhouette))
    return flat_leaf(rgb, frame, silhouette.holes_px, scale, warnings)


def _leaves_shown(
    found: list[Silhouette], rgb: Rgb, leaves: Literal["one", "pair"], turns: int, name: str
) -> list[Silhouette]:
    """One leaf, or the two of a pair from left to right once the grain runs down."""
    if len(found) > 2 or (len(found) == 2 and leaves == "one"):
        if is_blurred(blur_px(rgb, found[0].ring_px), rgb):
            raise Mistake(
                "the picture is blurred", where=name, do="hold the phone still and let it focus on the leaf"
            )
        raise Mistake(
            f"there are {_NUMBER.get(len(found), len(found))} leaves in the picture",
            where=name,
            do="photograph one leaf at a time"
            if leaves == "one"
            else "photograph one leaf at a time, or the two of a pair",
        )
    if leaves == "one":
        return found
    pair = found if len(found) == 2 else split_pair(rgb, found[0], turns)
    return sorted(pair, key=lambda one: _rightness(one.ring_px, turns))


def _rightness(ring_px: Points, turns: int) -> float:
    """How far to the right a ring lies once the picture is turned."""
    middle = ring_px.mean(axis=0)
    return float((middle[0], -middle[1], -middle[0], middle[1])[turns])


def _cut_off(silhouette: Silhouette, turns: int) -> list[str]:
    if silhouette.all_wood:
        return ["the leaf fills the picture: its sizes are those of the picture"]
    names = ("end 1", "the right edge", "end 2", "the left edge")
    cut = [names[(side + turns) % 4] for side, is_cut in enumerate(silhouette.cut_by) if is_cut]
    return [f"the picture cuts off {' and '.join(cut)}: the leaf's sizes end there"] if cut else []


def _wide(frame: LeafFrame, silhouette: Silhouette) -> list[str]:
    if any(silhouette.cut_by) or frame.width_mm < PAIR_WIDTH * frame.length_mm:
        return []
    return ["the wood is as wide beside its length as an opened pair: it was read as one leaf"]


def _check_thickness(thickness_mm: float | None, name: str) -> None:
    if thickness_mm is not None and not 0.5 <= thickness_mm <= 100:
        raise Mistake(
            f"a leaf {thickness_mm:.4g} mm thick cannot be meant",
            where="--thickness",
            do="give the leaf's thickness, such as 4.5mm",
        )
