"""Starts a shop's work again and again, and kills it with SIGKILL at random moments.

Run as a program: `kill_it.py FOLDER KIND ROUNDS SEED [URL]`. Each round forks a worker that does small
things and says what was acknowledged into a pipe; the worker is killed after a random time, then the shop is
opened, checked, and everything that was ever acknowledged is looked for. Prints one JSON object.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from keeping import JPEG, upload
from sqlalchemy import select
from test_opening import old_shop

from seamlight.mistake import Mistake
from seamlight.shop import Shop, open_shop
from seamlight.shop.arrivals import arrivals, file_to_pair
from seamlight.shop.backup import backup
from seamlight.shop.check import check
from seamlight.shop.engine import sqlite_engine
from seamlight.shop.history import history
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.restore import restore
from seamlight.shop.schema import newest, version_of
from seamlight.shop.tables import Arrival, Pair
from seamlight.shop.wood import bring_back, delete_pair, edit_pair, new_pair, pair

Say = Callable[..., None]
LONGEST_S, MOST_LINES = 0.04, 6


def taking_in(shop: Shop, say: Say, name: str) -> None:
    """Uploads, filed at once."""
    for count in range(1000):
        key = f"{name}-{count}"
        data = f"{key} ".encode() * random.randint(1, 300)
        sha = shop.files.keep(data, JPEG)
        upload(shop, key, data)
        say("upload", key, sha)
        with shop.change(name) as change:
            made = new_pair(change, kind="top")
            file_to_pair(change, arrivals(change.session)[-1].id, made.id, "a")
        say("pair", made.id, made.label)


def editing(shop: Shop, say: Say, name: str) -> None:
    """Edits, readings, deleting and bringing back of one pair."""
    with shop.change(name) as change:
        number = new_pair(change, kind="back", label=name).id
    say("pair", number, name)
    for count in range(1000):
        with shop.change(name) as change:
            found = edit_pair(change, number, {"notes": f"{name}-{count}", "thickness_mm": float(count)})
        say("edit", number, found.version, f"{name}-{count}")
        with shop.change(name) as change:
            kept = keep_reading(change, "tap", {"hz": count}, pair_id=number)
        say("reading", number, kept.id)
        with shop.change(name) as change:
            found = delete_pair(change, number)
        say("deleted", number, found.version)
        with shop.change(name) as change:
            bring_back(change, number)


def backing_up(shop: Shop, say: Say, name: str) -> None:
    """Backups between uploads."""
    for count in range(1000):
        upload(shop, f"{name}-{count}", f"{name} {count} ".encode() * 200)
        out = shop.folder.parent / "backup.zip"
        manifest = backup(shop, out)
        say("backup", len(manifest.members))


WORK = {"taking_in": taking_in, "editing": editing, "backing_up": backing_up}


def in_worker(work: Callable[[Say], None], lines_first: int, most_s: float) -> list[list[Any]]:
    """Fork, let it work until it said some things and a little longer, kill it; what it said was done."""
    inside, outside = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(inside)

        def say(*words: Any) -> None:
            os.write(outside, json.dumps(words).encode() + b"\n")

        with contextlib.suppress(BaseException):
            work(say)
        os._exit(0)
    os.close(outside)
    with os.fdopen(inside, "rb") as lines:
        said = [lines.readline() for _ in range(lines_first)]
        time.sleep(random.uniform(0, most_s))
        os.kill(child, signal.SIGKILL)
        said += lines
    os.waitpid(child, 0)
    return [json.loads(line) for line in said if line.endswith(b"\n")]


def missing(shop: Shop, told: list[list[Any]]) -> Iterator[str]:
    """What was acknowledged and is not there."""
    with shop.read() as session:
        keys = {row.upload_key: row.file_sha256 for row in session.scalars(select(Arrival))}
        labels = {row.id: row.label for row in session.scalars(select(Pair))}
        versions: dict[int, dict[int | None, Any]] = {}
        taps: dict[int, set[int]] = {}
        for what, *facts in told:
            if what == "upload" and keys.get(facts[0]) != facts[1]:
                yield f"upload {facts[0]}"
            elif what == "pair" and labels.get(facts[0]) != facts[1]:
                yield f"pair {facts[1]}"
            elif what in ("edit", "deleted"):
                number, version = facts[:2]
                if number not in versions:
                    lines = history(session, "pair", number, most=10_000)
                    versions[number] = {line.version: line.after for line in lines}
                after = versions[number].get(version) or {}
                if what == "edit" and after.get("notes") != facts[2]:
                    yield f"edit {facts[2]}"
                elif what == "deleted" and not after.get("deleted_at"):
                    yield f"deleting of {number}"
            elif what == "reading":
                if facts[0] not in taps:
                    taps[facts[0]] = {row.id for row in readings(session, pair_id=facts[0])}
                if facts[1] not in taps[facts[0]]:
                    yield f"reading {facts[1]}"


def kill_work(folder: Path, kind: str, rounds: int, url: str | None) -> dict[str, Any]:
    """Kill uploads, edits or backups."""
    told: list[list[Any]] = []
    losses: list[str] = []
    leftovers = 0
    place = folder / "shop"
    open_shop(place, url=url, create=True).close()
    for count in range(rounds):

        def work(say: Say, name: str = f"w{count}") -> None:
            shop = open_shop(place, url=url)
            say("begun")
            WORK[kind](shop, say, name)

        told += in_worker(work, random.randint(1, MOST_LINES), LONGEST_S)
        shop = open_shop(place, url=url)
        document = check(shop)
        losses += [f"{finding.kind} {finding.where}" for finding in document.findings if finding.grave]
        losses += missing(shop, told)
        leftovers = sum(finding.kind == "leftover" for finding in document.findings)
        shop.close()
        backups = [facts for what, *facts in told if what == "backup"]
        if backups:
            losses += broken_backup(folder)
    return {"losses": losses, "told": len(told), "leftovers": leftovers, "kills": rounds}


def broken_backup(folder: Path) -> list[str]:
    """Whether the last whole backup is not a whole one."""
    again = folder / "again"
    try:
        shop = restore(folder / "backup.zip", again)
        document = check(shop)
        shop.close()
    except Mistake as mistake:
        return [str(mistake)]
    finally:
        shutil.rmtree(again, ignore_errors=True)
    return [] if document.sound else ["the backup is not sound"]


def kill_upgrades(folder: Path, rounds: int) -> dict[str, Any]:
    """Kill an old shop while it is brought up; afterwards it is the old one whole or the new one whole."""
    old = folder / "old"
    (old / "photos").mkdir(parents=True)
    engine = sqlite_engine(old / "shop.db")
    old_shop(engine)
    engine.dispose()
    losses: list[str] = []
    seen: dict[str, int] = {}
    shutil.copytree(old, folder / "timed")
    begun = time.monotonic()
    open_shop(folder / "timed").close()
    whole_s = time.monotonic() - begun
    for count in range(rounds):
        place = folder / f"shop{count}"
        shutil.copytree(old, place)

        def work(say: Say, place: Path = place) -> None:
            say("begun")
            open_shop(place).close()

        in_worker(work, 1, 2.5 * whole_s)
        engine = sqlite_engine(place / "shop.db")
        with engine.connect() as connection:
            version = str(version_of(connection))
        engine.dispose()
        seen[version] = seen.get(version, 0) + 1
        shop = open_shop(place)
        with shop.read() as session:
            if [pair(session, number).label for number in (1, 2, 3)] != ["T 1", "t1", "B2"]:
                losses.append(f"pairs of {place.name}")
        losses += [finding.says for finding in check(shop).findings]
        shop.close()
        shutil.rmtree(place)
    return {"losses": losses, "kills": rounds, "seen": seen, "newest": newest()}


def main() -> None:
    """Do what the command line says."""
    folder, kind, rounds, seed = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    random.seed(seed)
    url = sys.argv[5] if len(sys.argv) > 5 else None
    found = kill_upgrades(folder, rounds) if kind == "upgrading" else kill_work(folder, kind, rounds, url)
    print(json.dumps(found))


if __name__ == "__main__":
    main()
