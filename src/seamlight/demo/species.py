"""How each invented wood looks: colours, ring contrast, pores, fleck.

Colours and proportions are invented to look right at arm's length; none is a measured value.
"""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.mistake import Mistake

Colour = tuple[float, float, float]


@dataclass(frozen=True)
class Species:
    """Looks of one wood. Colours are sRGB 0..255, lengths in mm, shares 0..1."""

    name: str
    early: Colour  # earlywood, or the ground colour of a hardwood
    late: Colour  # latewood at its darkest
    ring_mm: float  # usual ring width
    contrast: float  # 0..1, how much of the way to `late` the latewood goes
    late_share: float  # share of a ring that is latewood
    band: float  # slow colour bands from pith to bark, share of the way to `late`
    fibre: float  # strength of the fine fibre texture
    fleck: float  # strength of ray fleck on quartered faces
    knot: Colour
    bark: Colour = (86, 62, 46)
    pores: float = 0.0  # strength of the pore lines, 0 for softwood
    pore_mm: float = 0.1  # width of a pore line
    pore_length_mm: float = 1.0
    ring_porous: float = 0.0  # 0..1, how much the pores gather in the earlywood


_ALL = (
    Species(
        name="western redcedar",
        early=(186, 138, 98),
        late=(122, 74, 50),
        ring_mm=1.2,
        contrast=0.85,
        late_share=0.22,
        band=0.16,
        fibre=0.035,
        fleck=0,
        knot=(98, 56, 38),
    ),
    Species(
        name="Engelmann spruce",
        early=(229, 208, 168),
        late=(188, 146, 100),
        ring_mm=1.1,
        contrast=0.8,
        late_share=0.2,
        band=0.05,
        fibre=0.03,
        fleck=0.03,
        knot=(132, 84, 52),
    ),
    Species(
        name="black walnut",
        early=(122, 88, 66),
        late=(72, 48, 37),
        ring_mm=2.6,
        contrast=0.45,
        late_share=0.4,
        band=0.42,
        fibre=0.05,
        pores=0.42,
        pore_mm=0.28,
        pore_length_mm=14,
        ring_porous=0.5,
        fleck=0.02,
        knot=(58, 38, 30),
    ),
    Species(
        name="cherry",
        early=(188, 130, 92),
        late=(152, 96, 66),
        ring_mm=2.2,
        contrast=0.4,
        late_share=0.25,
        band=0.2,
        fibre=0.035,
        pores=0.1,
        pore_mm=0.12,
        pore_length_mm=7,
        ring_porous=0.2,
        fleck=0.07,
        knot=(96, 52, 36),
    ),
    Species(
        name="maple",
        early=(222, 196, 160),
        late=(186, 150, 112),
        ring_mm=2.0,
        contrast=0.32,
        late_share=0.14,
        band=0.08,
        fibre=0.03,
        pores=0.06,
        pore_mm=0.1,
        pore_length_mm=5,
        ring_porous=0,
        fleck=0.09,
        knot=(116, 78, 54),
    ),
)
SPECIES = {one.name: one for one in _ALL}


def species_named(name: str) -> Species:
    """The looks of a wood by its plain name; raises Mistake for a wood the demo does not grow."""
    found = {key.lower(): one for key, one in SPECIES.items()}.get(name.strip().lower())
    if found is None:
        raise Mistake(f"the demo grows no {name!r}", where="species", do="use one of " + ", ".join(SPECIES))
    return found
