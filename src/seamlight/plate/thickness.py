"""From stiffness to a thickness that can be defended: rules by name and formula, each with its source."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from seamlight.mistake import Mistake
from seamlight.plate.static import Rig, deflection_mm
from seamlight.plate.stiffness import Elastic
from seamlight.units import likely_slip

Rule = Literal["stiffness along", "deflection", "frequency", "mass", "stiffness both ways"]

# Between which a finished top or back lies, mm; common practice, no source
THINNEST_MM, THICKEST_MM = 1.5, 6.0
LITTLE_LEFT_MM = 0.3  # wood over the target under which it is scraped, not sanded; common practice, no source
_MOST_BENT = 1 / 20  # of the span, over which a beam's formula runs short (textbook)
WORK_TOLERANCE_MM = 0.05  # what a thickness sander and a calliper hold; common practice, no source


@dataclass(frozen=True)
class RuleFacts:
    """A rule in words, its formula, and where it comes from."""

    name: Rule
    words: str
    formula: str
    source: str


RULES: dict[Rule, RuleFacts] = {
    one.name: one
    for one in (
        RuleFacts(
            "stiffness along",
            "as stiff along the grain as the plate you liked",
            "h = h_ref (E_along,ref / E_along)^(1/3)",
            "E h^3 / 12: A. W. Leissa, NASA SP-160 (1969), 9.1; the choice: common practice, no source",
        ),
        RuleFacts(
            "deflection",
            "bends as far on your rig as you want",
            "h = h_now (deflection at h_now / wanted)^(1/3)",
            "beam on two supports, textbook; the choice: common practice, no source",
        ),
        RuleFacts(
            "frequency",
            "the finished outline's plate rings as low as the reference's",
            "h = h_ref (f1_ref at 1 mm / f1 at 1 mm), f1 of a thin plate going with h",
            "thin plate: A. W. Leissa, NASA SP-160 (1969), 9.1; the choice: common practice, no source",
        ),
        RuleFacts(
            "mass",
            "as heavy as the plate you liked",
            "h = h_ref rho_ref / rho",
            "weight is density by volume; the choice: common practice, no source",
        ),
        RuleFacts(
            "stiffness both ways",
            "as stiff as the plate you liked, along and across weighed",
            "h = h_ref ((E_along,ref / E_along)^w (E_across,ref / E_across)^(1 - w))^(1/3)",
            "common practice, no source",
        ),
    )
}


@dataclass(frozen=True)
class Board:
    """A plate to be thinned: constants, density, thickness now (mm).

    `stiffness_spread_pct` is the spread of E h^3 along and across, without the calliper's doubt: the wood to
    come off is read with the same calliper.
    """

    elastic: Elastic
    density_kg_m3: float
    thickness_mm: float
    stiffness_spread_pct: tuple[float, float] = (2.0, 2.0)


@dataclass(frozen=True)
class Reference:
    """The plate you liked, at its finished thickness.

    `first_hz`: its outline's plate's lowest frequency; `moisture_pct`: at which its constants are; None
    unknown.
    """

    label: str
    elastic: Elastic
    density_kg_m3: float
    thickness_mm: float
    first_hz: float | None = None
    moisture_pct: float | None = None


@dataclass(frozen=True)
class Target:
    """A thickness with its reason; mm, g.

    Attributes:
        sd_mm: standard deviation from the spread of the constants.
        tolerance_mm: what the work may be off: the greater of the bench's and `sd_mm`.
        weight_g: of the finished plate of the given area; None without an area.
        off_each_face_mm: wood still to come off each face; below 0 there is none left.
        how: how to take it off; what to watch.
    """

    rule: Rule
    thickness_mm: float
    sd_mm: float
    tolerance_mm: float
    weight_g: float | None
    off_each_face_mm: float
    why: str
    source: str
    how: tuple[str, ...] = field(default=())


def checked_thickness_mm(
    value_mm: float, *, where: str, low: float = THINNEST_MM, high: float = THICKEST_MM
) -> float:
    """A typed thickness of a plate, mm.

    Raises:
        Mistake: it cannot be meant; says what it may have been meant for.

    >>> checked_thickness_mm(2.8, where="target")
    2.8
    """
    slip = likely_slip(value_mm, low, high)
    if slip:
        raise Mistake(f"a thickness of {slip}", where=where, do="check the point and the unit")
    return value_mm


def by_rule(
    rule: Rule,
    board: Board,
    reference: Reference | None = None,
    *,
    weight_along: float = 0.5,
    area_mm2: float | None = None,
    rig: Rig | None = None,
    rig_width_mm: float | None = None,
    wanted_deflection_mm: float | None = None,
    first_hz_per_mm: float | None = None,
) -> Target:
    """The thickness that a rule asks of a board.

    Args:
        weight_along: of "stiffness both ways", 0..1.
        area_mm2: of the finished outline less the soundhole, for the weight.
        rig, rig_width_mm, wanted_deflection_mm: for "deflection": the rig, the width of the plate on it.
        first_hz_per_mm: for "frequency": lowest frequency of this board's outline plate at 1 mm thickness.

    Raises:
        Mistake: what the rule needs is missing, or the answer is no thickness of a guitar's plate.
    """
    if rule == "deflection":
        if rig is None or rig_width_mm is None or wanted_deflection_mm is None:
            raise Mistake(
                "the rule of equal deflection needs your rig",
                do="give span, load, place, width and deflection",
            )
        h, share = _by_deflection(board, rig, rig_width_mm, wanted_deflection_mm), (1.0, 0.0)
        why = f"bends {wanted_deflection_mm:g} mm under {rig.load_n:.3g} N over {rig.span_mm:g} mm"
    else:
        if reference is None:
            raise Mistake(f"the rule of {rule} needs a plate you liked", do="choose a reference plate")
        h, share, why = _by_reference(rule, board, reference, weight_along, first_hz_per_mm)
    checked_thickness_mm(h, where=f"the rule of {rule} gives", low=1.0, high=8.0)
    # h goes with stiffness^(-1/3)
    sd = (
        h / 3 / 100 * sum((s * p) ** 2 for s, p in zip(share, board.stiffness_spread_pct, strict=True)) ** 0.5
    )
    off = (board.thickness_mm - h) / 2
    return Target(
        rule,
        h,
        sd,
        max(WORK_TOLERANCE_MM, sd),
        None if area_mm2 is None else board.density_kg_m3 * area_mm2 * h * 1e-6,
        off,
        why,
        RULES[rule].source,
        how_to_take_off(board.thickness_mm, h),
    )


def _by_deflection(board: Board, rig: Rig, width_mm: float, wanted_mm: float) -> float:
    if not 0 < wanted_mm <= rig.span_mm * _MOST_BENT:
        perhaps = f"; perhaps {wanted_mm / 10:g} mm" if 0 < wanted_mm / 10 <= rig.span_mm * _MOST_BENT else ""
        raise Mistake(
            f"a deflection of {wanted_mm:g} mm is more than a twentieth of the span of {rig.span_mm:g} mm"
            if wanted_mm > 0
            else "the deflection wanted must be above 0",
            where="the deflection wanted",
            do=f"check the point and the unit{perhaps}",
        )
    e_over_g = (
        board.elastic.e_along_mpa / board.elastic.g_along_thick_mpa
        if board.elastic.g_along_thick_mpa
        else 0.0
    )
    h = board.thickness_mm
    for _ in range(3):  # shear hardly depends on the thickness
        now = deflection_mm(rig, width_mm, h, board.elastic.e_along_mpa, e_over_g)
        h *= (now / wanted_mm) ** (1 / 3)
    return h


def _by_reference(
    rule: Rule, board: Board, ref: Reference, weight_along: float, first_hz_per_mm: float | None
) -> tuple[float, tuple[float, float], str]:
    """Thickness, how it hangs on the stiffness along and across, and why."""
    along = ref.elastic.e_along_mpa / board.elastic.e_along_mpa
    across = ref.elastic.e_across_mpa / board.elastic.e_across_mpa
    told = f"{ref.label} at {ref.thickness_mm:.2f} mm"
    if rule == "stiffness along":
        why = f"as stiff along as {told}, whose E along is {_against(along)}"
        return ref.thickness_mm * along ** (1 / 3), (1.0, 0.0), why
    if rule == "mass":
        why = f"as heavy for its size as {told}, whose density is {ref.density_kg_m3:.0f} kg/m3"
        return ref.thickness_mm * ref.density_kg_m3 / board.density_kg_m3, (0.0, 0.0), why
    if rule == "stiffness both ways":
        if not 0 <= weight_along <= 1:
            raise Mistake(f"{weight_along:g} is no weight of stiffness along", do="give 0 to 1")
        both = along**weight_along * across ** (1 - weight_along)
        why = f"as stiff as {told}, along counted {100 * weight_along:.0f} % and across the rest"
        return ref.thickness_mm * both ** (1 / 3), (weight_along, 1 - weight_along), why
    if ref.first_hz is None or first_hz_per_mm is None:
        raise Mistake(
            "the rule of equal frequency needs the outline's plate of both",
            do="give the outline to compute them",
        )
    # a thin plate's frequencies go with its thickness and the root of its stiffness, so h goes with the
    # root of a mean of E along and E across: half of 3/2 of a third each
    h = ref.first_hz / first_hz_per_mm
    return h, (0.75, 0.75), f"its outline's plate rings at {ref.first_hz:.0f} Hz, as that of {told}"


def _against(ratio: float) -> str:
    """A ratio in words.

    >>> _against(0.89)
    '11 % lower'
    """
    return f"{abs(100 * (ratio - 1)):.0f} % {'higher' if ratio >= 1 else 'lower'}"


def how_to_take_off(now_mm: float, target_mm: float) -> tuple[str, ...]:
    """What may still come off and how; common practice, no source (trade's habits)."""
    left = now_mm - target_mm
    if left < 0:
        return (f"already {-left:.2f} mm under this target: choose another rule or plate, or brace for it",)
    lines = []
    if left <= LITTLE_LEFT_MM:
        lines += [
            f"only {left:.2f} mm over the target for both faces ({left / 2:.2f} mm each): scrape, do not sand"
            " by drum, whose scratches alone go this deep",
            f"the joint may step by no more than {left / 2:.2f} mm; find out before gluing",
        ]
    elif left > 1.0:
        lines.append("leave 0.3 mm, let it rest a day or more, and take the last when it has stopped moving")
    return tuple(lines)
