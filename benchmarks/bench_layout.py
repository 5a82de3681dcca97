"""The four openings of a pair: the fast search against the exhaustive one with Shapely, in one run.

The exhaustive search has Shapely's prepared geometries and vectorised predicates, tries a place's corners
before its whole outline, and asks for flaws and grain only where the wood covers it. It is run on every
EVERY-th tilt of the grid (1: on all); its time for the whole grid is taken as that share of it. On the tilts
that it was run on, both searches are asked for their optimum, and the keys are compared.

Run: python benchmarks/bench_layout.py [EVERY]
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

from seamlight.demo import saw, wood
from seamlight.layout.best import search
from seamlight.layout.domain import domain_of
from seamlight.layout.exhaustive import search_grid
from seamlight.layout.layers import Turner
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.openings import EDGES, ENDS, half_of
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.side import side_a, side_b, size_of
from seamlight.outline import named


def leaf_of(face: saw.FaceTruth) -> Leaf:
    """An invented leaf as the layout sees a read one."""
    return Leaf(face.outline_mm, tuple(face.flaws), field=face.field)


def main(every: int) -> None:
    """Print the table."""
    pair = saw.saw_pair(wood.grow_log(4711, knots=3), 4711)
    a, b = (leaf_of(saw.face(leaf, "sawn", px_per_mm=2.0)) for leaf in (pair.a, pair.b))
    sides = side_a(a), side_b(b, Registration(1.0), size_of(a))
    outline, settings = named("auditorium"), LayoutSettings()
    domains = [
        domain_of(*sides, outline, settings, 0.0, edge, end, half_of(edge, end, "sawn"))
        for edge in EDGES
        for end in ENDS
    ]
    start = time.perf_counter()
    turner = Turner()
    for domain in domains:
        search(domain, turner)
    fast = time.perf_counter() - start
    slow, same = 0.0, 0
    for domain in domains:
        tilts = domain.tilts_deg[::every]
        start = time.perf_counter()
        plain = search_grid(domain, tilts)
        slow += (time.perf_counter() - start) * len(domain.tilts_deg) / len(tilts)
        there = search(replace(domain, tilts_deg=tilts), Turner())
        alike = replace(there.key, tight=0, flush=0.0) == replace(plain.key, tight=0, flush=0.0)
        same += alike and abs(there.key.tight - plain.key.tight) <= 1
    cells = sum(len(d.tilts_deg) * len(d.offsets_a) * len(d.shifts) * len(d.slides) for d in domains)
    print("| four openings | s | ratio |\n| --- | --- | --- |")
    print(f"| exhaustive, every {every}. tilt scaled to all | {slow:.1f} | {slow / fast:.0f} |")
    print(f"| fast | {fast:.2f} | 1 |")
    print(f"\n{cells} places; the same optimum in {same} of {len(domains)} openings")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 6)
