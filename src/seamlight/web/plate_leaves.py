"""Two leaves tapped apart, as the plate they will be; and beside the joined plate's own taps."""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.mistake import Mistake
from seamlight.plate import Constants, Piece, TapDocument, joined, pooled
from seamlight.shop.plate_bench import TAP, PlateRead, newest_of
from seamlight.shop.plate_rule import elastic_of


@dataclass(frozen=True)
class Together:
    """One way to the joined plate: name, then (constant, GPa, spread in GPa); or why there is none."""

    name: str
    figures: tuple[tuple[str, float, float], ...] = ()
    fault: str = ""


def leaves_together(read: tuple[PlateRead, ...], wood: str | None) -> tuple[Together, ...]:
    """Both leaves apart, the joined plate by its own taps, and both pooled; empty until both are read."""
    a, b, whole = (_constants(newest_of(read, piece, TAP), wood) for piece in ("a", "b", "joined"))
    if a is None or b is None:
        return ()
    try:
        apart = joined(a, b)
    except Mistake as mistake:
        return (Together("both leaves together", fault=str(mistake)),)
    ways = [_way("both leaves together", apart)]
    if whole is not None:
        ways += [
            _way("the joined plate's own taps", whole),
            _way("both, each by its spread", pooled(apart, whole)),
        ]
    return tuple(ways)


def _way(name: str, found: Constants) -> Together:
    values = (
        ("E along", found.elastic.e_along_mpa, found.spread_pct["e_along"]),
        ("E across", found.elastic.e_across_mpa, found.spread_pct["e_across"]),
        ("G", found.elastic.g_mpa, found.spread_pct["g"]),
    )
    return Together(name, tuple((what, mpa / 1000, mpa / 1000 * pct / 100) for what, mpa, pct in values))


def _constants(one: PlateRead | None, wood: str | None) -> Constants | None:
    """A reading's three constants; None where one of them was not told."""
    document: TapDocument | None = one.document if one is not None else None
    if document is None or not document.size.weight_g:
        return None
    spread = document.spread_pct
    if spread.e_along is None or spread.e_across is None or spread.g is None:
        return None
    size = document.size
    piece = Piece(size.length_mm, size.width1_mm, size.width2_mm, size.thickness_mm, size.weight_g or 0.0)
    told = {"e_along": spread.e_along, "e_across": spread.e_across, "g": spread.g}
    return Constants(piece, elastic_of(document, wood), told)
