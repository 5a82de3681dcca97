"""What a pair's record brings to a reading of its joint: the leaf, the glue, room left, earlier readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import numpy as np
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.seam import Bench, StrokeFigure, Strokes, Worked, learn
from seamlight.seam.document import SeamDocument
from seamlight.seam.profile import Profile
from seamlight.seam.strokes import STARTING_FIGURES
from seamlight.shop.change import Change
from seamlight.shop.choices import choice
from seamlight.shop.joint_glue import joint_glue
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.settings import keep_setting, setting
from seamlight.shop.tables import PairFigure, Reading
from seamlight.shop.tally import planed_so_far
from seamlight.shop.wood import pair
from seamlight.timber.species import species
from seamlight.units import Unit

LIGHT, FEELER, STROKES = "seam", "edge", "strokes"
FIGURES = "figures per stroke"  # setting: [{"tool", "per_stroke_mm", "source"}]


@dataclass(frozen=True)
class JointRead:
    """One kept reading of a joint."""

    id: int
    verb: Literal["seam", "edge"]
    document: SeamDocument
    files: tuple[str, ...]
    at: datetime
    by: str
    of_light: int | None = None  # feelers on both faces: the light reading that they were joined to
    joined: SeamDocument | None = None  # a light reading: judged together with the faces felt after it

    @property
    def judged(self) -> SeamDocument:
        """What counts: with what was felt on both faces, where it was."""
        return self.joined or self.document

    @property
    def fit(self) -> Profile | None:
        """The gap that matters, where it was measured."""
        found = self.judged if self.document.fit_gap_mm is None else self.document
        if found.fit_gap_mm is None or found.error_mm is None:
            return None
        return Profile(np.array(found.s_mm), np.array(found.fit_gap_mm), found.error_mm)


def joint_readings(session: Session, pair_id: int) -> tuple[JointRead, ...]:
    """A pair's readings of its joint by light and by feeler, oldest first."""
    rows = [row for row in readings(session, pair_id=pair_id) if row.verb in (LIGHT, FEELER)]
    felt = {int(row.says["of_light"]): row for row in rows if row.says.get("of_light")}
    return tuple(_read(row, felt.get(row.id)) for row in rows)


def passes(read: Sequence[JointRead]) -> tuple[JointRead, ...]:
    """Readings of a joint one pass after another: faces felt after a light reading belong to that one."""
    lights = {one.id for one in read if one.verb == LIGHT}
    return tuple(one for one in read if one.of_light not in lights)


def bench_of(
    session: Session, pair_id: int, unit: Unit, glue_name: str | None = None, before: int | None = None
) -> Bench:
    """The bench for the next reading of a pair's joint; the shop's glue for joints where none is named.

    Args:
        before: the reading that is judged again; those from it on do not count as earlier.
    """
    found = pair(session, pair_id)
    figure = session.get(PairFigure, pair_id)
    width = figure.width_mm if figure is not None else None
    read = passes(joint_readings(session, pair_id))
    earlier = [one.fit for one in read if before is None or one.id < before]
    return Bench(
        width_mm=width or Bench.width_mm,
        thickness_mm=found.thickness_mm or Bench.thickness_mm,
        species_name=known_species(found.species_common),
        wood_said="; ".join(name for name in (found.species_common, found.species_botanical) if name),
        kind="hardwood" if found.kind == "back" else "softwood",
        glue_name=joint_glue(session, glue_name).key,
        figures=figures(session),
        room_mm=room_left(session, pair_id),
        before=tuple(fit for fit in earlier if fit is not None),
        unit=unit,
    )


def joint_length_mm(session: Session, pair_id: int) -> float | None:
    """How long a pair's joint is: the leaves' length as read; None where they were not."""
    figure = session.get(PairFigure, pair_id)
    return figure.length_mm if figure is not None else None


