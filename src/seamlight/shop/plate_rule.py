"""The shop's rule of thickness, the plate it liked, and what a read board comes to by it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any, Literal

from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.outline import Outline
from seamlight.plate import (
    RULES,
    Board,
    Elastic,
    Reference,
    Rig,
    TapDocument,
    Target,
    average_reference,
    targets_of,
)
from seamlight.plate.meaning import at_moisture
from seamlight.plate.thickness import Rule, checked_thickness_mm
from seamlight.shop.change import Change
from seamlight.shop.settings import keep_setting, setting
from seamlight.timber.elastic import elastic_ratios

Use = Literal["top", "back"]
_WITHOUT_OUTLINE: tuple[Rule, ...] = ("stiffness along", "stiffness both ways", "mass")


@dataclass(frozen=True)
class ShopRule:
    """How this shop settles a thickness.

    Attributes:
        reference: the plate it liked; None: an average plate of the species.
        rig, wanted_mm: for the rule of deflection: its rig and how far a finished plate gives on it.
    """

    rule: Rule = "stiffness along"
    reference: Reference | None = None
    rig: Rig | None = None
    wanted_mm: float | None = None


def shop_rule(session: Session, use: Use) -> ShopRule:
    """The rule for tops or for backs."""
    said: dict[str, Any] = setting(session, _key(use), {})
    rule = next((name for name in RULES if name == said.get("rule")), ShopRule.rule)
    liked, rig = said.get("reference"), said.get("rig")
    reference = Reference(**{**liked, "elastic": Elastic(**liked["elastic"])}) if liked else None
    return ShopRule(rule, reference, Rig(**rig) if rig else None, said.get("wanted_mm"))


def keep_shop_rule(change: Change, use: Use, rule: ShopRule) -> None:
    """Settle thicknesses so from now on.

    Raises:
        Mistake: the rule of deflection without a rig.
    """
    if rule.rule == "deflection" and (rule.rig is None or rule.wanted_mm is None):
        raise Mistake(
            "the rule of deflection needs your rig",
            where="rig_span",
            do="give span, load, where it hangs and how far a finished plate gives",
        )
    keep_setting(change, _key(use), asdict(rule))


def reference_from(document: TapDocument, label: str, thickness_mm: float, wood: str | None) -> Reference:
    """A plate you liked, from its reading and its finished thickness.

    Raises:
        Mistake: the reading told no stiffness or no density; a thickness that cannot be.
    """
    return Reference(
        label,
        elastic_of(document, wood),
        _density(document),
        checked_thickness_mm(thickness_mm, where="liked_thickness", low=1.0, high=12.0),
        moisture_pct=document.moisture.moisture_pct if document.moisture else None,
    )


def elastic_of(document: TapDocument, wood: str | None) -> Elastic:
    """A reading's constants; what it did not tell follows from the species' ratios.

    Raises:
        Mistake: the reading told nothing along the grain.
    """
    along = document.e_along_mpa
    if along is None:
        raise Mistake("this reading tells nothing along the grain", do="tap it, or load it along")
    ratios = elastic_ratios(wood)
    return Elastic(
        along,
        document.e_across_mpa or along * ratios.e_radial,
        document.g_mpa or along * ratios.g_lr,
        document.nu_along,
        along * ratios.g_lt,
        along * ratios.g_rt,
    )


def targets(
    document: TapDocument, said: ShopRule, wood: str | None, outline: Outline | None
) -> tuple[tuple[Target, ...], tuple[str, ...]]:
    """Thicknesses by every rule that can be had, the shop's own first, and what they rest on.

    Raises:
        Mistake: the reading told too little.
    """
    reference = said.reference or average_reference(wood)
    board, notes = _beside(document, reference, wood)
    size = document.size
    area_mm2 = size.length_mm * (size.width1_mm + size.width2_mm) / 2
    found: list[Target] = []
    fault = None
    for rule in _in_order(said, outline):
        try:
            found += _one(rule, board, reference, outline, area_mm2, said, area_mm2 / size.length_mm)
        except Mistake as mistake:
            fault = fault or mistake
            notes.append(str(mistake))
    if not found and fault is not None:
        raise fault
    if said.reference is None:
        notes.append(f"no plate you liked is named yet: compared with {reference.label}, a place to start")
    if outline is None:
        notes.append("weights are of the piece as it is; choose an opening for the finished plate's")
    return tuple(found), tuple(notes)


@lru_cache(maxsize=256)
def _one(
    rule: Rule,
    board: Board,
    reference: Reference,
    outline: Outline | None,
    area_mm2: float,
    said: ShopRule,
    width_mm: float,
) -> tuple[Target, ...]:
    return targets_of(
        board,
        reference,
        rule,
        outline=outline,
        area_mm2=area_mm2,
        rig=said.rig,
        rig_width_mm=width_mm,
        wanted_deflection_mm=said.wanted_mm,
    )


def _in_order(said: ShopRule, outline: Outline | None) -> list[Rule]:
    rules: list[Rule] = [said.rule, *_WITHOUT_OUTLINE]
    if outline is not None:
        rules.append("frequency")
    if said.rig is not None and said.wanted_mm is not None:
        rules.append("deflection")
    return list(dict.fromkeys(rules))


def _beside(document: TapDocument, reference: Reference, wood: str | None) -> tuple[Board, list[str]]:
    """The board at the reference's moisture where both are known."""
    elastic, density, notes = elastic_of(document, wood), _density(document), []
    if document.moisture is not None and reference.moisture_pct is not None:
        elastic, _ = at_moisture(
            elastic, density, document.moisture.moisture_pct, reference.moisture_pct, wood
        )
        notes.append(
            f"compared at {reference.moisture_pct:.1f} % moisture; weights are of the wood as it is today"
        )
    elif document.moisture is not None or reference.moisture_pct is not None:
        notes.append("the moisture of one of the two is not known: compared as they are")
    spread = document.stiffness_spread_pct
    spreads = (50.0 if spread.e_along is None else spread.e_along, spread.e_across or 50.0)
    return Board(elastic, density, document.size.thickness_mm, spreads), notes


def _density(document: TapDocument) -> float:
    if not document.density_kg_m3:
        raise Mistake("a thickness needs the density", where="weight", do="weigh the piece")
    return document.density_kg_m3


def _key(use: Use) -> str:
    return f"plate rule {use}"
