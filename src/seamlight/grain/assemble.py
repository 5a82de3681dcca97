"""One leaf's reading put together: field, thirds, straightness, end grain, flaws."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.grain.edits import edit_flaws
from seamlight.grain.endgrain import read_end
from seamlight.grain.field import GrainField
from seamlight.grain.field_spacing import OVER_MM
from seamlight.grain.field_survey import survey
from seamlight.grain.flaw import Flaw
from seamlight.grain.reading import EndGrain, Reading, Thirds
from seamlight.grain.rings import lines_on_leaf, wander_mm
from seamlight.one_thread import one_blas_thread
from seamlight.photo.doubt import LEAST_PX_PER_MM
from seamlight.photo.flat import FlatLeaf, Rgb

LEAST_COHERENCE = 0.12  # of the middle place: below it the picture tells no direction
ENOUGH_READ = 0.3  # of a third's sound places

FindFlaws = Callable[[FlatLeaf, GrainField], tuple[Flaw, ...]]


@one_blas_thread
def read_leaf(
    flat: FlatLeaf,
    *,
    end: Rgb | None = None,
    end_seen: Literal[1, 2] = 1,
    find_flaws: FindFlaws | None = None,
    edits: Mapping[str, Any] | None = None,
) -> Reading:
    """Everything one leaf says.

    Args:
        end: picture of one end, the photographed face uppermost; `end_seen`: which end it is.
        find_flaws: what finds them; None: only those a person adds.
        edits: a person's changes to the flaws (`edit_flaws`).

    Raises:
        Mistake: the end picture shows no end; the edits are wrong.
    """
    seen = survey(flat)
    few_px = flat.scale.px_per_mm < LEAST_PX_PER_MM
    if few_px:
        none = np.full_like(seen.field.spacing_mm, np.nan)
        seen = replace(seen, field=replace(seen.field, spacing_mm=none))
    flaws = find_flaws(flat, seen.field) if find_flaws is not None else ()
    if edits is not None:
        wide, long = np.asarray(flat.outline_mm).max(axis=0)
        flaws = edit_flaws(flaws, edits, (float(wide), float(long)))
    sound = sound_places(seen.field, flaws)
    lines = lines_on_leaf(seen.straight, seen.tracks)
    angle = mean_angle_deg(seen.field, sound)
    wander = wander_mm(lines, flat.length_mm, flaws) if angle is not None else None
    spacing = spacing_thirds(seen.field, sound_places(seen.field, flaws, OVER_MM / 2))
    grain_end = None
    if end is not None:
        grain_end = read_end(end, flat.width_end1_mm if end_seen == 1 else flat.width_end2_mm, end_seen)
    return Reading(
        flat=flat,
        field=seen.field,
        angle_deg=angle,
        wander_mm=wander,
        spacing_mm=spacing,
        end=grain_end,
        flaws=flaws,
        warnings=(
            *_warnings(angle, wander, spacing, flat.scale.px_per_mm if few_px else None),
            *_end_warnings(grain_end),
        ),
    )


def sound_places(field: GrainField, flaws: Sequence[Flaw], clear_mm: float = 0.0) -> NDArray[np.bool_]:
    """Grid places (m, n) that have wood and no flaw within `clear_mm` of them."""
    sound = np.isfinite(field.coherence)
    x, y = np.meshgrid(field.x_mm, field.y_mm)
    for flaw in flaws:
        shape = shapely.make_valid(shapely.Polygon(flaw.outline_mm)).buffer(clear_mm)
        sound &= ~shapely.contains_xy(shape, x, y)
    return sound


def mean_angle_deg(field: GrainField, sound: NDArray[np.bool_]) -> float | None:
    """Mean direction over sound wood; None where the picture tells none."""
    if not sound.any() or float(np.median(field.coherence[sound])) < LEAST_COHERENCE:
        return None
    return float(np.mean(field.angle_deg[sound]))


def spacing_thirds(field: GrainField, sound: NDArray[np.bool_]) -> Thirds:
    """Mean spacing in each third of the leaf's width; None where too few places could be read."""
    # the grid runs the width of the leaf's bounding box, half a step in at each side
    width = float(field.x_mm[0] + field.x_mm[-1])
    third = np.minimum((3 * field.x_mm / width).astype(int), 2)
    figures: list[float | None] = []
    for k in range(3):
        places = sound & (third == k)[None, :]
        read = places & np.isfinite(field.spacing_mm)
        enough = read.sum() >= max(1.0, ENOUGH_READ * places.sum())
        figures.append(float(np.mean(field.spacing_mm[read])) if enough else None)
    return Thirds(*figures)


def write_field(path: Path, field: GrainField) -> None:
    """Write the field as .npz, whatever the name: x_mm, y_mm, angle_deg, spacing_mm, coherence."""
    with path.open("wb") as file:
        np.savez_compressed(
            file,
            x_mm=field.x_mm,
            y_mm=field.y_mm,
            angle_deg=field.angle_deg,
            spacing_mm=field.spacing_mm,
            coherence=field.coherence,
        )


def _warnings(
    angle: float | None, wander: float | None, spacing: Thirds, too_few_px_per_mm: float | None
) -> tuple[str, ...]:
    said = []
    if angle is None:
        said.append("the picture shows no grain lines, so it gives no direction; light it from the side")
    elif wander is None:
        said.append("no ring line could be followed far enough to say how straight the grain is")
    if too_few_px_per_mm is not None:
        said.append(
            f"{too_few_px_per_mm:.2g} px to the mm are too few to count rings; it takes {LEAST_PX_PER_MM:g}:"
            " use the original photograph, not a copy made smaller"
        )
        return tuple(said)
    missing = [name for name in ("left", "middle", "right") if getattr(spacing, name) is None]
    if missing:
        said.append(f"rings can't be told apart in the {', '.join(missing)} third: no spacing there")
    return tuple(said)


def _end_warnings(end: EndGrain | None) -> tuple[str, ...]:
    if end is None:
        return ()
    missing = [name for name in ("left", "middle", "right") if getattr(end.thirds, name) is None]
    if not missing:
        return ()
    return (f"no rings can be told on the end's {', '.join(missing)} third: no angle there; plane or wet it",)
