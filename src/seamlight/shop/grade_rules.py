"""A shop's own grades: what each asks of the wood inside the outline. Kept as a setting.

Sellers' grades can't be compared with one another (common practice, no source), so these are the shop's:
every figure is a starting value to be changed. Common practice, no source: 20 lines to the inch for the best
and 15 for the next, rings within 15 to 20 degrees of square to the face still called vertical, runout no
steeper than 1:28 in a top. The others are plain starting values with nothing behind them.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from seamlight.layout.opening import Zone
from seamlight.mistake import Mistake

STANDING = "common practice, no source"
SETTING_KEY = "grades"

Use = Literal["top", "back"]
USES: tuple[Use, ...] = ("top", "back")
ZONES_LOOKED_AT: tuple[Zone, ...] = ("open", "edge", "bridge", "fingerboard")  # the soundhole is cut out

# Criteria by their field in `GradeStep`: whether more is asked (least) or less (most).
LEAST: tuple[str, ...] = ("lines_per_inch", "ring_to_face_deg")
MOST: tuple[str, ...] = ("spread_deg", "tilt_deg", "runout_deg", "unevenness", "two_tone_pct")
FLAW_ZONES: dict[Zone, str] = {zone: f"flaw_{zone}_mm" for zone in ZONES_LOOKED_AT}


class GradeStep(BaseModel):
    """One grade and what it asks; None asks nothing.

    Attributes:
        lines_per_inch: least, mean over the wood inside the outline.
        ring_to_face_deg: least, 90 quartered.
        spread_deg: most that the grain's direction varies inside the outline.
        tilt_deg: most between grain and joint.
        runout_deg: most slope of the fibres to the face.
        unevenness: most, widest ring spacing over the tightest, 1 even.
        two_tone_pct: most difference in lightness of the halves in the less kind light.
        flaw_open_mm, flaw_edge_mm, flaw_bridge_mm, flaw_fingerboard_mm: longest flaw there; 0 for none.
        cracks: whether a crack that stays in the plate is let pass.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = Field(min_length=1, max_length=24)
    lines_per_inch: float | None = Field(default=None, gt=0, le=200)
    ring_to_face_deg: float | None = Field(default=None, ge=0, le=90)
    spread_deg: float | None = Field(default=None, ge=0, le=90)
    tilt_deg: float | None = Field(default=None, ge=0, le=90)
    runout_deg: float | None = Field(default=None, ge=0, le=90)
    unevenness: float | None = Field(default=None, ge=1, le=100)
    two_tone_pct: float | None = Field(default=None, ge=0, le=100)
    flaw_open_mm: float | None = Field(default=None, ge=0, le=1000)
    flaw_edge_mm: float | None = Field(default=None, ge=0, le=1000)
    flaw_bridge_mm: float | None = Field(default=None, ge=0, le=1000)
    flaw_fingerboard_mm: float | None = Field(default=None, ge=0, le=1000)
    cracks: bool = False


class GradeRules(BaseModel):
    """The shop's grades for tops and for backs, best first, and the name for what reaches none."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    top: tuple[GradeStep, ...] = Field(min_length=1, max_length=8)
    back: tuple[GradeStep, ...] = Field(min_length=1, max_length=8)
    below: str = Field(default="Practice", min_length=1, max_length=24)

    def steps(self, use: Use) -> tuple[GradeStep, ...]:
        """The grades for a top or a back."""
        return self.top if use == "top" else self.back

    def names(self, use: Use) -> tuple[str, ...]:
        """The grades' names, best first, the one that asks nothing last."""
        return (*(step.name for step in self.steps(use)), self.below)

    def checked(self) -> GradeRules:
        """These rules, once they are known to make sense.

        Raises:
            Mistake: two grades of one name, or a lower grade that asks more than the one above it.
        """
        for use in USES:
            names = self.names(use)
            if len({name.casefold() for name in names}) < len(names):
                raise Mistake("two grades have the same name", where=use, do="give each its own")
            steps = self.steps(use)
            for above, lower in pairwise(steps):
                _ask_no_more(above, lower, use)
        return self


