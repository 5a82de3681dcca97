"""Work in the background: a thread takes jobs from the shop and has them computed beside the server."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from functools import partial
from threading import Event, Thread
from typing import Any

from fastapi import FastAPI

from seamlight.mistake import Mistake
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrival
from seamlight.shop.arrivals_met import Meetings, keep_meetings, meet_all, meetings
from seamlight.shop.file_names import with_names
from seamlight.shop.look import look_at, look_bytes
from seamlight.shop.purge import purge
from seamlight.shop.shop import Shop
from seamlight.shop.sorting_in import ask_what_is_missing, to_match
from seamlight.shop.tables import Job
from seamlight.shop.taking_in import (
    LOOK,
    MATCH,
    READ,
    ask_match,
    files_of,
    keep_pair_reading,
    look_key,
    order_for,
    rack_key,
    read_settings,
    small_key,
)
from seamlight.shop.two_tone import JOB as TONE
from seamlight.shop.two_tone import keep_tone, tone_files, tone_of
from seamlight.web.pair_pictures import read_and_draw
from seamlight.web.side_process import Bounds, Failed, SideProcess, Stopped

_IDLE_S = 1.0  # how often the shop is asked for work that nobody woke the thread for
WHO = "background"
Work = Callable[["Worker", Job], str]


class Worker:
    """Does the shop's jobs one after another until it is closed."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.side = SideProcess()
        self._ended = Event()
        self._awake = Event()
        self._swept: datetime | None = None
        self._thread = Thread(target=self._run, name="seamlight work", daemon=True)

    def start(self) -> None:
        """Begin; what a killed server left running waits again first, and what is missing is asked for."""
        self._start_over()
        with self.shop.change(WHO) as change:
            ask_what_is_missing(change, self.shop)
        self._thread.start()

    def _sweep_daily(self) -> None:
        """Take away what was deleted over 30 days ago; where a backup is under way, another day."""
        now = self.shop.clock()
        if self._swept is not None and now - self._swept < timedelta(days=1):
            return
        self._swept = now
        with suppress(Mistake):
            purge(self.shop, WHO)

    def wake(self) -> None:
        """There is something to do."""
        self._awake.set()

    def close(self) -> None:
        """End; a job under way waits again at the next start."""
        self._ended.set()
        self._awake.set()
        self.side.close()
        self._thread.join(10)

    def _run(self) -> None:
        cut_off = False
        while not self._ended.is_set():
            self._awake.clear()
            try:
                if cut_off:
                    self._start_over()
                cut_off = False
                self._sweep_daily()
                worked = self._work_once()
            except Mistake:  # the shop cannot be written to: a full disk, a database that went away
                worked, cut_off = False, True
            if not worked:
                self._awake.wait(_IDLE_S)

    def _work_once(self) -> bool:
        job = self._next()
        if job is not None:
            self._do(job)
        return job is not None

    def _start_over(self) -> None:
        """What was left running, by a killed server or a full disk, waits again."""
        with self.shop.change(WHO) as change:
            jobs.start_over(change)

    def _next(self) -> Job | None:
        with self.shop.read() as session:
            if not jobs.jobs(session, states=("waiting",)):
                return None
        with self.shop.change(WHO) as change:
            return jobs.take(change, KINDS)

    def _do(self, job: Job) -> None:
        try:
            says = KINDS[job.kind](self, job)
        except Stopped:
            return  # by the person: the job says so already; by the end of the server: it waits again
        except Mistake as mistake:
            self._fail(job, str(mistake))
        except Failed as failed:
            if not self._ended.is_set():
                self._fail(job, str(failed))
        except Exception as error:
            self._fail(job, f"a fault of the program: {type(error).__name__}: {error}")
        else:
            with self.shop.change(WHO) as change:
                jobs.finish(change, job.id, says=says)

    def _fail(self, job: Job, why: str) -> None:
        with self.shop.change(WHO) as change:
            jobs.fail(change, job.id, with_names(change.session, why))

    def compute(self, job: Job, call: Callable[..., Any], *given: Any) -> Any:
        """Have something computed beside the server, unless the job is stopped."""
        return self.side.run(call, *given, stop=lambda: self._ended.is_set() or self._stopped(job.id))

    def _stopped(self, job_id: int) -> bool:
        with self.shop.read() as session:
            row = session.get(Job, job_id)
            return row is None or row.state != "running"


