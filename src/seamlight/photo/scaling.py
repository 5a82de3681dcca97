"""How the px of one photograph become mm, by whichever way the scale was given, and how far to trust it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo.camera import Camera
from seamlight.photo.cut import Silhouette
from seamlight.photo.cut_sheets import cut_off_sheets
from seamlight.photo.edge import SideWidth
from seamlight.photo.flat import Points, Scale
from seamlight.photo.flatten import LeafFrame, lay_frame
from seamlight.photo.picture import Picture
from seamlight.photo.planes import CorneredPlane, EvenPlane, Plane, SeenPlane
from seamlight.photo.pose import PlaneFit, fit_plane
from seamlight.photo.scale import ScaleSpec
from seamlight.photo.sides import corners_of, rule_ends
from seamlight.photo.tags import FoundTag, group_sheets
from seamlight.photo.target import BAR_MM, PAPER_MM

Array = NDArray[np.float64]

# Doubts, as bounds that hold nearly always; common practice, no source.
THICKNESS_GUESS_MM, THICKNESS_GUESS_DOUBT_MM = 4.5, 2.0  # leaves as bought: 3 to 6 mm
THICKNESS_DOUBT_MM = 0.3  # measured, and lying flat
BAR_DOUBT_MM = 0.1  # a 150 mm bar read with a steel rule
RULE_DOUBT_MM = 0.5  # a leaf's length read with a rule
LENS_DOUBT = 0.002  # of a length, where the lens is not corrected
EDGE_DOUBT_MM = 0.15  # of both ends of a leaf, found in the picture
_PAPER_RIM_MM = 4.0
_CURL_PX = 1.0  # misfit of the corners beyond which the sheets do not lie flat


@dataclass(frozen=True, eq=False)
class Scaling:
    """One photograph's way from px to mm."""

    plane_of: Callable[[Silhouette, int, tuple[int, int]], Plane]
    scale_of: Callable[[LeafFrame, float], Scale]
    paper_px: list[Points] = field(default_factory=list)  # (4, 2) each target sheet with a rim
    side_width: SideWidth | None = None
    warnings: tuple[str, ...] = ()
    cut_sheets: tuple[str, ...] = ()  # the target sheets that the picture cuts off, in words


def scaling_of(
    picture: Picture, spec: ScaleSpec, tags: list[FoundTag], thickness_mm: float | None
) -> Scaling:
    """The way that the person chose.

    Raises:
        Mistake: tags are wanted and none can be read.
    """
    if spec.how == "tags":
        return _by_tags(picture, spec, tags, thickness_mm)
    paper = _paper_of_tags(picture, tags)
    if spec.how == "size":
        return _by_size(spec, paper)
    return _by_resolution(spec, paper)


def _size_px(picture: Picture) -> tuple[int, int]:
    return picture.rgb.shape[1], picture.rgb.shape[0]


def _paper_of_tags(picture: Picture, tags: list[FoundTag]) -> list[Points]:
    """Where target sheets lie that are not asked for the scale."""
    sheets = group_sheets(tags)
    return _paper_px(fit_plane(sheets, _size_px(picture), picture.focal_px), 1.0) if sheets else []


def _paper_px(fit: PlaneFit, print_scale: float) -> list[Points]:
    corners = []
    for index, sheet in enumerate(fit.sheets):
        width, height = PAPER_MM[sheet.paper]
        rim = _PAPER_RIM_MM
        paper = np.array(
            [[-rim, -rim], [width + rim, -rim], [width + rim, height + rim], [-rim, height + rim]]
        )
        # The print shrinks on paper that does not, about the middle of the page as printers do.
        middle = np.array([width, height]) / 2
        corners.append(fit.piece_to_px(index, (paper - middle) + print_scale * middle))
    return corners


def _by_tags(picture: Picture, spec: ScaleSpec, tags: list[FoundTag], thickness_mm: float | None) -> Scaling:
    sheets = group_sheets(tags)
    if not sheets:
        raise Mistake(
            "no target sheet can be read in the picture",
            where=picture.name,
            do="lay a printed sheet (seamlight sheet target) wholly in the picture, sharp and uncovered,"
            " or give --scale size=560x215",
        )
    print_scale = spec.bar_mm / BAR_MM
    fit = fit_plane(sheets, _size_px(picture), picture.focal_px, print_scale)
    lift = THICKNESS_GUESS_MM if thickness_mm is None else thickness_mm
    lift_doubt = THICKNESS_GUESS_DOUBT_MM if thickness_mm is None else THICKNESS_DOUBT_MM
    plane = SeenPlane(fit.camera, lift)

    def scale_of(frame: LeafFrame, px_per_mm: float) -> Scale:
        middle = frame.width_mm / 2
        ends_px = frame.map.to_photo(np.array([[middle, 0.0], [middle, frame.length_mm]]))

        def length(camera: Camera, height: float = lift) -> float:
            ends = camera.to_plane(ends_px, height)
            return float(np.hypot(*(ends[1] - ends[0])))

        by_lift = (length(fit.camera, lift + 0.5) - length(fit.camera, lift - 0.5)) * lift_doubt
        by_bar = BAR_DOUBT_MM / BAR_MM * frame.length_mm
        parts = np.array([2 * fit.spread_of(length), by_lift, by_bar, EDGE_DOUBT_MM])
        return Scale("tags", px_per_mm, float(np.sqrt(np.sum(parts**2))))

    return Scaling(
        plane_of=lambda silhouette, turns, size_px: plane,
        scale_of=scale_of,
        paper_px=_paper_px(fit, print_scale),
        side_width=_side_width(fit.camera, lift),
        warnings=_tag_warnings(fit, spec, picture, thickness_mm),
        cut_sheets=cut_off_sheets(fit),
    )


