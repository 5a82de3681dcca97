"""The piece on the bench: its size and weight as typed, and what cannot be meant."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from seamlight.mistake import Mistake
from seamlight.units import likely_slip, parse_size

Kind = Literal["plate", "bar"]

# Sizes between which a leaf, a joined plate or a brace blank lies; common practice, no source
_LIMITS_MM: dict[Kind, tuple[tuple[float, float], tuple[float, float], tuple[float, float]]] = {
    "plate": ((150, 1200), (50, 700), (0.8, 12)),
    "bar": ((60, 1200), (2, 120), (2, 120)),
}
_NAMES = ("length", "width", "thickness")
# Balsa to the heaviest woods, kg/m3; common practice, no source
LIGHTEST_KG_M3, HEAVIEST_KG_M3 = 80.0, 1350.0
MOST_TAPER = 0.10


@dataclass(frozen=True)
class Piece:
    """A rectangular or slightly tapered board, grain along its length; mm and g.

    `width1_mm` and `width2_mm` are the widths at its two ends; a weight of 0 is not known.
    """

    length_mm: float
    width1_mm: float
    width2_mm: float
    thickness_mm: float
    weight_g: float

    @property
    def width_mm(self) -> float:
        """Mean width."""
        return (self.width1_mm + self.width2_mm) / 2

    @property
    def taper(self) -> float:
        """Difference of the end widths over their mean, 0 for a rectangle."""
        return abs(self.width1_mm - self.width2_mm) / self.width_mm

    @property
    def density_kg_m3(self) -> float:
        """Weight over volume."""
        return self.weight_g / (self.length_mm * self.width_mm * self.thickness_mm) * 1e6

    def rectangle(self) -> Piece:
        """The rectangle of the same length, area and weight."""
        return replace(self, width1_mm=self.width_mm, width2_mm=self.width_mm)


def parse_piece(size: str, weight_g: float | None, kind: Kind = "plate", *, where: str = "--size") -> Piece:
    """A piece from what was typed: `550x200x3.6`, or `550x200:185x3.6` for a taper; weight 0 where unknown.

    Raises:
        Mistake: it is no size; a measure or the density cannot be meant; it tapers too much.

    >>> parse_piece("550x200:185x3.6", 158).width_mm
    192.5
    """
    parts = size.split("x")
    tapered = ":" in size
    if tapered and (len(parts) != 3 or parts[1].count(":") != 1 or size.count(":") != 1):
        raise Mistake(f"{size!r} is not a size", where=where, do="write a taper like 550x200:185x3.6")
    measures = parse_size(size.replace(":", "x"), where=where)
    if len(measures) != (4 if tapered else 3):
        raise Mistake(
            f"{size!r} is not length x width x thickness", where=where, do="write it like 550x200x3.6"
        )
    width2 = measures[2] if tapered else measures[1]
    piece = Piece(measures[0], measures[1], width2, measures[-1], weight_g or 0.0)
    check_sizes(piece, kind, where=where)
    if weight_g is not None:
        check_density(piece)
    return piece


def check_sizes(piece: Piece, kind: Kind = "plate", *, where: str = "--size") -> None:
    """Raise where a measure cannot be meant.

    Raises:
        Mistake: names the measure and what it may have been meant for.
    """
    sizes = (piece.length_mm, piece.width_mm, piece.thickness_mm)
    for name, value, (low, high) in zip(_NAMES, sizes, _LIMITS_MM[kind], strict=True):
        slip = likely_slip(value, low, high)
        if slip:
            raise Mistake(f"a {name} of {slip}", where=where, do="check the point and the unit")
    longest_other = max(piece.width_mm, piece.thickness_mm)
    if piece.length_mm < longest_other * (0.6 if kind == "plate" else 3):
        raise Mistake(
            f"{piece.length_mm:g} mm along the grain is short beside {longest_other:g} mm",
            where=where,
            do="give the length along the grain first, then the width, then the thickness",
        )
    if piece.taper > MOST_TAPER:
        raise Mistake(
            f"the plate tapers by {100 * piece.taper:.0f} %, and the model holds to {100 * MOST_TAPER:.0f} %",
            where=where,
            do="trim it to a rectangle, or tap strips along and across",
        )


def check_density(piece: Piece) -> None:
    """Raise where weight and size do not go together.

    Raises:
        Mistake: says the density that comes out.
    """
    density = piece.density_kg_m3
    if not LIGHTEST_KG_M3 <= density <= HEAVIEST_KG_M3:
        wood = "heavier than any wood" if density > HEAVIEST_KG_M3 else "lighter than any wood"
        raise Mistake(
            f"density comes out {density:,.0f} kg/m3, {wood}",
            where="--size and --weight",
            do=f"check thickness ({piece.thickness_mm:g} mm), size and weight ({piece.weight_g:g} g)",
        )
