"""From a photograph's file to a reading: photo and grain in one call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from seamlight.grain.assemble import read_leaf
from seamlight.grain.flaws import find_flaws
from seamlight.grain.reading import Reading
from seamlight.mistake import Mistake
from seamlight.photo import ScaleSpec, lay_flat, open_picture
from seamlight.photo.flat import FlatLeaf
from seamlight.units import likely_slip

# from a finished plate to a rough-sawn leaf; common practice, no source
LEAST_THICK_MM, MOST_THICK_MM = 1.0, 12.0


@dataclass(frozen=True)
class ReadSettings:
    """What a person says about a photograph before it is read. Lengths in mm."""

    scale: ScaleSpec
    thickness_mm: float | None = None
    turn: int | None = None  # quarter turns clockwise; None: by the grain
    flaws: bool = True  # look for flaws

    def __post_init__(self) -> None:
        """Catch a decimal or unit slip in the thickness before it bends the scale.

        Raises:
            Mistake: no leaf is that thick.
        """
        thickness = self.thickness_mm
        if thickness is None or LEAST_THICK_MM <= thickness <= MOST_THICK_MM:
            return
        slip = likely_slip(thickness, LEAST_THICK_MM, MOST_THICK_MM)
        raise Mistake(slip or f"{thickness} mm", where="thickness", do="say it again with its unit")


def read_flat(
    flat: FlatLeaf,
    settings: ReadSettings,
    *,
    end: Path | None = None,
    end_seen: Literal[1, 2] = 1,
    edits: Mapping[str, Any] | None = None,
) -> Reading:
    """Read one flat leaf; `edits` are a person's changes to the flaws and always win."""
    return read_leaf(
        flat,
        end=open_picture(end).rgb if end is not None else None,
        end_seen=end_seen,
        find_flaws=find_flaws if settings.flaws else None,
        edits=edits,
    )


def read_photograph(
    path: Path,
    settings: ReadSettings,
    *,
    end: Path | None = None,
    end_seen: Literal[1, 2] = 1,
    edits: Mapping[str, Any] | None = None,
) -> Reading:
    """Read the one leaf in a photograph.

    Raises:
        Mistake: the file is no picture, holds no leaf or more than one, or gives no scale.
    """
    (flat,) = flat_leaves(path, settings, leaves="one")
    return read_flat(flat, settings, end=end, end_seen=end_seen, edits=edits)


def flat_leaves(
    path: Path, settings: ReadSettings, *, leaves: Literal["one", "pair"]
) -> tuple[FlatLeaf, ...]:
    """The flat leaf, or both leaves of an opened pair (the left one first), in a photograph."""
    return lay_flat(
        open_picture(path),
        settings.scale,
        thickness_mm=settings.thickness_mm,
        turn=settings.turn,
        leaves=leaves,
    )
