"""Twenty devices and a command beside the server at once: no error, nothing lost, nothing overwritten."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from keeping import pair_with_photos, upload

from seamlight.shop import Conflict, Shop, jobs
from seamlight.shop.arrivals import arrivals
from seamlight.shop.check import check
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.wood import edit_pair, pair

DEVICES, EACH = 20, 4


def test_twenty_devices_browse_and_upload_at_once(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")

    def work(device: int) -> int:
        conflicts = 0
        for count in range(EACH):
            upload(shop, f"{device}-{count % 3}", f"leaf {device} {count % 3}".encode())
            with shop.read() as session:
                rack(session, RackQuery())
                seen = pair(session, number)
            try:
                with shop.change(f"phone {device}") as change:
                    edit_pair(change, number, {"notes": f"{device}-{count}"}, expected_version=seen.version)
            except Conflict:
                conflicts += 1
        return conflicts

    with ThreadPoolExecutor(DEVICES) as devices:
        conflicts = sum(devices.map(work, range(DEVICES)))
    with shop.read() as session:
        assert len(arrivals(session)) == DEVICES * 3
        assert pair(session, number).version == 1 + DEVICES * EACH - conflicts
    assert check(shop).findings == []


def test_a_job_is_taken_once(shop: Shop) -> None:
    with shop.change("owner") as change:
        for count in range(12):
            jobs.ask(change, "read", {"count": count})

    def take(worker: int) -> list[int]:
        taken = []
        for _ in range(4):
            with shop.change(f"worker {worker}") as change:
                job = jobs.take(change)
                taken += [job.id] if job else []
        return taken

    with ThreadPoolExecutor(6) as workers:
        taken = [number for some in workers.map(take, range(6)) for number in some]
    assert sorted(taken) == list(range(1, 13))


BESIDE = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from keeping import upload
from seamlight.shop import open_shop
shop = open_shop(Path(sys.argv[1]))
for count in range(15):
    upload(shop, f"{sys.argv[3]}-{count}", f"{sys.argv[3]} {count}".encode())
shop.close()
"""


def test_commands_work_beside_the_server(on_sqlite: Shop) -> None:
    here = str(Path(__file__).parent)
    with on_sqlite.hold():
        beside = [
            subprocess.Popen([sys.executable, "-c", BESIDE, str(on_sqlite.folder), here, name])
            for name in ("one", "two")
        ]
        for count in range(15):
            upload(on_sqlite, f"server-{count}", f"server {count}".encode())
        assert [process.wait(120) for process in beside] == [0, 0]
    with on_sqlite.read() as session:
        assert len(arrivals(session)) == 45
    assert check(on_sqlite).findings == []
