"""Scores the package's own flaw finding on rendered leaves whose seeds (300 to 999) trained nothing.

python training/score_leaves.py [FIRST_SEED] [COUNT]
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np
import shapely

from leaf_pack import grown
from seamlight.grain.flaws import find_flaws


def main(first: int, count: int) -> None:
    """Prints what was met and what was false, by kind."""
    there: Counter[str] = Counter()
    met: Counter[str] = Counter()
    false: Counter[str] = Counter()
    per_leaf, ratios = [], []
    for seed in range(first, first + count):
        face = grown(seed)
        finds = find_flaws(face.as_flat(), None)
        shapes = [shapely.Polygon(f.outline_mm) for f in finds]
        truth = [(f.kind, shapely.make_valid(shapely.Polygon(f.outline_mm))) for f in face.flaws]
        for kind, shape in truth:
            across = 2 * float(np.sqrt(shape.area / np.pi))
            if kind == "knot" and across < 4:
                kind = "knot under 4 mm"
            there[kind] += 1
            hit = [s for s in shapes if s.intersection(shape).area > 0.3 * min(s.area, shape.area)]
            met[kind] += bool(hit)
            if hit and kind == "knot":
                ratios.append(hit[0].area / shape.area)
            if not hit and kind in ("knot", "wane"):
                print("missed", seed, face.leaf.log.wood.name, kind, f"{shape.area:.1f} mm2", shape.centroid)
        grownup = shapely.union_all([shape.buffer(1.0) for _, shape in truth])
        wrong = [f for f, s in zip(finds, shapes, strict=True) if s.intersection(grownup).area < 0.2 * s.area]
        per_leaf.append(len(wrong))
        for f, s in zip(finds, shapes, strict=True):
            if f in wrong:
                false[f.kind] += 1
                print(
                    "false",
                    seed,
                    face.leaf.log.wood.name,
                    f.kind,
                    f"{f.sure:.2f}",
                    f"{s.area:.0f}",
                    s.centroid,
                )
    for kind in sorted(there):
        print(f"{kind:16s} met {met[kind]:4d} of {there[kind]:4d}   false {false[kind]}")
    print("false finds a leaf: most", max(per_leaf), "mean", np.mean(per_leaf))
    print("knot area over truth: 5 %, 50 %, 95 %", np.round(np.percentile(ratios, [5, 50, 95]), 2))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300, int(sys.argv[2]) if len(sys.argv) > 2 else 60)
