"""The thicknesses that the shop's rules ask of a board, with a reference to compare with."""

from __future__ import annotations

from dataclasses import replace

from seamlight.mistake import Mistake
from seamlight.outline import Outline
from seamlight.plate.meaning import at_moisture
from seamlight.plate.outline_plate import outline_mesh, outline_plate
from seamlight.plate.result import PlateResult
from seamlight.plate.static import Rig
from seamlight.plate.stiffness import Elastic
from seamlight.plate.thickness import RULES, Board, Reference, Rule, Target, by_rule
from seamlight.timber.elastic import TRUE_OVER_BENDING, elastic_facts, elastic_ratios

# Finished steel-string tops 2.6 to 2.8 mm, classical 2.4, backs 2.5 to 3.4; common practice, no source
USUAL_TOP_MM = 2.8
_WITHOUT_OUTLINE: tuple[Rule, ...] = ("stiffness along", "mass", "stiffness both ways")
_AVERAGE = "Sitka spruce"


def rule_named(text: str) -> Rule:
    """A rule by its name.

    Raises:
        Mistake: no such rule; lists those there are.
    """
    wanted = " ".join(text.lower().replace("-", " ").replace("_", " ").split())
    for name in RULES:
        if name == wanted:
            return name
    raise Mistake(f"no rule is called {text!r}", where="--target", do=f"choose one of: {', '.join(RULES)}")


def average_reference(species: str | None, thickness_mm: float = USUAL_TOP_MM) -> Reference:
    """An average plate of a species at 12 % moisture and a usual top's thickness: only a place to start.

    Sitka spruce where the species is not named or has no figures.
    """
    facts = elastic_facts(species or _AVERAGE)
    if facts.bending_e_mpa is None or facts.density_kg_m3 is None:
        facts = elastic_facts(_AVERAGE)
    if facts.bending_e_mpa is None or facts.density_kg_m3 is None:
        raise Mistake(f"there are no figures for {facts.name}", do="give a plate you liked")
    e_along, ratios = facts.bending_e_mpa.value * TRUE_OVER_BENDING, elastic_ratios(facts.name)
    elastic = Elastic(
        e_along,
        e_along * ratios.e_radial,
        e_along * ratios.g_lr,
        ratios.nu_lr,
        e_along * ratios.g_lt,
        e_along * ratios.g_rt,
    )
    return Reference(
        f"an average {facts.name} plate by the Wood Handbook",
        elastic,
        facts.density_kg_m3.value,
        thickness_mm,
        moisture_pct=12.0,
    )


def board_beside(result: PlateResult, reference: Reference, species: str | None) -> tuple[Board, str]:
    """A result as a board to thin, at the reference's moisture where both are known; else a word about it.

    Raises:
        Mistake: nothing told the density.
    """
    if result.density_kg_m3 is None:
        raise Mistake("a thickness needs the density", do="give the weight")
    elastic, density, word = result.elastic, result.density_kg_m3, ""
    if result.moisture is not None and reference.moisture_pct is not None:
        elastic, _ = at_moisture(
            elastic, density, result.moisture.moisture_pct, reference.moisture_pct, species
        )
        word = f"compared at {reference.moisture_pct:.1f} % moisture; weights as the wood is today"
    elif result.moisture is not None or reference.moisture_pct is not None:
        word = "the moisture of one of the two is not known: compared as they are"
    return Board(elastic, density, result.piece.thickness_mm, result.stiffness_spread_pct), word


def targets_of(
    board: Board,
    reference: Reference,
    rule: Rule | None = None,
    *,
    outline: Outline | None = None,
    area_mm2: float | None = None,
    rig: Rig | None = None,
    rig_width_mm: float | None = None,
    wanted_deflection_mm: float | None = None,
) -> tuple[Target, ...]:
    """The target of one rule, or of every rule that what is given allows.

    Args:
        outline: for weights and for "frequency"; `area_mm2` is used without one.

    Raises:
        Mistake: the one rule asked for lacks what it needs.
    """
    rules: list[Rule] = [rule] if rule else list(_WITHOUT_OUTLINE)
    if rule is None and outline is not None:
        rules.append("frequency")
    if rule is None and rig is not None and wanted_deflection_mm is not None:
        rules.append("deflection")
    area, per_mm, liked = area_mm2, None, reference
    if outline is not None:
        grid = outline_mesh(outline)
        area = grid.area_mm2()
        if "frequency" in rules:
            own = outline_plate(
                outline, board.elastic, board.density_kg_m3, 1.0, "hinged", modes=1, grid=grid
            )
            other = outline_plate(
                outline,
                reference.elastic,
                reference.density_kg_m3,
                reference.thickness_mm,
                "hinged",
                modes=1,
                grid=grid,
            )
            per_mm = own.hz[0]
            liked = replace(reference, first_hz=other.hz[0])
    return tuple(
        by_rule(
            one,
            board,
            liked,
            area_mm2=area,
            rig=rig,
            rig_width_mm=rig_width_mm,
            wanted_deflection_mm=wanted_deflection_mm,
            first_hz_per_mm=per_mm,
        )
        for one in rules
    )
