"""A full or read-only disk under pages that are served: what can be is read, what can't be kept is said."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from asking import Browser, Clock
from filed_pair import file_pair
from sqlalchemy import event

from seamlight.shop import jobs
from seamlight.shop.shop import Shop
from seamlight.shop.taking_in import LOOK
from seamlight.shop.tally import planed
from seamlight.web import work
from seamlight.web.work import Worker

Spoil = Callable[[Shop], Any]
LONG = "long " * 799  # as long as notes may be


@contextmanager
def full(shop: Shop) -> Iterator[None]:
    """No page of the database can be added."""

    @event.listens_for(shop.engine, "begin", insert=True)
    def narrow(connection: Any) -> None:
        connection.exec_driver_sql("PRAGMA max_page_count = 1")

    yield
    event.remove(shop.engine, "begin", narrow)
    shop.engine.dispose()


@contextmanager
def read_only(shop: Shop) -> Iterator[None]:
    """Nothing can be written to the database."""

    @event.listens_for(shop.engine, "begin", insert=True)
    def refuse(connection: Any) -> None:
        connection.exec_driver_sql("PRAGMA query_only = ON")

    yield
    event.remove(shop.engine, "begin", refuse)
    shop.engine.dispose()


@pytest.mark.parametrize(
    ("spoil", "says"),
    [(full, "the disk is full"), (read_only, "cannot be written to")],
    ids=["full", "read-only"],
)
def test_pages_are_read_and_what_cannot_be_kept_is_said_in_plain_words(
    owner: Browser, paired: Callable[..., Browser], shop: Shop, clock: Clock, spoil: Spoil, says: str
) -> None:
    pair = file_pair(shop)
    phone = paired()
    clock.wait(minutes=10)  # so that the phone's look would be noted
    here = f"/wood/pairs/{pair.id}"
    with spoil(shop):
        for path in ("/", "/wood", here, "/shop/devices"):
            assert phone.get(path).status_code == 200, path
        edited = owner.press(f"{here}/edit", label="T1", kind="top", version="1", notes=LONG)
        assert edited.status_code == 422
        assert says in edited.text
        assert LONG[:200] in edited.text  # what was typed is still there
        if spoil is read_only:
            noted = owner.press("/shop/air", rh="45")
            assert noted.status_code == 422
            assert says in noted.text
            answer = owner.put(
                f"/api/pairs/{pair.id}/flaws/a?outline=parlour",
                json={"edits": {"drop": [0]}, "version": 0},
                headers={"x-csrf": owner.token()},
            )
            assert answer.status_code == 422
            assert says in answer.json()["what"]
    with shop.read() as session:
        assert planed(session, pair.id) == []
    assert owner.press(f"{here}/edit", label="T1", kind="top", version="1", notes="short").status_code == 303


def test_work_goes_on_when_the_disk_has_room_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[int] = []
    monkeypatch.setattr(work, "_IDLE_S", 0.02)
    monkeypatch.setitem(work.KINDS, LOOK, lambda worker, job: done.append(job.id) or "")
    with shop.change("owner") as change:
        first = jobs.ask(change, LOOK, {"arrival": 1})
    worker = Worker(shop)
    with read_only(shop):
        worker._swept = shop.clock()
        worker._thread.start()
        time.sleep(0.2)
        assert worker._thread.is_alive()
        assert done == []
    worker.wake()
    wait_until(lambda: state_of(shop, first.id) == "done")
    assert done == [first.id]
    worker.close()


def test_work_whose_end_could_not_be_noted_is_done_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[int] = []
    monkeypatch.setattr(work, "_IDLE_S", 0.02)
    spoilt = read_only(shop)

    def once_spoilt(worker: Worker, job: Any) -> str:
        done.append(job.id)
        if len(done) == 1:
            spoilt.__enter__()
        return ""

    monkeypatch.setitem(work.KINDS, LOOK, once_spoilt)
    with shop.change("owner") as change:
        first = jobs.ask(change, LOOK, {"arrival": 1})
    worker = Worker(shop)
    worker._swept = shop.clock()
    worker._thread.start()
    wait_until(lambda: len(done) == 1)
    time.sleep(0.1)
    assert state_of(shop, first.id) == "running"
    spoilt.__exit__(None, None, None)
    wait_until(lambda: state_of(shop, first.id) == "done")
    assert done == [first.id, first.id]
    worker.close()


def state_of(shop: Shop, job_id: int) -> str:
    with shop.read() as session:
        return next(job.state for job in jobs.jobs(session, states=(*jobs.LIVE, "done")) if job.id == job_id)


def wait_until(true: Callable[[], bool]) -> None:
    for _ in range(500):
        if true():
            return
        time.sleep(0.02)
    raise AssertionError("it did not come")
