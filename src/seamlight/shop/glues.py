"""Glues and how long they want: open, in the clamps, before planing, before thicknessing. A shop's own win.

It starts from the facts in `timber.glue`, each with its standing; the glue's own sheet and the shop's own
figures come first.
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from seamlight.mistake import Mistake
from seamlight.timber.glue import Glue as Facts
from seamlight.timber.glue import Range, glue, glue_names

SETTING_KEY = "glues"

OWN = "the shop's own"


class Span(BaseModel):
    """A time as a range, minutes: the least that will do and what is usual (the one promised)."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    least_min: float = Field(gt=0, le=525_600)
    usual_min: float = Field(gt=0, le=525_600)
    standing: str = OWN
    source: str = OWN


class Glue(BaseModel):
    """One glue.

    Attributes:
        open_time: from spreading to closing the joint.
        clamp: in the clamps, the joint not stressed.
        work: until it may be planed or stressed, counted from gluing.
        rest: until it may be thicknessed, counted from gluing: its water must leave, or the seam sinks later.
        least_temp_c: colder than this it does not hold; None where none is known.
        most_rh_pct: in damper air its water leaves slowly.
        most_wood_mc_pct: wetter wood raises lines at the seam later.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    key: str = Field(pattern=r"^[a-z0-9 -]{1,32}$")
    name: str = Field(min_length=1, max_length=40)
    open_time: Span | None = None
    clamp: Span
    work: Span
    rest: Span
    least_temp_c: float | None = Field(default=None, ge=-20, le=60)
    most_rh_pct: float | None = Field(default=None, ge=0, le=100)
    most_wood_mc_pct: float | None = Field(default=None, ge=0, le=60)
    note: str = Field(default="", max_length=300)

    def checked(self) -> Glue:
        """This glue, once its times make sense.

        Raises:
            Mistake: the usual time is below the least, or planing comes before the clamps come off.
        """
        for word, span in (("clamps", self.clamp), ("planing", self.work), ("thicknessing", self.rest)):
            if span.usual_min < span.least_min:
                raise Mistake(f"{self.name}: the usual time is below the least", where=word, do="swap them")
        for earlier, later, words in (
            (self.clamp, self.work, "may be planed before it leaves the clamps"),
            (self.work, self.rest, "may be thicknessed before it may be planed"),
        ):
            if later.least_min < earlier.least_min or later.usual_min < earlier.usual_min:
                raise Mistake(f"{self.name} {words}", where=self.key, do="give the later step more time")
        return self


HOUR_MIN, DAY_MIN = 60.0, 1440.0


def _span(known: Range, unit_min: float = 1.0) -> Span:
    return Span(
        least_min=known.low * unit_min,
        usual_min=known.high * unit_min,
        standing=known.standing,
        source=known.source,
    )


def _starting(known: Facts) -> Glue:
    """A glue as the facts of timber give it."""
    return Glue(
        key=known.key,
        name=known.name,
        open_time=_span(known.open_min),
        clamp=_span(known.clamp_min),
        work=_span(known.work_h, HOUR_MIN),
        rest=_span(known.rest_days, DAY_MIN),
        least_temp_c=known.wood_temp_c.low,
        most_rh_pct=known.air_rh_pct.high,
        most_wood_mc_pct=known.wood_mc_pct.high,
    )


STARTING_GLUES: tuple[Glue, ...] = tuple(_starting(glue(name)) for name in glue_names())


def glues_from(kept: object) -> tuple[Glue, ...]:
    """The glues to choose from: the starting ones, each replaced by the shop's own of the same key.

    Args:
        kept: the setting: a list of glues as the shop wrote them, or None.

    Raises:
        Mistake: a figure that is none or out of range, or times in the wrong order.
    """
    own: dict[str, Glue] = {}
    if kept is not None and not isinstance(kept, list | tuple):
        raise Mistake("the glues are not a list", where=SETTING_KEY, do="enter them again")
    for one in kept or ():
        try:
            typed = Glue.model_validate(one).checked()
        except ValidationError as error:
            first = error.errors()[0]
            place = ".".join(str(part) for part in first["loc"])
            raise Mistake(f"glue: {first['msg']}", where=place, do="correct that figure") from None
        own[typed.key] = typed
    started = tuple(own.pop(known.key, known) for known in STARTING_GLUES)
    return (*started, *own.values())


def glue_of(key: str, glues: tuple[Glue, ...]) -> Glue:
    """A glue by its key.

    Raises:
        Mistake: no such glue.
    """
    for one in glues:
        if one.key == key:
            return one
    raise Mistake(f"no glue is called {key!r}", do=f"choose one of: {', '.join(g.key for g in glues)}")
