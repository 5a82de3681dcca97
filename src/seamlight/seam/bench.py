"""What a maker's bench brings to a reading: leaf, glue, strokes learned, room left, earlier readings."""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.seam.leaf import Kind, Leaf, leaf_of
from seamlight.seam.profile import Profile
from seamlight.seam.strokes import STARTING_FIGURES, StrokeFigure
from seamlight.timber.glue import DEFAULT_GLUE, OILY_CAUTION, Glue, glue, is_oily
from seamlight.timber.species import species
from seamlight.units import Unit

# Woods that glue shies from as the trade names them, where the botanical name is not given (common practice,
# no source)
OILY_WORDS = (
    "rosewood", "cocobolo", "kingwood", "african blackwood", "teak", "bubinga", "ebony", "ziricote",
    "lignum vitae",
)  # fmt: skip


@dataclass(frozen=True)
class Bench:
    """Settings of a reading. Lengths in mm.

    `room_mm` is how much more may come off each joint edge (the layout's `joint_room_mm`); None where no
    layout says. `before` are this joint's earlier fit gaps, oldest first.
    """

    width_mm: float = 200.0
    thickness_mm: float = 4.0
    species_name: str | None = None
    wood_said: str = ""  # its names as the pair has them, also where the tables have no figures for it
    kind: Kind = "softwood"  # where no species is named
    glue_name: str = DEFAULT_GLUE
    figures: tuple[StrokeFigure, ...] = STARTING_FIGURES
    room_mm: float | None = None
    before: tuple[Profile, ...] = ()
    unit: Unit = "mm"  # what the advice says lengths in

    def leaf(self, length_mm: float) -> Leaf:
        """The leaf, as long as the joint."""
        return leaf_of(length_mm, self.width_mm, self.thickness_mm, name=self.species_name, kind=self.kind)

    @property
    def glue(self) -> Glue:
        """The glue that is to be used."""
        return glue(self.glue_name)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind with this wood."""
        names = [part.strip() for part in self.wood_said.split(";")]
        if self.species_name is not None:
            names.append(species(self.species_name).botanical)
        said = self.wood_said.casefold()
        oily = any(map(is_oily, names)) or any(word in said for word in OILY_WORDS)
        return (OILY_CAUTION,) if oily else ()
