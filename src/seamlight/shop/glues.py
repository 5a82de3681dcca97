"""Glues and how long they want: open, in the clamps, before planing, before thicknessing. A shop's own win.

Every figure carries its standing. Those given here are rules of the trade or from memory, never measured by
this program; the maker's own sheet and the shop's own figures come first.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from seamlight.mistake import Mistake

SETTING_KEY = "glues"

Standing = Literal["common practice, no source", "from memory", "the shop's own"]


class Span(BaseModel):
    """A time as a range, minutes: the least that will do and what is usual (the one promised)."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    least_min: float = Field(gt=0, le=525_600)
    usual_min: float = Field(gt=0, le=525_600)
    standing: Standing = "the shop's own"


class Glue(BaseModel):
    """One glue.

    Attributes:
        open_time: from spreading to closing the joint.
        clamp: in the clamps, the joint not stressed.
        work: until it may be planed or stressed, counted from gluing.
        rest: until it may be thicknessed, counted from gluing: its water must leave, or the seam sinks later.
        least_temp_c: colder than this it does not hold; None where none is known.
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


HOUR, DAY = 60.0, 1440.0


def _practice(least: float, usual: float) -> Span:
    return Span(least_min=least, usual_min=usual, standing="common practice, no source")


def _memory(least: float, usual: float) -> Span:
    return Span(least_min=least, usual_min=usual, standing="from memory")


_WET = 9.0  # % moisture content: wetter wood at glue-up gives raised lines later (common practice, no source)
_REST = _practice(3 * DAY, 7 * DAY)  # three days at least, a week usual, for the glue's water to leave

STARTING_GLUES: tuple[Glue, ...] = (
    Glue(
        key="pva",
        name="Yellow PVA (aliphatic)",
        open_time=_memory(5, 10),
        clamp=_practice(30, 60),
        work=_practice(DAY, DAY),
        rest=_REST,
        least_temp_c=10.0,  # 50 F: colder it chalks (common practice, no source)
        most_wood_mc_pct=_WET,
        note="Warm the wood, not only the room. Keeps about a year on the shelf.",
    ),
    Glue(
        key="hot hide",
        name="Hot hide glue",
        open_time=_memory(0.5, 2),
        clamp=_memory(12 * HOUR, DAY),
        work=_memory(12 * HOUR, DAY),
        rest=_REST,
        most_wood_mc_pct=_WET,
        note="Used at 60 to 65 °C on warmed wood; left overnight before planing.",
    ),
    Glue(
        key="fish",
        name="Fish glue or liquid hide glue",
        open_time=_memory(5, 10),
        clamp=_memory(12 * HOUR, DAY),
        work=_memory(DAY, DAY),
        rest=_REST,
        most_wood_mc_pct=_WET,
        note="Its maker's sheet comes first.",
    ),
    Glue(
        key="epoxy",
        name="Slow epoxy",
        open_time=_memory(15, 30),
        clamp=_memory(12 * HOUR, DAY),
        work=_memory(DAY, DAY),
        rest=_memory(DAY, 3 * DAY),
        least_temp_c=15.0,
        note="No water leaves it, but it cures on for days. Its maker's sheet comes first; gloves, air.",
    ),
)


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
            glue = Glue.model_validate(one).checked()
        except ValidationError as error:
            first = error.errors()[0]
            place = ".".join(str(part) for part in first["loc"])
            raise Mistake(f"glue: {first['msg']}", where=place, do="correct that figure") from None
        own[glue.key] = glue
    started = tuple(own.pop(glue.key, glue) for glue in STARTING_GLUES)
    return (*started, *own.values())


def glue_of(key: str, glues: tuple[Glue, ...]) -> Glue:
    """A glue by its key.

    Raises:
        Mistake: no such glue.
    """
    for glue in glues:
        if glue.key == key:
            return glue
    raise Mistake(f"no glue is called {key!r}", do=f"choose one of: {', '.join(g.key for g in glues)}")
