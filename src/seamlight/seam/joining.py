"""The glue-up: what glue, air and joint ask for, by each of the usual rigs, and what to do if it goes wrong.

The bench's timer takes the times; the air of the moment is stored with the glue-up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from seamlight.seam.bench import Bench
from seamlight.seam.clamping import (
    Wanted,
    WedgeDrive,
    clamp_count,
    rope_turns,
    wanted,
    wedge_drive,
    weight_kg,
)
from seamlight.seam.verdict import GLUE_TO_MM
from seamlight.timber.air import GlueWeather, glue_weather
from seamlight.timber.glue import Glue
from seamlight.timber.moisture import emc_pct

Rig = Literal["clamps", "wedges", "rope", "tape", "weights"]

TAPE_MPA = 0.05  # what stretched tape gives (common practice, no source)


@dataclass(frozen=True)
class GlueUp:
    """One joint's glue-up. `weather` and `mc_pct` are None where no air was read."""

    glue: Glue
    wanted: Wanted
    clamps: int  # light bar clamps
    wedge: WedgeDrive  # one wedge that gives all of it; share it among several
    rope_turns: int
    weight_kg: float
    weather: GlueWeather | None
    mc_pct: float | None  # what the wood settles at in this air
    cautions: tuple[str, ...]
    if_it_goes_wrong: str
    squeeze_out: str


def glue_up(
    bench: Bench,
    length_mm: float,
    *,
    closing_mpa: float = 0.0,
    wedge_angle_deg: float = 5.0,
    air: tuple[float, float] | None = None,
    glue: Glue | None = None,
) -> GlueUp:
    """What a joint's glue-up asks for.

    Args:
        bench: leaf, species and glue.
        length_mm: of the joint.
        closing_mpa: what pulls the joint shut (`closing`).
        wedge_angle_deg: of the rig's wedges.
        air: degrees C and relative humidity, %, now.
        glue: the bench's glue with the shop's own figures; as the facts have it where None.

    Raises:
        Mistake: no such leaf, species, glue, wedge or air.
    """
    leaf, glue = bench.leaf(length_mm), glue or bench.glue
    wants = wanted(leaf, glue, closing_mpa)
    return GlueUp(
        glue=glue,
        wanted=wants,
        clamps=clamp_count(wants.force_low_n, length_mm, bench.width_mm),
        wedge=wedge_drive(wants.force_low_n, wedge_angle_deg),
        rope_turns=rope_turns(wants.force_low_n),
        weight_kg=weight_kg(wants.force_low_n),
        weather=None if air is None else glue_weather(*air, glue),
        mc_pct=None if air is None else emc_pct(*air),
        cautions=(
            *bench.cautions,
            "weigh the seam flat under cauls with waxed paper: thin leaves buckle up and leave a step",
            "wedges driven too hard starve the joint: stop at an even bead of squeeze-out",
        ),
        if_it_goes_wrong=glue.if_it_goes_wrong,
        squeeze_out=glue.squeeze_out,
    )


def wood_against(mc_pct: tuple[float | None, float | None], glue: Glue) -> tuple[str, ...]:
    """What the two leaves' moisture by meter says against this glue; empty where nothing does.

    Args:
        mc_pct: of leaf A and B; None where not measured.
    """
    wants = glue.wood_mc_pct
    return tuple(
        f"leaf {leaf} was at {moisture:.1f} % by meter, {glue.name} wants {wants.low:g} to {wants.high:g} %:"
        f" let it {'dry' if moisture > wants.high else 'take up moisture'} first"
        for leaf, moisture in zip("AB", mc_pct, strict=True)
        if moisture is not None and not wants.holds(moisture)
    )


def rig_can(rig: Rig, closing_mpa: float, widest_mm: float) -> tuple[bool, str]:
    """Whether a rig pulls a hollow shut: rope and tape to 0.2 mm, clamps and wedges by their pressure.

    >>> rig_can("tape", 0.30, 0.3)[0], rig_can("wedges", 0.30, 0.3)[0]
    (False, True)
    """
    if rig in ("clamps", "wedges"):
        return True, f"{rig} give the {closing_mpa:.2f} MPa that it takes"
    if rig == "tape" and closing_mpa > TAPE_MPA and widest_mm > GLUE_TO_MM:
        return False, f"tape gives about {TAPE_MPA:g} MPa, {closing_mpa:.2f} are needed: use clamps or wedges"
    # common practice, no source: the working limit of rope and tape
    if widest_mm > 2 * GLUE_TO_MM:
        return False, f"{rig} closes hollows to {2 * GLUE_TO_MM:g} mm: take strokes, or use clamps or wedges"
    return True, f"{rig} closes a hollow of {widest_mm:.2f} mm"
