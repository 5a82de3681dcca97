"""Whether two ways to the same constant agree, and what may be wrong where they do not."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, log
from typing import Literal

Way = Literal["taps", "deflection", "leaves apart"]

# Taps read higher than a slow weight, since wood gives a little with time; common practice, no source
TAPS_HIGHER_PCT = 5.0
_AGREES_WITHIN = 2.0  # standard deviations


@dataclass(frozen=True)
class Estimate:
    """One way's figure: MPa (or any unit, the same in both), spread in percent, and what it was got under."""

    way: Way
    value: float
    spread_pct: float
    moisture_pct: float | None = None
    span_over_thickness: float | None = None
    sure: float = 1.0  # that its mode was told rightly


@dataclass(frozen=True)
class Agreement:
    """Two ways side by side.

    Attributes:
        differ_pct: how much the first is above the second.
        agrees: within two standard deviations of both together, the slow weight's usual give let off.
        reasons: what may be wrong, likeliest first; empty where they agree.
    """

    differ_pct: float
    agrees: bool
    reasons: tuple[str, ...]


def agreement(a: Estimate, b: Estimate) -> Agreement:
    """Compare two ways to one constant of one piece."""
    differ = 100 * (a.value / b.value - 1)
    spread = hypot(a.spread_pct, b.spread_pct)
    give = 0.0
    if {a.way, b.way} == {"taps", "deflection"}:
        give = TAPS_HIGHER_PCT if a.way == "taps" else -TAPS_HIGHER_PCT
    low, high = min(0.0, give), max(0.0, give)  # anything from no give to the usual one is expected
    over = max(differ - high, low - differ, 0.0)
    agrees = over <= _AGREES_WITHIN * spread
    return Agreement(differ, agrees, () if agrees else _reasons(a, b, differ))


def _reasons(a: Estimate, b: Estimate, differ_pct: float) -> tuple[str, ...]:
    lines = []
    for one in (a, b):
        if one.sure < 0.8:
            lines.append(f"the mode taken from the {one.way} is not sure: name the peaks or tap elsewhere")
    ratio = abs(log(a.value / b.value))
    if "taps" in (a.way, b.way) and ratio > log(1.6):
        lines.append(
            f"the ways differ by {abs(differ_pct):.0f} %, as when another mode was taken, or the weight was"
            " given in other units: check both"
        )
    if a.moisture_pct is not None and b.moisture_pct is not None and abs(a.moisture_pct - b.moisture_pct) > 1:
        lines.append(
            f"the wood was at {a.moisture_pct:.1f} % moisture for one, {b.moisture_pct:.1f} % for the other"
        )
    for one in (a, b):
        if one.span_over_thickness is not None and one.span_over_thickness < 50:
            lines.append(
                f"the span was only {one.span_over_thickness:.0f} thicknesses: shear and dents under the"
                " supports make wood look soft"
            )
    if {a.way, b.way} == {"taps", "deflection"}:
        slow_is_stiffer = (differ_pct < 0) == (a.way == "taps")
        lines.append(
            "the weight made it look stiffer than the taps: was the deflection read from the loaded zero, did"
            " the piece lie hollow, or did the weight hold it flat across?"
            if slow_is_stiffer
            else "the weight made it look softer than the taps: read at once after loading, seat the supports"
            " and check the span"
        )
    lines.append("thickness, width and length count alike in both ways and cannot be the cause")
    return tuple(lines)