def working(app: FastAPI) -> Any:
    """The worker of an app, for `make_app(beside=...)`."""
    return _working(app)


@contextmanager
def _working(app: FastAPI) -> Iterator[None]:
    worker, aside = Worker(app.state.shop), SideProcess()
    app.state.worker, app.state.aside = worker, aside
    worker.start()
    Thread(target=aside.warm, name="seamlight warm", daemon=True).start()
    try:
        yield
    finally:
        worker.close()
        aside.close()


def wake(app: FastAPI) -> None:
    """Wake the app's worker, where it has one."""
    worker = getattr(app.state, "worker", None)
    if isinstance(worker, Worker):
        worker.wake()


def compute_now(app: FastAPI, call: Callable[..., Any], *given: Any, bounds: Bounds | None = None) -> Any:
    """Have something computed while a person waits, beside the server where it has a process for that.

    Raises:
        Mistake: the call raised one, or took more than `bounds`.
    """
    aside = getattr(app.state, "aside", None)
    return aside.run(call, *given, bounds=bounds) if isinstance(aside, SideProcess) else call(*given)


def _look(worker: Worker, job: Job) -> str:
    shop = worker.shop
    with shop.read() as session:
        row = arrival(session, int(job.payload["arrival"]))
    settings = read_settings(row.scale_spec, row.thickness_mm, flaws=False)
    look = worker.compute(job, look_at, shop.files.path(row.file_sha256), settings)
    if look.thumbnail:
        shop.made.keep(small_key(row.file_sha256), look.thumbnail)
    shop.made.keep(look_key(row), look_bytes(look))
    if look.figure is not None:
        with shop.change(WHO) as change:
            ask_match(change)
    return f"{row.name_given or 'photograph'}: {look.why}" if look.why else ""


def _match(worker: Worker, job: Job) -> str:
    shop = worker.shop
    with shop.read() as session:
        leaves = to_match(session, shop)

    def told(found: Meetings, done: int, of: int) -> None:
        keep_meetings(shop.made, found)
        with shop.change(WHO) as change:
            jobs.progress(change, job.id, done, of=of)

    found = meet_all(leaves, meetings(shop.made), partial(worker.compute, job), told)
    keep_meetings(shop.made, found)
    return f"{len(leaves)} photographs compared"


def _read(worker: Worker, job: Job) -> str:
    shop, pair_id = worker.shop, int(job.payload["pair"])
    with shop.read() as session:
        order = order_for(shop, session, pair_id, job.payload.get("outlines"))
    kept, picture = worker.compute(job, read_and_draw, order)
    with shop.change(WHO) as change:
        keep_pair_reading(
            change, shop, pair_id, kept, use=order.place.use, files=files_of(order), place=order.place
        )
        shop.made.keep(rack_key(pair_id), picture)
    fits = [name for name, document in kept.layouts if document["openings"][0]["fits"]]
    return f"fits {', '.join(fits)}" if fits else "read"


def _tone(worker: Worker, job: Job) -> str:
    shop, pair_id = worker.shop, int(job.payload["pair"])
    with shop.read() as session:
        files = tone_files(session, pair_id)
    document = worker.compute(job, tone_of, *map(shop.files.path, files))
    with shop.change(WHO) as change:
        keep_tone(change, pair_id, document, files)
    return str(document.cause)


KINDS: dict[str, Work] = {LOOK: _look, MATCH: _match, READ: _read, TONE: _tone}
