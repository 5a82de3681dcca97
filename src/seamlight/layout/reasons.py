"""Why an opening stands where it does, in a maker's words.

Every length is written in mm with its unit, so that `units.said_in` can say it in a shop's own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from seamlight.grain.flaw import Flaw
from seamlight.layout.opening import FlawInside, LayoutSettings, Opening
from seamlight.layout.score import Key
from seamlight.layout.sound import COUNTS_FROM

# A maker's usual figures: common practice, no source.
_NO_FREEDOM_MM = 1.0
_LEAST_LINES_AT_EDGE = 15.0
_TIGHTER_BY = 1.25
_LEAST_JOINT_MM = 1.0
_LEAST_TRIM_MM = 1.0

_PLACES = {
    "soundhole": "falls in the soundhole and is cut out",
    "bridge": "lies under the bridge and its plate, hidden on both sides: keep it clear of the pin holes, "
    "fill it, and see that grain still runs across the plate",
    "fingerboard": "lies under the fingerboard: acceptable, best over a brace",
    "edge": "lies in the edge band: keep it out of the binding cutter's way",
    "open": "lies in the open",
}


@dataclass(frozen=True, eq=False)
class Told:
    """What the reasons need to know of the pair."""

    flaws_a: tuple[Flaw, ...]
    flaws_b: tuple[Flaw, ...]
    photographed_a: int  # flaws of the photographed face; those after it are of the other face
    photographed_b: int
    scale_error_mm: float
    slide_limit_mm: float
    length_a_mm: float
    length_b_mm: float
    body_mm: float


def reasons_of(opening: Opening, settings: LayoutSettings, told: Told, key: Key) -> Opening:
    """The opening with its reasons."""
    said = [*_fit(opening, settings, told), *_flaws(opening, told), *_grain(opening, key)]
    said += _planing(opening)
    if abs(opening.slide_mm) > told.slide_limit_mm + 1e-6:
        said.append(
            f"leaf B lies {abs(opening.slide_mm):.1f} mm along, more than the "
            f"{told.slide_limit_mm:.0f} mm that the shop allows: there its figure meets leaf A's"
        )
    return replace(opening, reasons=tuple(said))


def _fit(opening: Opening, settings: LayoutSettings, told: Told) -> list[str]:
    if opening.fits:
        said = [
            f"fits: {opening.spare_mm:.1f} mm to spare beside the outline, "
            f"{opening.end_spare_mm:.1f} mm at its ends"
        ]
        if opening.spare_mm < _NO_FREEDOM_MM:
            said = [
                f"fits, with {opening.spare_mm:.1f} mm to spare beside the outline: no sideways freedom, "
                "no straightening of the grain"
            ]
    else:
        said = [_short_sentence(opening), *_too_short(opening, settings, told)]
        said += _joint_first(opening, settings)
    if opening.marginal:
        said.append(
            f"marginal: that is within the scale's error of {told.scale_error_mm:.1f} mm; "
            "measure the leaf by hand"
        )
    return said


def _short_sentence(opening: Opening) -> str:
    worst = max(opening.short, key=lambda s: s.by_mm, default=None)
    if worst is None:
        return "does not fit"
    return (
        f"short by {worst.by_mm:.1f} mm on leaf {worst.leaf.upper()}, from {worst.from_mm:.0f} mm to "
        f"{worst.to_mm:.0f} mm from the neck end"
    )


def _too_short(opening: Opening, settings: LayoutSettings, told: Told) -> list[str]:
    """The leaf is not long enough, said in the body's own measures."""
    said = []
    for name, length in (("A", told.length_a_mm), ("B", told.length_b_mm)):
        trims = 2 * settings.end_trim_mm
        if length < told.body_mm + trims:
            lacking = max(0.0, told.body_mm - length)
            said.append(
                f"leaf {name} is {length:.0f} mm long and {told.body_mm + trims:.0f} mm are wanted: "
                f"{lacking:.0f} mm short for the body, {trims:.0f} mm for its end trims; the longest body "
                f"that fits is {max(0.0, length - trims):.0f} mm"
            )
    return said


def _joint_first(opening: Opening, settings: LayoutSettings) -> list[str]:
    """Nearly fits: what less planing and less trim would leave."""
    lacking = -opening.spare_mm
    less_joint = max(0.0, settings.joint_mm - _LEAST_JOINT_MM)
    less_trim = max(0.0, settings.trim_mm - _LEAST_TRIM_MM)
    if not 0 < lacking <= less_joint + less_trim + 1.0 or opening.end_spare_mm < 0:
        return []
    steps = []
    if less_joint:
        steps.append(
            f"planing {_LEAST_JOINT_MM:.0f} mm rather than {settings.joint_mm:g} mm: "
            f"{_spare_words(less_joint - lacking)}"
        )
    if less_trim:
        left = _spare_words(less_joint + less_trim - lacking)
        steps.append(f"with the trim cut to {_LEAST_TRIM_MM:.0f} mm too: {left}")
    return [
        "nearly: joint first, measure again, then decide; "
        + "; ".join(steps)
        + "; binding hides nothing here, since the outline is the outside of the binding"
    ]


def _spare_words(mm: float) -> str:
    return f"{mm:.1f} mm to spare" if mm >= 0 else f"short by {-mm:.1f} mm"


def _flaws(opening: Opening, told: Told) -> list[str]:
    said = []
    for found in opening.flaws_inside:
        flaw, other = _flaw(found, told)
        face = " on the other face" if other else ""
        name = f"{flaw.kind} {found.flaw} of leaf {found.leaf.upper()}{face}"
        if flaw.sure < COUNTS_FROM:
            said.append(f"perhaps a {name}: it {_PLACES[found.zone]}; look, it was not counted")
        else:
            said.append(f"{name} {_PLACES[found.zone]}")
    return said or ["no flaw inside the outline"]


def _flaw(found: FlawInside, told: Told) -> tuple[Flaw, bool]:
    flaws, own = (
        (told.flaws_a, told.photographed_a) if found.leaf == "a" else (told.flaws_b, told.photographed_b)
    )
    return flaws[found.flaw], found.flaw >= own


def _grain(opening: Opening, key: Key) -> list[str]:
    grain, said = opening.grain, []
    if grain.tilt_deg is None:
        said.append("the grain's direction was not read")
    else:
        said.append(f"grain {key.grain / 10:.1f} degrees off the joint at the seam")
    joint, edge = grain.lpi_joint, grain.lpi_edge
    if joint is not None and edge is not None:
        if joint >= edge * _TIGHTER_BY:
            said.append(
                f"tight wood at the seam: {joint:.0f} lines per inch there, {edge:.0f} at the outer edge"
            )
        elif edge >= joint * _TIGHTER_BY:
            said.append(
                f"wide wood at the seam: {joint:.0f} lines per inch there, {edge:.0f} at the outer edge; "
                "makers put the tight, quartered edge in unless a flaw or wane prevents it"
            )
        if edge < _LEAST_LINES_AT_EDGE:
            said.append(
                f"{edge:.0f} lines per inch at the outer edge: a note for the grade, no reason to reject it"
            )
    return said


def _planing(opening: Opening) -> list[str]:
    a, b = opening.a, opening.b
    return [
        f"plane off {a.planing_end1_mm:.1f} mm at end 1 and {a.planing_end2_mm:.1f} mm at end 2 of leaf A, "
        f"{b.planing_end1_mm:.1f} mm and {b.planing_end2_mm:.1f} mm of leaf B"
    ]