def _ask_no_more(above: GradeStep, lower: GradeStep, use: str) -> None:
    """A piece that reaches a grade must reach those below it."""
    for field in (*LEAST, *MOST, *FLAW_ZONES.values()):
        high, low = getattr(above, field), getattr(lower, field)
        asks_more = low is not None and (high is None or (low > high if field in LEAST else low < high))
        if asks_more:
            said = "nothing" if high is None else f"{high:g}"
            raise Mistake(
                f"{lower.name} asks more than {above.name} ({WORDS[field]}: {low:g} against {said})",
                where=f"{use}: {WORDS[field]}",
                do=f"let {lower.name} ask the same or less, or leave it empty",
            )
    if above.cracks and not lower.cracks:
        raise Mistake(
            f"{above.name} lets cracks pass and {lower.name} does not",
            where=f"{use}: cracks",
            do=f"let them pass in {lower.name} too, or in neither",
        )


WORDS: dict[str, str] = {
    "lines_per_inch": "lines per inch",
    "ring_to_face_deg": "ring to face",
    "spread_deg": "straightness",
    "tilt_deg": "grain to the joint",
    "runout_deg": "runout",
    "unevenness": "evenness",
    "two_tone_pct": "two-tone",
    "flaw_open_mm": "flaws in the open",
    "flaw_edge_mm": "flaws at the edge",
    "flaw_bridge_mm": "flaws under the bridge",
    "flaw_fingerboard_mm": "flaws under the fingerboard",
    "cracks": "cracks",
}

# degrees(atan(1 / 28)), as common practice gives it
_ONE_IN_28_DEG = 2.0
_ONE_IN_15_DEG = 3.8

STARTING_RULES = GradeRules(
    top=(
        GradeStep(
            name="Master",
            lines_per_inch=20,
            ring_to_face_deg=80,
            spread_deg=0.7,
            tilt_deg=0.5,
            runout_deg=1.0,
            unevenness=1.4,
            two_tone_pct=3,
            flaw_open_mm=0,
            flaw_edge_mm=0,
            flaw_bridge_mm=0,
            flaw_fingerboard_mm=0,
        ),
        GradeStep(
            name="First",
            lines_per_inch=15,
            ring_to_face_deg=75,
            spread_deg=1.2,
            tilt_deg=1.0,
            runout_deg=_ONE_IN_28_DEG,
            unevenness=2.0,
            two_tone_pct=6,
            flaw_open_mm=0,
            flaw_edge_mm=4,
            flaw_bridge_mm=4,
            flaw_fingerboard_mm=4,
        ),
        GradeStep(
            name="Second",
            lines_per_inch=10,
            ring_to_face_deg=60,
            spread_deg=2.0,
            tilt_deg=2.0,
            runout_deg=_ONE_IN_15_DEG,
            unevenness=3.0,
            two_tone_pct=12,
            flaw_open_mm=3,
            flaw_edge_mm=10,
            flaw_bridge_mm=10,
            flaw_fingerboard_mm=10,
        ),
    ),
    back=(
        GradeStep(
            name="First",
            ring_to_face_deg=60,
            runout_deg=_ONE_IN_28_DEG,
            two_tone_pct=6,
            flaw_open_mm=0,
            flaw_edge_mm=4,
            flaw_bridge_mm=4,
            flaw_fingerboard_mm=4,
        ),
        GradeStep(
            name="Second",
            runout_deg=_ONE_IN_15_DEG,
            two_tone_pct=12,
            flaw_open_mm=4,
            flaw_edge_mm=10,
            flaw_bridge_mm=10,
            flaw_fingerboard_mm=10,
        ),
    ),
)


def rules_from(value: object) -> GradeRules:
    """The rules as they are kept or typed.

    Raises:
        Mistake: a figure that is none or out of range, or grades in the wrong order.
    """
    try:
        return GradeRules.model_validate(value).checked()
    except ValidationError as error:
        first = error.errors()[0]
        place = [str(part) for part in first["loc"]]
        field = WORDS.get(place[-1], place[-1]) if place else "grades"
        raise Mistake(
            f"{field}: {first['msg']}", where=" ".join((*place[:-1], field)), do="correct that figure"
        ) from None
