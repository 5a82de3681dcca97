"""The shop's air: what wood settles at in it, how a plate moves when it changes, whether glue may go on."""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.timber.glue import DEFAULT_GLUE, Glue, glue
from seamlight.timber.moisture import emc_pct
from seamlight.timber.movement import doubts, movement_across, width_change_mm
from seamlight.timber.species import species
from seamlight.units import show_temperature

ASSUMED_SPECIES = "Sitka spruce"


@dataclass(frozen=True)
class GlueWeather:
    """Whether a glue may go on in this air, and why or why not."""

    ok: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Air:
    """What the air does to wood. None where it was not asked or no figure is there; warnings say which."""

    emc_pct: float
    to_emc_pct: float | None
    movement_mm: float | None  # below 0: narrower
    glue: GlueWeather
    warnings: tuple[str, ...]


def glue_weather(temp_c: float, rh_pct: float, which: Glue | None = None) -> GlueWeather:
    """Whether a glue may go on wood that has settled in this air; warm the wood, not only the room.

    The glue's temperature, the damp end of its air and the dry end of its wood's moisture forbid; between its
    air's dry end and its wood's dry end the answer is yes, with a word.

    Raises:
        Mistake: no such air.
    """
    which = which or glue(DEFAULT_GLUE)
    settles = emc_pct(temp_c, rh_pct)
    no: list[str] = []
    but: list[str] = []
    if temp_c < which.wood_temp_c.low:
        no.append(
            f"{show_temperature(temp_c)} is below the {show_temperature(which.wood_temp_c.low)} that"
            f" {which.name} wants: warm the wood, not only the room"
        )
    if temp_c > which.wood_temp_c.high:
        no.append(
            f"{show_temperature(temp_c)} is above {show_temperature(which.wood_temp_c.high)}:"
            f" {which.name} skins before it is closed"
        )
    if rh_pct > which.air_rh_pct.high:
        no.append(
            f"too damp: {rh_pct:.0f} % RH is over {which.air_rh_pct.high:g} %, wood settles at"
            f" {settles:.1f} % and shrinks later: no joining, bracing or closing"
        )
    elif settles < which.wood_mc_pct.low:
        no.append(
            f"too dry: wood settles at {settles:.1f} %, under {which.wood_mc_pct.low:g} %,"
            " and swells in any house: wait or damp the air"
        )
    elif rh_pct < which.air_rh_pct.low:
        but.append(f"on the dry side: {rh_pct:.0f} % RH; a plate joined now swells in a damper house")
    elif settles > which.wood_mc_pct.high:
        but.append(f"at the damp end: wood settles at {settles:.1f} %; raised glue lines may show later")
    if no:
        return GlueWeather(False, (*no, *but))
    fine = (
        f"{show_temperature(temp_c)} and {rh_pct:.0f} % RH suit {which.name}; wood settles at {settles:.1f} %"
    )
    return GlueWeather(True, (fine, *but))


def judge_air(
    temp_c: float,
    rh_pct: float,
    *,
    to_rh_pct: float | None = None,
    to_temp_c: float | None = None,
    width_mm: float | None = None,
    species_name: str | None = None,
    ring_to_face_deg: float = 90.0,
    which: Glue | None = None,
) -> Air:
    """The air now, the air it changes to, and what a plate of `width_mm` across the grain does about it.

    Raises:
        Mistake: no such air or species.
    """
    now = emc_pct(temp_c, rh_pct)
    warnings: list[str] = []
    later: float | None = None
    moves: float | None = None
    wood = species(species_name or ASSUMED_SPECIES)
    if to_rh_pct is not None or to_temp_c is not None:
        later = emc_pct(
            temp_c if to_temp_c is None else to_temp_c, rh_pct if to_rh_pct is None else to_rh_pct
        )
    else:
        warnings.append("no air to change to was given: no movement")
    if later is not None and width_mm is None:
        warnings.append("no width was given: no movement")
    if later is not None and width_mm is not None:
        moves = width_change_mm(width_mm, wood, ring_to_face_deg, now, later)
        across = movement_across(wood, ring_to_face_deg)
        if across is None:
            warnings.append(f"no movement figure for {wood.name} at this cut was found")
        else:
            warnings += [f"movement figure of {wood.name}: {across.source} ({across.standing})"]
            warnings += doubts(now, later)
        if species_name is None:
            warnings.append(f"no species was given: {wood.name} assumed")
    return Air(now, later, moves, glue_weather(temp_c, rh_pct, which), tuple(warnings))
