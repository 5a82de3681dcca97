"""Two leaves of one plate: what they come to joined, and beside the joined plate's own taps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

from seamlight.mistake import Mistake
from seamlight.plate.piece import Piece
from seamlight.plate.stiffness import Elastic


@dataclass(frozen=True)
class Constants:
    """Elastic constants of a piece with their spreads, percent, under "e_along", "e_across" and "g"."""

    piece: Piece
    elastic: Elastic
    spread_pct: Mapping[str, float]


def joined(a: Constants, b: Constants) -> Constants:
    """The plate of two leaves jointed along their grain, as one even plate of the same stiffness.

    Along the grain the leaves bend side by side and share the load by width; across they bend one after the
    other, so their compliances add; twisting goes through both alike.

    Raises:
        Mistake: the leaves are not of one thickness or length.
    """
    thick = (a.piece.thickness_mm, b.piece.thickness_mm)
    if abs(thick[0] - thick[1]) > 0.1 * min(thick):
        raise Mistake(
            f"the leaves are {thick[0]:g} and {thick[1]:g} mm thick",
            do="bring them to one thickness first; then tap again",
        )
    if abs(a.piece.length_mm - b.piece.length_mm) > 0.1 * a.piece.length_mm:
        raise Mistake("the leaves differ in length by more than a tenth", do="trim them to one length")
    width = a.piece.width_mm + b.piece.width_mm
    part = a.piece.width_mm / width
    h = (part * thick[0] ** 3 + (1 - part) * thick[1] ** 3) ** (1 / 3)
    cubes = ((thick[0] / h) ** 3, (thick[1] / h) ** 3)  # stiffness counts, not modulus
    # elements side by side add by width (Voigt), one after the other by compliance (Reuss): textbook averages
    along = part * a.elastic.e_along_mpa * cubes[0] + (1 - part) * b.elastic.e_along_mpa * cubes[1]
    g = part * a.elastic.g_mpa * cubes[0] + (1 - part) * b.elastic.g_mpa * cubes[1]
    across = 1 / (
        part / (a.elastic.e_across_mpa * cubes[0]) + (1 - part) / (b.elastic.e_across_mpa * cubes[1])
    )
    piece = Piece(
        (a.piece.length_mm + b.piece.length_mm) / 2, width, width, h, a.piece.weight_g + b.piece.weight_g
    )
    spread = {
        key: hypot(part * a.spread_pct[key], (1 - part) * b.spread_pct[key])
        for key in ("e_along", "e_across", "g")
    }
    return Constants(piece, a.elastic.at(along, across, g), spread)


def pooled(apart: Constants, together: Constants) -> Constants:
    """The joined plate from both ways, each weighed by its spread."""
    values, spread = [], {}
    for key, attribute in (("e_along", "e_along_mpa"), ("e_across", "e_across_mpa"), ("g", "g_mpa")):
        weights = apart.spread_pct[key] ** -2, together.spread_pct[key] ** -2
        total = sum(weights)
        # weighted mean of independent estimates, weights 1 / variance
        values.append(
            (
                weights[0] * getattr(apart.elastic, attribute)
                + weights[1] * getattr(together.elastic, attribute)
            )
            / total
        )
        spread[key] = total**-0.5
    return Constants(together.piece, together.elastic.at(*values), spread)
