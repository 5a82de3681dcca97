"""After the clamps: step, centre line, joined width against the outline; each kept as a reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
from pydantic import Field

from seamlight.document import Document, Figure, MaybeFigure, Part
from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.seam import fit_again, judge_centre_line, judge_step
from seamlight.shop.change import Change
from seamlight.shop.readings import keep_reading
from seamlight.shop.tables import Reading
from seamlight.units import Unit, show_length

AFTER = "after"
WIDEST_MM = 700.0
Width = tuple[float, float, float]  # along the seam from the outline's neck end; seam to left, to right edge


class StepPart(Part):
    """The step at the seam against the thickness still to come off."""

    step_mm: Figure
    thickness_mm: Figure
    target_mm: Figure
    ok: bool
    to_spare_mm: Figure
    says: str


class CentrePart(Part):
    """The pencilled centre line against the seam, to the right above 0."""

    neck_off_mm: Figure
    tail_off_mm: Figure
    ok: bool
    says: str


class FitPart(Part):
    """Room beside the outline and its trim on the joined plate; below 0: short."""

    outline: str
    trim_mm: Figure
    widths_mm: list[tuple[Figure, Figure, Figure]]
    left_mm: Figure
    at_left_mm: Figure
    right_mm: Figure
    at_right_mm: Figure
    ok: bool
    says: str


class AfterDocument(Document):
    """What was looked at once the joint had left the clamps. None where it was not."""

    schema_: Literal["seamlight/after/1"] = Field(default="seamlight/after/1", alias="schema")
    step: StepPart | None
    centre: CentrePart | None
    fit: FitPart | None
    joined_width_mm: MaybeFigure  # the greatest width that was measured

    @property
    def ok(self) -> bool:
        """Whether nothing that was looked at is amiss."""
        return all(part.ok for part in (self.step, self.centre, self.fit) if part is not None)


def step_part(step_mm: float, thickness_mm: float, target_mm: float, unit: Unit = "mm") -> StepPart:
    """The step, judged.

    Raises:
        Mistake: a measure that cannot be.
    """
    found = judge_step(step_mm, thickness_mm, target_mm, unit)
    return StepPart(
        step_mm=step_mm, thickness_mm=thickness_mm, target_mm=target_mm,
        ok=found.ok, to_spare_mm=found.to_spare_mm, says=found.says,
    )  # fmt: skip


def centre_part(neck_off_mm: float, tail_off_mm: float, unit: Unit = "mm") -> CentrePart:
    """The centre line, judged."""
    ok, says = judge_centre_line(neck_off_mm, tail_off_mm, unit)
    return CentrePart(neck_off_mm=neck_off_mm, tail_off_mm=tail_off_mm, ok=ok, says=says)


def fit_part(outline: Outline, widths: Sequence[Width], trim_mm: float, unit: Unit = "mm") -> FitPart:
    """The outline fitted to the plate as it was joined.

    Args:
        outline: the body.
        widths: places along the seam from the outline's neck end, rising.
        trim_mm: wood wanted beyond the outline.

    Raises:
        Mistake: fewer than two places, or none of the body lies between them.
    """
    y, left, right = (np.array(column, dtype=float) for column in zip(*widths, strict=True))
    if max(left.max(), right.max()) > WIDEST_MM:
        raise Mistake(f"a half of more than {WIDEST_MM:g} mm", where="widths", do="check the unit")
    found = fit_again(outline, y, left, right, trim_mm)
    short = [
        f"{side} half is short by {show_length(-room, unit)} at {show_length(at, unit, 0)} from the neck end"
        for side, room, at in (
            ("the left", found.left_mm, found.at_left_mm),
            ("the right", found.right_mm, found.at_right_mm),
        )
        if room < 0
    ]
    spare = show_length(min(found.left_mm, found.right_mm), unit)
    kept = f"{outline.name} fits: at least {spare} beyond its trim"
    says = "; ".join([*short, "take less trim, a smaller outline, or wings"]) if short else kept
    return FitPart(
        outline=outline.name, trim_mm=trim_mm, widths_mm=list(widths),
        left_mm=found.left_mm, at_left_mm=found.at_left_mm,
        right_mm=found.right_mm, at_right_mm=found.at_right_mm, ok=not short, says=says,
    )  # fmt: skip


def note_after(
    change: Change,
    pair_id: int,
    says: Mapping[str, str],
    *,
    step: StepPart | None = None,
    centre: CentrePart | None = None,
    fit: FitPart | None = None,
    unit: Unit = "mm",
) -> Reading:
    """Keep what was looked at after the clamps.

    Raises:
        Mistake: nothing was.
    """
    if step is None and centre is None and fit is None:
        raise Mistake("nothing was typed", where="step", do="write what was measured; the rest can follow")
    warnings = []
    if fit is not None:
        first, last = (show_length(fit.widths_mm[i][0], unit, 0) for i in (0, -1))
        warnings.append(f"the outline was checked from {first} to {last}, straight in between")
    width = max(left + right for _, left, right in fit.widths_mm) if fit is not None else None
    document = AfterDocument(warnings=warnings, step=step, centre=centre, fit=fit, joined_width_mm=width)
    return keep_reading(change, AFTER, document, pair_id=pair_id, says=says)
