"""From the upload of a joint's picture to the page with its advice, against the same request refused unread.

The peer posts the same picture with a figure that cannot be: what upload, guard, form and page cost by
themselves. Goal of the page: two seconds after the upload. The machine is named, since a time alone says
nothing. Run: python benchmarks/bench_seam.py
"""

from __future__ import annotations

import io
import platform
import re
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image
from starlette.testclient import TestClient

from least_of import least_seconds
from seamlight.demo.seam_light import CandledJoint, Candling, photograph_joint
from seamlight.shop.opening import open_shop
from seamlight.shop.wood import new_pair
from seamlight.web.app import make_app

LENGTH = 550.0
ROUNDS = 5
GOAL_S = 2.0


def picture(px_per_mm: float) -> tuple[bytes, str]:
    """A hollow of 0.1 mm on shims of 0.05 and 0.15 mm, as a JPEG, and its size in words."""
    t = np.linspace(0.0, 1.0, 1101)
    joint = CandledJoint(0.1 * (1 - (2 * t - 1) ** 2) + 0.05 + 0.1 * t, LENGTH)
    shot = photograph_joint(joint, Candling(px_per_mm=px_per_mm, across_mm=300.0, slant_deg=1.0), 3)
    held = io.BytesIO()
    Image.fromarray(shot.rgb).save(held, "JPEG", quality=93)
    high, wide = shot.rgb.shape[:2]
    return held.getvalue(), f"{wide} x {high} px, {len(held.getvalue()) / 1e6:.1f} MB"


def machine() -> str:
    """The processor by the name it gives itself."""
    try:
        named = re.search(r"model name\s*:\s*(.+)", Path("/proc/cpuinfo").read_text(encoding="utf-8"))
    except OSError:
        named = None
    return named[1] if named else platform.processor() or platform.machine()


def post(browser: TestClient, here: str, csrf: str, data: bytes, shims: str) -> int:
    """The form sent and the page after it looked at; its status."""
    files = [("photos", ("joint.jpg", data, "image/jpeg"))]
    return browser.post(here, data={"csrf": csrf, "length": "550", "shims": shims}, files=files).status_code


def main() -> None:
    """Print the table."""
    print(f"{machine()}, Python {platform.python_version()}\n")
    print("| picture | first s | then s | of which reading | within 2 s |\n| --- | --- | --- | --- | --- |")
    for px_per_mm in (3.0, 5.0, 7.0):
        data, size = picture(px_per_mm)
        with tempfile.TemporaryDirectory() as folder:
            shop = open_shop(Path(folder) / "shop", create=True)
            with shop.change("benchmark") as change:
                number = new_pair(change, kind="top", species_common="western redcedar", thickness_mm=4.0).id
            browser = TestClient(
                make_app(shop), base_url="http://127.0.0.1:8765", client=("127.0.0.1", 50000)
            )
            here = f"/wood/pairs/{number}/seam"
            token = re.search(r'name="csrf" content="([0-9a-f]+)"', browser.get(here).text)
            assert token is not None

            ask = partial(post, browser, here, token[1], data)
            start = time.perf_counter()
            assert ask("0.05 0.15") == 200
            first = time.perf_counter() - start
            read = least_seconds(partial(ask, "0.05 0.15"), ROUNDS)
            assert ask("5 15") == 422
            without = least_seconds(partial(ask, "5 15"), ROUNDS)
            share = 1 - without / read
            print(
                f"| {size} | {first:.1f} | {read:.2f} | {share:.0%} | {'yes' if read <= GOAL_S else 'no'} |"
            )
            shop.close()


if __name__ == "__main__":
    main()
