"""The work in the background, done here and now: what it asks for next, and how it names files."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from asking import Browser
from came_in import some_figure
from PIL import Image

from seamlight.mistake import Mistake
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrival, arrivals
from seamlight.shop.arrivals_met import Met, meet, meetings, worth_meeting
from seamlight.shop.look import Look, look_at
from seamlight.shop.shop import Shop
from seamlight.shop.sorting_in import ask_what_is_missing
from seamlight.shop.tables import Job
from seamlight.shop.taking_in import look_key, read_settings
from seamlight.web import work
from seamlight.web.work import Worker

SHA = re.compile(r"[0-9a-f]{64}")


def noise(seed: int) -> bytes:
    held = io.BytesIO()
    rgb = np.random.default_rng(seed).integers(0, 256, (60, 80, 3), np.uint8)
    Image.fromarray(rgb).save(held, "PNG")
    return held.getvalue()


def send(owner: Browser, seed: int) -> int:
    files = {"photo": (f"IMG_{seed}.png", noise(seed), "image/png")}
    sent = {"key": str(seed), "scale": "300dpi"}
    answer = owner.post("/api/arrivals", data=sent, files=files, headers={"x-csrf": owner.token()})
    return int(answer.json()["arrival"])


@pytest.fixture
def worker(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> Iterator[Worker]:
    """A worker whose process is this one."""
    here = Worker(shop)
    monkeypatch.setattr(here, "compute", lambda job, call, *given: call(*given))
    yield here
    here.side.close()


def run_all(worker: Worker) -> list[str]:
    kinds = []
    while (job := worker._next()) is not None:
        kinds.append(job.kind)
        worker._do(job)
    return kinds


def ended(shop: Shop) -> list[Job]:
    with shop.read() as session:
        return jobs.jobs(session, states=("done", "failed", "stopped"))


def test_looks_are_matched_afterwards_in_one_go_with_progress(
    owner: Browser, shop: Shop, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    numbers = [send(owner, seed) for seed in (1, 2, 3)]
    monkeypatch.setattr(work, "look_at", lambda path, settings: Look(b"x", 1, some_figure(1)))

    def compute(job: Job, call: object, *given: object) -> object:
        if call is worth_meeting:
            return [(0, 1), (0, 2)]
        return Met(0.9, False) if call is meet else call(*given)  # type: ignore[operator]

    monkeypatch.setattr(worker, "compute", compute)
    assert run_all(worker) == ["look", "look", "look", "match"]
    job = ended(shop)[-1]
    assert (job.state, job.done, job.of) == ("done", 2, 2)
    found = meetings(shop.made)
    with shop.read() as session:
        looks = {look_key(arrival(session, number)) for number in numbers}
    assert found.seen == looks
    assert len(found.met) == 2


def test_a_failed_look_is_told_by_the_photographs_own_name(
    owner: Browser, shop: Shop, worker: Worker
) -> None:
    send(owner, 7)
    assert run_all(worker) == ["look"]
    for path in ("/wood/take-in", "/wood/work"):
        shown = re.sub("<[^>]+>", " ", owner.get(path).text)
        assert not SHA.search(shown), path
    (job,) = ended(shop)
    assert job.says is not None
    assert job.says.startswith("IMG_7.png: ")
    assert job.says.count("IMG_7.png") == 1
    assert not SHA.search(job.says)


def test_a_job_that_broke_down_names_no_hash(
    owner: Browser, shop: Shop, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = send(owner, 8)
    with shop.read() as session:
        sha = arrival(session, number).file_sha256

    def broken(path: object, settings: object) -> None:
        raise Mistake(f"{sha}: cannot be read", where=sha)

    monkeypatch.setattr(work, "look_at", broken)
    run_all(worker)
    (job,) = ended(shop)
    assert (job.state, job.says) == ("failed", "IMG_8.png: cannot be read")
    page = owner.get("/wood/take-in").text
    assert "/made/small-" not in page
    assert "IMG_8.png: cannot be read" in page


def test_a_picture_that_is_none_is_told_without_its_hash(tmp_path: Path) -> None:
    path = tmp_path / ("a1" * 32)
    path.write_bytes(b"no picture")
    assert not SHA.search(look_at(path, read_settings("tags", None)).why)


def test_what_was_made_and_is_gone_is_asked_for_again(owner: Browser, shop: Shop, worker: Worker) -> None:
    number = send(owner, 9)
    run_all(worker)
    with shop.change("background") as change:
        ask_what_is_missing(change, shop)
        assert jobs.jobs(change.session) == []
    with shop.read() as session:
        (row,) = arrivals(session)
    shop.made.path(look_key(row)).unlink()
    with shop.change("background") as change:
        ask_what_is_missing(change, shop)
        assert [(job.kind, job.subject_id) for job in jobs.jobs(change.session)] == [("look", number)]
