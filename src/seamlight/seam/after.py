"""After the clamps: the step at the seam, the centre line, the joined width."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.seam.profile import Floats
from seamlight.units import Unit, show_length

CLEAN_UP_MM = 0.1  # for scraper and sanding scratches (common practice, no source)
CENTRE_MM = 0.5  # the centre line may be off the seam by this much at either end (common practice, no source)


@dataclass(frozen=True)
class StepVerdict:
    """Whether the wood still to come off takes a step at the seam with it."""

    ok: bool
    to_spare_mm: float  # thickness left over once the step is gone; below 0: too thin by that much
    says: str


def judge_step(step_mm: float, thickness_mm: float, target_mm: float, unit: Unit = "mm") -> StepVerdict:
    """A step at the seam against the thickness still to come off.

    Leaves of one thickness stand proud on opposite faces, so levelling both faces takes the step off the
    whole plate once.

    Args:
        step_mm: how far one leaf stands proud at the seam.
        thickness_mm: of the leaves now.
        target_mm: of the finished plate.
        unit: what lengths are said in.

    Raises:
        Mistake: a measure below 0, or a plate that is already too thin.
    """
    if step_mm < 0 or target_mm <= 0 or thickness_mm <= 0:
        raise Mistake("a measure is below 0", do="give step, thickness and target as lengths")
    if thickness_mm < target_mm:
        now, then = show_length(thickness_mm, unit, 2), show_length(target_mm, unit, 2)
        raise Mistake(f"{now} is thinner than the {then} wanted", do="check both thicknesses")
    spare = thickness_mm - target_mm - step_mm - CLEAN_UP_MM
    if spare >= 0:
        left = show_length(spare, unit)
        return StepVerdict(True, spare, f"yes: the step comes off with the rest, {left} to spare")
    return StepVerdict(
        False,
        spare,
        f"no: with the step off the plate is {show_length(target_mm + spare, unit)} where"
        f" {show_length(target_mm, unit)} is wanted;"
        " take it apart and glue again, or scrape one leaf only and live with it",
    )


def judge_centre_line(neck_off_mm: float, tail_off_mm: float, unit: Unit = "mm") -> tuple[bool, str]:
    """Whether the pencilled centre line lies on the seam; both ends are checked, never one alone.

    Args:
        neck_off_mm, tail_off_mm: from the line to the seam, to the right above 0.
    """
    worst = max(abs(neck_off_mm), abs(tail_off_mm))
    if worst <= CENTRE_MM:
        return True, "the centre line is on the seam at both ends"
    off = show_length(worst, unit)
    return False, f"the centre line is {off} off the seam: draw it again from both ends of the seam"


@dataclass(frozen=True)
class JoinedFit:
    """Room beside the outline on the joined plate; below 0: short."""

    left_mm: float
    right_mm: float
    at_left_mm: float  # along the body from the neck end, where it is least
    at_right_mm: float


def fit_again(
    outline: Outline, y_mm: Floats, left_mm: Floats, right_mm: Floats, trim_mm: float = 3.0
) -> JoinedFit:
    """The outline against the plate as it was joined.

    Args:
        outline: the body.
        y_mm: (n,) where the plate was measured, along the seam from the outline's neck end, rising.
        left_mm, right_mm: (n,) from the seam to the plate's edge on either side.
        trim_mm: wood wanted beyond the outline.

    Raises:
        Mistake: fewer than two places, or none of the body between them.
    """
    if y_mm.size < 2 or (np.diff(y_mm) <= 0).any():
        raise Mistake(
            "the width is measured in two places at least", do="measure at both bouts, neck end first"
        )
    right_half = outline.half_mm
    left_half = right_half if outline.left_half_mm is None else outline.left_half_mm
    found: list[tuple[float, float]] = []
    for half, width in ((left_half, left_mm), (right_half, right_mm)):
        inside = (half[:, 1] >= y_mm[0]) & (half[:, 1] <= y_mm[-1])
        if not inside.any():
            raise Mistake(
                "the width was measured beside the body", do="measure along it, from the outline's neck end"
            )
        room = np.interp(half[inside, 1], y_mm, width) - half[inside, 0] - trim_mm
        at = int(np.argmin(room))
        found.append((float(room[at]), float(half[inside, 1][at])))
    (left, at_left), (right, at_right) = found
    return JoinedFit(left, right, at_left, at_right)
