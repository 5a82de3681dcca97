"""`read` of a 12-megapixel photograph against decoding the same JPEG in full colour with OpenCV, in one run.

Run: python benchmarks/bench_read.py
"""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path

import cv2

from least_of import least_seconds
from seamlight.demo import phone, saw, wood
from seamlight.demo.shot import Shot
from seamlight.grain.photograph import ReadSettings, read_photograph
from seamlight.photo import parse_scale

ROUNDS = 11


def main() -> None:
    """Print the table."""
    pair = saw.saw_pair(wood.grow_log(7, species="Engelmann spruce"), 7)
    face = saw.face(pair.a, "sawn", px_per_mm=6.0)
    print("| photograph | work | ms | times the decode |\n| --- | --- | --- | --- |")
    for quality, noise in ((92, 2.0), (95, 5.0)):
        shot = phone.photograph(face, 7, megapixels=12, tilt_deg=10, noise=noise)
        measure(shot, quality)


def measure(shot: Shot, quality: int) -> None:
    """Print one photograph's rows."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "leaf.jpg"
        shot.save(path, quality=quality)
        size = f"{path.stat().st_size / 1e6:.1f} MB"
        decode = least_seconds(lambda: cv2.imread(str(path), cv2.IMREAD_COLOR), ROUNDS)
        rows = [("decode the JPEG in full colour (OpenCV)", decode)]
        for name, flaws in (("read without flaws", False), ("read with flaws", True)):
            settings = ReadSettings(scale=parse_scale("tags"), thickness_mm=4.5, flaws=flaws)
            rows.append((name, least_seconds(partial(read_photograph, path, settings), ROUNDS)))
    for name, seconds in rows:
        print(f"| {size} | {name} | {seconds * 1000:.0f} | {seconds / decode:.2f} |")


if __name__ == "__main__":
    main()
