"""A rack on two workers against one, in one run, and the most memory any of its processes held.

Run: python benchmarks/bench_rack.py [PICTURES]
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

from seamlight.demo import phone, saw, wood
from seamlight.grain.photograph import ReadSettings
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.rack import lay_out_rack
from seamlight.outline import named
from seamlight.photo import parse_scale


def photographs(folder: Path, count: int) -> list[Path]:
    """`count` 12-megapixel photographs of invented leaves, in pairs."""
    paths = []
    for k in range(count // 2):
        pair = saw.saw_pair(wood.grow_log(100 + k, knots=k % 3), 100 + k)
        for j, leaf in enumerate((pair.a, pair.b)):
            shot = phone.photograph(saw.face(leaf, "sawn", px_per_mm=5.0), 10 * k + j, tilt_deg=8)
            paths.append(folder / f"IMG_{2 * k + j:04d}.jpg")
            shot.save(paths[-1])
    return paths


def main(count: int) -> None:
    """Print the table."""
    read = ReadSettings(scale=parse_scale("tags"), thickness_mm=4.5)
    print("| workers | s | times as fast as one |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        paths = photographs(Path(folder), count)
        one = 0.0
        for workers in (1, 2):
            start = time.perf_counter()
            rack = lay_out_rack(paths, [named("parlour")], read, LayoutSettings(), workers=workers)
            seconds = time.perf_counter() - start
            one = one or seconds
            print(f"| {workers} | {seconds:.1f} | {one / seconds:.2f} |")
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    worker = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"\n{count} pictures, {len(rack.pairs)} pairs found, {len(rack.failed)} failed")
    print(f"most memory: {own:.0f} MiB in the main process, {worker:.0f} MiB in the largest worker")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