def _side_width(camera: Camera, lift_mm: float) -> SideWidth:
    def width(ring_px: Points, normal: Points) -> Array:
        face = camera.to_plane(ring_px, lift_mm)
        foot = camera.to_px(face, 0.0)
        return np.asarray(np.maximum(np.sum((foot - ring_px) * normal, axis=1), 0.0))

    return width


def _tag_warnings(
    fit: PlaneFit, spec: ScaleSpec, picture: Picture, thickness_mm: float | None
) -> tuple[str, ...]:
    said = []
    if not spec.bar_said:
        said.append(
            "the print is taken as true: measure the target sheet's 150 mm bar and say what it measures,"
            " such as --scale tags=149.5"
        )
    if thickness_mm is None:
        said.append(
            f"the leaf is taken as {THICKNESS_GUESS_MM} mm thick: its face lies above the target sheets; say"
            " --thickness for a surer scale"
        )
    if len(fit.sheets) == 1:
        said.append("one target sheet: a second one on the other side of the leaf makes the scale surer")
    if picture.focal_px is None:
        said.append("the picture does not say its focal length: it was worked out from the target sheets")
    if fit.rms_px > _CURL_PX * max(1.0, max(_size_px(picture)) / 4000):
        said.append(f"the target sheets do not lie flat (corners off by {fit.rms_px:.1f} px): tape them down")
    return tuple(said)


def _by_size(spec: ScaleSpec, paper: list[Points]) -> Scaling:
    def plane_of(silhouette: Silhouette, turns: int, size_px: tuple[int, int]) -> Plane:
        if any(silhouette.cut_by):
            raise Mistake(
                "the leaf runs out of the picture, so its own size gives no scale",
                where="--scale",
                do="photograph the whole leaf, or give 4px/mm or target sheets",
            )
        rough = spec.length_mm / max(np.ptp(silhouette.ring_px, axis=0))
        frame = lay_frame(EvenPlane(1 / rough), silhouette, turns, size_px)
        corners = corners_of(rule_ends(frame.ring_mm, frame.sides))
        if corners is None:
            raise Mistake(
                "the leaf's four sides cannot be made out, so its own size gives no scale",
                where="--scale",
                do="give 4px/mm or use target sheets",
            )
        one, two, length = spec.width_end1_mm / 2, spec.width_end2_mm / 2, spec.length_mm
        truly = np.array([[-one, 0.0], [one, 0.0], [two, length], [-two, length]])
        return CorneredPlane.of(truly, frame.map.to_photo(corners))

    def scale_of(frame: LeafFrame, px_per_mm: float) -> Scale:
        ends = [side.doubt * frame.width_mm / 4 for side in (frame.sides.end1, frame.sides.end2) if side]
        parts = np.array([RULE_DOUBT_MM, LENS_DOUBT * frame.length_mm, EDGE_DOUBT_MM, *ends])
        return Scale("size", px_per_mm, float(np.sqrt(np.sum(parts**2))))

    return Scaling(
        plane_of,
        scale_of,
        paper,
        warnings=(
            "the scale rests on the leaf's size as given, with square ends; the lens is not corrected",
        ),
    )


def _by_resolution(spec: ScaleSpec, paper: list[Points]) -> Scaling:
    plane = EvenPlane(spec.px_per_mm)
    how = spec.how

    def scale_of(frame: LeafFrame, px_per_mm: float) -> Scale:
        doubt = LENS_DOUBT if how == "px" else LENS_DOUBT / 2
        parts = np.array([doubt * frame.length_mm, 1.0 / spec.px_per_mm])
        return Scale(how, px_per_mm, float(np.sqrt(np.sum(parts**2))))

    warnings = (
        ("px/mm is taken as given and the same everywhere: tilt and lens are not corrected",)
        if how == "px"
        else ()
    )
    return Scaling(lambda silhouette, turns, size_px: plane, scale_of, paper, warnings=warnings)