def room_left(session: Session, pair_id: int) -> float | None:
    """How much more may come off each joint edge: what the choice leaves less what was planed.

    None where no opening is chosen.
    """
    chosen = choice(session, pair_id)
    if chosen is None:
        return None
    document: dict[str, Any] = chosen.document
    planed = planed_so_far(session, pair_id)
    left = []
    for leaf in ("a", "b"):
        planing = document["leaves"][leaf]["planing_mm"]
        least = min(float(planing["end1"]), float(planing["end2"]))
        left.append(least + float(document["joint_room_mm"]) - planed.get(leaf, 0.0))
    return max(0.0, min(left))


def known_species(name: str | None) -> str | None:
    """A wood's name where the tables have its figures."""
    try:
        return species(name).name if name else None
    except Mistake:
        return None


def figures(session: Session) -> tuple[StrokeFigure, ...]:
    """What a stroke of each tool takes: the shop's own, else those to start with."""
    said: Sequence[dict[str, Any]] = setting(session, FIGURES, [])
    own = {row["tool"]: StrokeFigure(row["tool"], row["per_stroke_mm"], row["source"]) for row in said}
    return tuple(own.pop(one.tool, one) for one in STARTING_FIGURES) + tuple(own.values())


def note_strokes(
    change: Change, pair_id: int, tool: str, count: int, from_mm: float, to_mm: float
) -> Reading:
    """Note strokes that were made, so that the next reading teaches what one takes.

    Raises:
        Mistake: no tool, no stroke, or a stretch that is none.
    """
    said = " ".join(tool.split())
    if not said or len(said) > 40:
        raise Mistake("a tool has 1 to 40 letters", where="tool", do="write such as 120 grit")
    if not 1 <= count <= 500:
        raise Mistake(f"{count} strokes cannot be", where="strokes", do="count them: 1 to 500")
    if not 0 <= from_mm < to_mm <= 1500:
        raise Mistake("the stretch ends before it begins", where="to", do="measure from the neck end")
    document = {"tool": said, "count": count, "from_mm": from_mm, "to_mm": to_mm}
    return keep_reading(change, STROKES, document, pair_id=pair_id)


def learned(session: Session, pair_id: int, tool: str) -> StrokeFigure:
    """What a stroke of a tool takes, by this pair's readings before and after strokes.

    Raises:
        Mistake: its readings do not teach that.
    """
    worked: list[Worked] = []
    before: Profile | None = None
    strokes: list[Strokes] = []
    passed = {one.id: one for one in passes(joint_readings(session, pair_id))}
    for row in readings(session, pair_id=pair_id):
        if row.verb == STROKES:
            said = row.document
            strokes.append(Strokes(said["from_mm"], said["to_mm"], said["count"], said["tool"]))
        elif row.id in passed:
            after = passed[row.id].fit
            if after is not None and before is not None and strokes:
                worked.append(Worked(before, after, tuple(strokes)))
            before, strokes = after or before, []
    return learn(tool, worked)


def use_figure(change: Change, figure: StrokeFigure) -> None:
    """Use a learned figure from now on, for every pair."""
    kept: list[dict[str, Any]] = [
        row for row in setting(change.session, FIGURES, []) if row["tool"] != figure.tool
    ]
    row = {"tool": figure.tool, "per_stroke_mm": figure.per_stroke_mm, "source": figure.source}
    keep_setting(change, FIGURES, [*kept, row])


def straight_key(reading_id: int) -> str:
    """Where a seam laid straight lies among the made things."""
    return f"seam-{reading_id}.jpg"


def _read(row: Reading, felt: Reading | None) -> JointRead:
    return JointRead(
        id=row.id,
        verb="seam" if row.verb == LIGHT else "edge",
        document=SeamDocument.model_validate(row.document),
        files=tuple(row.files),
        at=row.at,
        by=row.by,
        of_light=row.says.get("of_light"),
        joined=SeamDocument.model_validate(felt.says["joined"]) if felt is not None else None,
    )
