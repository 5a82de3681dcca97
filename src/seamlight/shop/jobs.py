"""Work in the background: asked for, taken, done; it outlives a killed server."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from seamlight.shop.change import Change
from seamlight.shop.numbered import numbered
from seamlight.shop.tables import Job

LIVE = ("waiting", "running")
MOST_TRIES = 3


def ask(
    change: Change,
    kind: str,
    payload: Mapping[str, Any],
    *,
    subject: str | None = None,
    subject_id: int | None = None,
    of: int | None = None,
) -> Job:
    """Ask for work; the same work that is waiting already is not asked for twice."""
    waiting = select(Job).where(
        Job.kind == kind, Job.state == "waiting", Job.subject == subject, Job.subject_id == subject_id
    )
    for job in change.session.scalars(waiting):
        if job.payload == dict(payload):
            return job
    job = Job(
        kind=kind,
        subject=subject,
        subject_id=subject_id,
        payload=dict(payload),
        state="waiting",
        of=of,
        asked_at=change.at,
    )
    change.session.add(job)
    change.session.flush()
    return job


def take(change: Change, kinds: Iterable[str] | None = None) -> Job | None:
    """The next waiting job, running from now on; None where nothing waits."""
    query = select(Job).where(Job.state == "waiting")
    if kinds is not None:
        query = query.where(Job.kind.in_(list(kinds)))
    job = change.session.scalars(query.order_by(Job.id).limit(1)).one_or_none()
    if job is not None:
        job.state, job.started_at, job.ended_at = "running", change.at, None
        job.tries += 1
        change.session.flush()
    return job


def progress(
    change: Change, job_id: int, done: int, *, of: int | None = None, says: str | None = None
) -> bool:
    """Note how far a running job is; False when it was stopped meanwhile and should end."""
    job = _job(change.session, job_id)
    if job.state != "running":
        return False
    job.done = done
    job.of = of if of is not None else job.of
    job.says = says if says is not None else job.says
    return True


def finish(change: Change, job_id: int, *, says: str | None = None) -> Job:
    """A running job is done."""
    return _end(change, job_id, "done", says)


def fail(change: Change, job_id: int, says: str) -> Job:
    """A running job failed; `says` is the one line for the person."""
    return _end(change, job_id, "failed", says)


def stop(change: Change, job_id: int) -> Job:
    """Stop a job that waits or runs."""
    return _end(change, job_id, "stopped", None)


def try_again(change: Change, job_id: int) -> Job:
    """Let a failed or stopped job wait once more."""
    job = _job(change.session, job_id)
    if job.state in ("failed", "stopped"):
        job.state, job.done, job.says, job.ended_at, job.tries = "waiting", 0, None, None, 0
    return job


def start_over(change: Change) -> list[Job]:
    """At a server's start: what a killed server left running waits again, or failed after three tries."""
    left = list(change.session.scalars(select(Job).where(Job.state == "running").order_by(Job.id)))
    for job in left:
        if job.tries >= MOST_TRIES:
            job.state, job.ended_at = "failed", change.at
            job.says = f"the program ended {job.tries} times while it worked on this"
        else:
            job.state, job.started_at = "waiting", None
    return left


def jobs(session: Session, *, states: Iterable[str] = LIVE, kind: str | None = None) -> list[Job]:
    """Jobs in these states, oldest first."""
    query = select(Job).where(Job.state.in_(list(states)))
    if kind is not None:
        query = query.where(Job.kind == kind)
    return list(session.scalars(query.order_by(Job.id)))


def jobs_of(session: Session, subject: str, subject_id: int) -> list[Job]:
    """All jobs for one subject, newest first."""
    query = select(Job).where(Job.subject == subject, Job.subject_id == subject_id)
    return list(session.scalars(query.order_by(Job.id.desc())))


def count_live(session: Session) -> int:
    """How many jobs wait or run."""
    return session.scalar(select(func.count()).select_from(Job).where(Job.state.in_(LIVE))) or 0


def _end(change: Change, job_id: int, state: str, says: str | None) -> Job:
    job = _job(change.session, job_id)
    if job.state in LIVE:
        job.state, job.ended_at = state, change.at
        job.says = says if says is not None else job.says
    return job


def _job(session: Session, job_id: int) -> Job:
    return numbered(session, Job, job_id, "job")
