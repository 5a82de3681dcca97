"""Read the light through a joint: pictures or a film in, a `LightReading` out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo import Picture, ScaleSpec, open_picture
from seamlight.seam.clicks import neck_of
from seamlight.seam.film import frames_of, is_film
from seamlight.seam.light_calibrate import calibrate, calibrate_again
from seamlight.seam.light_checks import check_same_exposure, check_seated, check_shims
from seamlight.seam.light_ends import NeckAt, Point, Points
from seamlight.seam.light_exposure import check_exposures
from seamlight.seam.light_follow import straightened
from seamlight.seam.light_measure import glow_of, grid_mm, noise_of
from seamlight.seam.light_reading import FULL_LIGHT_MM, Bools, LightReading, Rgb
from seamlight.seam.light_view import View
from seamlight.seam.light_views import Looks, check_known, marks_of, of_one_length
from seamlight.seam.optics import Sight, gap_of_seen_mm, hidden_mm, seen_width_mm
from seamlight.seam.tone_curve import Tone

Floats = NDArray[np.float64]

TOUCHING_MM = 0.01  # contracts: touching is under this
_ERROR_FLOOR_MM = 0.005
_COARSE_PX_PER_MM = 3.8  # below it a reading of rendered copies was out by more than it said (docs/seam.md)
_TOO_COARSE_PX_PER_MM = 2.5
_BESIDE_MM = 6.0  # shown on either side of the seam


def read_light_files(
    paths: Sequence[Path],
    length_mm: float | None,
    *,
    shims_mm: tuple[float, float] | None = None,
    lamp: Path | None = None,
    thickness_mm: float = 4.0,
    distance_mm: float = 400.0,
    neck_at: NeckAt = "left",
    ends_px: Sequence[Points | None] = (),
    tags: ScaleSpec | None = None,
    middle_px: Sequence[Point | None] = (),
) -> LightReading:
    """Pictures of the closed joint against a lamp, or one film of it; see `read_light`.

    Raises:
        Mistake: a file that is no picture or film, pictures exposed differently, or as `read_light` says.
    """
    films = [path for path in paths if is_film(path)]
    if films and len(paths) > 1:
        raise Mistake("a film among other pictures", where=films[0].name, do="give the film alone")
    check_exposures([*(path for path in paths if not is_film(path)), *([lamp] if lamp is not None else [])])
    pictures = frames_of(films[0]) if films else [open_picture(path) for path in paths]
    return read_light(
        pictures,
        length_mm,
        shims_mm=shims_mm,
        lamp=None if lamp is None else open_picture(lamp),
        thickness_mm=thickness_mm,
        distance_mm=distance_mm,
        neck_at=neck_at,
        ends_px=ends_px,
        tags=tags,
        middle_px=middle_px,
        film=films[0].name if films else None,
    )


def read_light(
    pictures: Sequence[Picture],
    length_mm: float | None,
    *,
    shims_mm: tuple[float, float] | None = None,
    lamp: Picture | None = None,
    thickness_mm: float = 4.0,
    distance_mm: float = 400.0,
    neck_at: NeckAt = "left",
    ends_px: Sequence[Points | None] = (),
    tags: ScaleSpec | None = None,
    middle_px: Sequence[Point | None] = (),
    film: str | None = None,
) -> LightReading:
    """The light along one joint; of several pictures the greatest light at each place.

    Args:
        length_mm: of the joint; None: by tags.
        shims_mm: the gaps that shims make at the neck and the tail end.
        lamp: the lamp from the same place without the joint. distance_mm: from the lens to the joint.
        neck_at: which end of the picture the neck is at, where no ends are marked.
        ends_px: the joint's two ends as marked in each picture, neck end first; None where the seam is
            found by itself, as in pictures beyond the last given. Of a film: in its first frame, and they are
            carried on from there.
        tags: as `seamlight.photo.parse_scale` has them: target sheets lie in the plane of the face, in each
            picture; they give the length, and take out that one end is seen larger than the other.
        middle_px: a mark halfway along the joint in each picture, likewise; with the length it does the
            latter too.
        film: the film's name, if the pictures are its frames: then those without a seam are passed over.

    Raises:
        Mistake: one of the things that spoil a reading, in one line.
    """
    check_known(length_mm, tags, middle_px)
    check_shims(shims_mm)
    first = next((ends for ends in ends_px if ends is not None), None)
    looks = Looks(length_mm, tags, lamp, neck_at if first is None else neck_of(first))
    marks = marks_of(ends_px, middle_px, len(pictures) if film is None else 1)
    views = looks.views(pictures, marks) if film is None else looks.film(pictures, marks[0], film)
    if tags is not None:
        views = of_one_length(views)
    check_same_exposure([v.beyond for v in views], [v.name for v in views])
    sight = Sight(thickness_mm, distance_mm)
    best = max(views, key=lambda v: float(v.seen_mm(Tone()).sum()))
    notes: list[str] = []
    if len(views) == 1:
        notes.append("one picture: where the camera is off the joint's plane the gap is wider than read")
    if shims_mm is not None and abs(shims_mm[0] - shims_mm[1]) >= 0.02:
        notes += _coarse(best)
        return _in_mm(views, best, sight, shims_mm, lamp is not None, notes)
    if shims_mm is not None:
        notes.append("two shims of the same thickness give no offset: the reading is relative")
        if lamp is None:
            notes.append("no picture of the bare lamp: an uneven lamp looks like a hollow or a hump")
    return _relative(views, best, sight, shims_mm, notes)


def _coarse(best: View) -> list[str]:
    """A word on a picture of few pixels to a millimetre.

    Raises:
        Mistake: so few that no width can be told.
    """
    fine = best.cut.px_per_mm
    if fine >= _COARSE_PX_PER_MM:
        return []
    what = f"only {fine:.1f} pixels to a millimetre"
    do = "send the phone's own picture, no messenger's small copy, and fill it with the joint"
    if fine < _TOO_COARSE_PX_PER_MM:
        raise Mistake(f"{what}: too coarse to tell how wide the gap is", where=best.name, do=do)
    return [f"{what}, so the doubt is larger: {do}"]


def _in_mm(
    views: list[View],
    best: View,
    sight: Sight,
    shims_mm: tuple[float, float],
    lamp_given: bool,
    notes: list[str],
) -> LightReading:
    """A reading in millimetres."""
    fit = calibrate(best.cut, best.lamp, shims_mm, sight, best.name, best.edges)
    seen = np.max([v.seen_mm(fit.tone, fit.edge_glow_px) for v in views], axis=0)
    if len(views) > 1:
        fit = calibrate_again(fit, seen, grid_mm(best.cut.length_mm), shims_mm, sight)
    seen = seen * fit.scale
    s = grid_mm(best.cut.length_mm)
    check_seated(s, seen, best.name)
    gap = gap_of_seen_mm(seen, fit.sight)
    # what the fit cannot know of itself, as rendered pictures showed: a floor, and half of the wood's glow
    error = max(fit.error_mm, _ERROR_FLOOR_MM) + 2 * noise_of(seen) + 0.5 * _glow(best)
    if not lamp_given:
        notes.append("no picture of the bare lamp: where the lamp is uneven the gap is wrong in proportion")
        error = max(error, 0.01)
    if best.lamp is None:
        notes.append("the lamp is nowhere seen in full: gaps wider than the shims are less sure")
        error = max(error, 0.01)
    if best.cut.px_per_mm < _COARSE_PX_PER_MM:
        error = max(error, 0.01 * (4.0 / best.cut.px_per_mm) ** 2)
    hidden = hidden_mm(fit.sight)
    if hidden > 0.01:
        notes.append(f"the camera was off the joint's plane: gaps under {hidden:.2f} mm are hidden")
    return _reading(views, best, seen, gap, float(error), gap < TOUCHING_MM, shims_mm, notes)


def _relative(
    views: list[View], best: View, sight: Sight, shims_mm: tuple[float, float] | None, notes: list[str]
) -> LightReading:
    """Where light shows and how much of it, without millimetres."""
    seen = np.max([v.seen_mm(Tone()) for v in views], axis=0)
    notes.append("without two different shims the light is relative: where, not how wide")
    # the least light is that of the glowing edges, unless it is more than they can send
    seen = seen - min(max(float(np.quantile(seen, 0.01)), 0.0), 0.6 * _glow(best))
    if best.lamp is None:
        notes.append("the bare lamp is not seen (or too bright to measure): touching places are the darkest")
        dark = max(0.03 * float(np.quantile(seen, 0.95)), 4 * noise_of(seen))
    else:
        dark = float(seen_width_mm(TOUCHING_MM, sight))
    return _reading(views, best, seen, None, None, seen < dark, shims_mm, notes)


def _glow(best: View) -> float:
    """The wood's glow beside the seam as a share of the lamp's light."""
    full = 1.0 if best.lamp is None else float(np.median(best.lamp))
    return float(np.median(glow_of(best.cut, Tone().table()[best.cut.luma]))) / full


def _reading(
    views: list[View],
    best: View,
    seen: Floats,
    gap: Floats | None,
    error: float | None,
    touching: Bools,
    shims_mm: tuple[float, float] | None,
    notes: list[str],
) -> LightReading:
    if not any(v.shows for v in views):
        notes.append("no light shows anywhere between the lamp's light beyond both ends")
    if "light" in best.ends.by:
        notes.append("the lamp is not seen beyond both ends: the joint is taken to end where its light ends")
    straight, px_per_mm = _straight(best)
    at = best.cut.at_px
    return LightReading(
        s_mm=grid_mm(best.cut.length_mm),
        light=np.clip(seen / FULL_LIGHT_MM, 0.0, 1.0),
        gap_mm=None if gap is None else np.maximum(gap, 0.0),
        error_mm=error,
        measured="relative" if gap is None else "width",
        touching=touching,
        length_mm=best.cut.length_mm,
        lower_bound=len(views) == 1,
        warnings=tuple(notes),
        straight=straight,
        straight_px_per_mm=px_per_mm,
        ends_px=((float(at[0, 0]), float(at[0, 1])), (float(at[-1, 0]), float(at[-1, 1]))),
        shims_mm=shims_mm,
    )


def _straight(best: View) -> tuple[Rgb, float]:
    """The seam laid straight, neck end left."""
    cut = best.cut
    count = max(2, round(cut.length_mm * cut.px_per_mm))
    s = (np.arange(count) + 0.5) / count * cut.length_mm
    at = np.column_stack([np.interp(s, cut.s_mm, cut.at_px[:, axis]) for axis in (0, 1)])
    return straightened(best.rgb, at, max(4, round(_BESIDE_MM * cut.px_per_mm))), count / cut.length_mm
