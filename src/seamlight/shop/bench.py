"""Today at the bench: what can be done now, what is under way, what waits for what.

Pure: pairs with their stage and glue-up in, lists out. Nothing has a due date: what was not reached today is
simply still there tomorrow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from seamlight.shop.clocks import GlueClock


@dataclass(frozen=True)
class Piece:
    """A pair on its way.

    Attributes:
        pair_id, label, kind: which.
        stage: where it is.
        wood: its species.
        since: since when; None where nobody noted it.
        build: the instrument it is given to, "" for none.
        clock: of its last glue-up of the centre joint; None where none was noted.
        clamp_id: while it is in the clamps.
        chosen: whether somebody chose how to open it; then it is laid out, whatever was noted.
    """

    pair_id: int
    label: str
    kind: str
    stage: str
    wood: str = ""
    since: datetime | None = None
    build: str = ""
    clock: GlueClock | None = None
    clamp_id: int | None = None
    chosen: bool = False


@dataclass(frozen=True)
class Job:
    """One thing to do, and the pieces that are ready for it."""

    key: str
    title: str
    then: str | None  # the stage that follows when it is done; None where a page of its own does it
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class Waits:
    """A piece that has to wait: for what, and until when."""

    piece: Piece
    for_what: str
    until: datetime | None


@dataclass(frozen=True)
class Bench:
    """The bench at one moment."""

    now: tuple[Job, ...]
    waiting: tuple[Waits, ...]


# What each stage is ready for, nearest to the finish first: what is nearly done leaves the bench first.
JOBS: tuple[tuple[str, str, str, str | None], ...] = (
    ("use", "thicknessed", "Ready to be used", "used"),
    ("thickness", "rested", "To thickness", "thicknessed"),
    ("rest", "joined", "Rested: the glue's water has left", "rested"),
    ("unclamp", "joined", "May leave the clamps", None),
    ("join", "jointed", "To join", "joined"),
    ("joint", "laid out", "To joint", "jointed"),
    ("choose", "rough", "To lay out: choose how to open it", None),
)


def bench(pieces: Sequence[Piece], now: datetime) -> Bench:
    """Sort the pieces into what can be done now and what has to wait.

    Args:
        pieces: pairs under way, and rough ones that an instrument waits for.
        now: UTC.
    """
    ready: dict[str, list[Piece]] = {key: [] for key, *_ in JOBS}
    waiting: list[Waits] = []
    for piece in pieces:
        key, wait = _placed(piece, now)
        if key is not None:
            ready[key].append(piece)
        if wait is not None:
            waiting.append(wait)
    jobs = tuple(Job(key, title, then, tuple(ready[key])) for key, _, title, then in JOBS if ready[key])
    waiting.sort(key=lambda wait: (wait.until is None, wait.until or now))
    return Bench(jobs, tuple(waiting))


def _placed(piece: Piece, now: datetime) -> tuple[str | None, Waits | None]:
    """What the piece is ready for, and what it waits for."""
    if piece.clamp_id is not None and piece.clock is not None:
        if now >= piece.clock.off_at:
            return "unclamp", _rest_of(piece, now)
        return None, Waits(piece, "in the clamps; may come out", piece.clock.off_at)
    if piece.stage == "joined":
        wait = _rest_of(piece, now)
        return (None, wait) if wait else ("rest", None)
    if piece.stage == "rested" and piece.clock is not None and now < piece.clock.thickness_earliest_at:
        return None, Waits(
            piece, "noted as rested early; may be thicknessed", piece.clock.thickness_earliest_at
        )
    stage_now = "laid out" if piece.stage == "rough" and piece.chosen else piece.stage
    for key, stage, _, _ in JOBS:
        if stage_now == stage and key != "unclamp":
            return key, None
    return None, None


def _rest_of(piece: Piece, now: datetime) -> Waits | None:
    """What a glued piece still waits for; nothing where no glue-up was noted."""
    clock = piece.clock
    if clock is None or now >= clock.thickness_at:
        return None
    if now < clock.work_at:
        return Waits(piece, "not to be planed or stressed before", clock.work_at)
    return Waits(
        piece, "rests before thicknessing, so that the seam does not sink, until", clock.thickness_at
    )
