"""One pass over a leaf: direction, ring lines and spacing together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.grain.field import GrainField
from seamlight.grain.field_bands import bands
from seamlight.grain.field_direction import direction
from seamlight.grain.field_spacing import spacing
from seamlight.grain.field_straight import Straight, straighten
from seamlight.grain.ring_tracks import Tracks, follow_lines
from seamlight.one_thread import one_blas_thread
from seamlight.photo.flat import FlatLeaf


@dataclass(frozen=True, eq=False)
class Survey:
    """The grain field and the ring lines that it was counted from."""

    field: GrainField
    straight: Straight  # the picture in which the lines of the field stand upright
    tracks: Tracks


@one_blas_thread
def survey(flat: FlatLeaf) -> Survey:
    """Read direction, ring lines and spacing of one leaf."""
    read = bands(flat.rgb, flat.wood, flat.px_per_mm)
    found = direction(read)
    straight = straighten(found.bands, found.x_mm, found.y_mm, found.slope)
    tracks = follow_lines(straight)
    height, width = flat.wood.shape
    rows = np.clip((found.y_mm * flat.px_per_mm).astype(int), 0, height - 1)
    columns = np.clip((found.x_mm * flat.px_per_mm).astype(int), 0, width - 1)
    wood = flat.wood[np.ix_(rows, columns)]
    field = GrainField(
        x_mm=found.x_mm,
        y_mm=found.y_mm,
        angle_deg=np.where(wood, np.degrees(np.arctan(found.slope)), np.nan),
        spacing_mm=np.where(wood, spacing(found, straight, tracks), np.nan),
        coherence=np.where(wood, found.coherence, np.nan),
    )
    return Survey(field, straight, tracks)


def grain_field(flat: FlatLeaf) -> GrainField:
    """Direction, ring spacing and coherence of one leaf on a grid of about 3 mm.

    Args:
        flat: the leaf at a known scale; 4 px/mm across the grain are used, finer is averaged.

    Returns:
        angle_deg within about 30 of the leaf's length, NaN off the wood; spacing_mm square to the lines over
        6 mm, NaN also where rings can't be told; coherence 0..1, how well the figure goes on along the grain:
        low at knots, wane and where there is nothing to see.
    """
    return survey(flat).field
