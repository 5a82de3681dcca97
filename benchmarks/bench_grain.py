"""The grain field against scikit-image's structure tensor and eigen analysis at the same scale, in one run.

The peer does only a part of the work (no angle from its eigenvalues, no spacing, and it follows marks across
the grain): float32, one picture, one thread, smoothed by the deviation that the field has across the grain;
along it the field takes in more wood, for which the peer would need longer. The field runs on one thread, and
once more with OpenCV free to use two. Run: python benchmarks/bench_grain.py
"""

from __future__ import annotations

import cv2
import numpy as np
from skimage.feature import structure_tensor, structure_tensor_eigenvalues

from least_of import least_seconds
from seamlight.demo import saw, wood
from seamlight.grain.endgrain import read_end
from seamlight.grain.field_bands import bands
from seamlight.grain.field_direction import FINE_MM, direction
from seamlight.grain.field_survey import grain_field

ROUNDS = 9


def main() -> None:
    """Print the table."""
    print("| picture | work | ms | the peer takes |\n| --- | --- | --- | --- |")
    for px_per_mm in (4.0, 6.0):
        leaf = saw.saw_pair(wood.grow_log(7, species="Engelmann spruce"), 7).a
        flat = saw.face(leaf, "sawn", px_per_mm).as_flat()
        gray = cv2.cvtColor(flat.rgb, cv2.COLOR_RGB2GRAY).astype(np.float32)
        sigma = FINE_MM[0] * px_per_mm
        peer = least_seconds(
            lambda g=gray, s=sigma: structure_tensor_eigenvalues(structure_tensor(g, sigma=s)), ROUNDS
        )
        size = f"{gray.shape[1]} x {gray.shape[0]} px"
        print(f"| {size} | structure tensor and eigenvalues (scikit-image) | {peer * 1000:.0f} | 1 |")
        rows = (
            ("direction and coherence", lambda f=flat: direction(bands(f.rgb, f.wood, f.px_per_mm))),
            ("grain field with ring lines and spacing", lambda f=flat: grain_field(f)),
        )
        for threads in ("one thread", "two threads"):
            cv2.setNumThreads(1 if threads == "one thread" else 2)
            for name, work in rows:
                seconds = least_seconds(work, ROUNDS)
                print(f"| {size} | {name}, {threads} | {seconds * 1000:.0f} | {peer / seconds:.1f} times |")
    end = saw.end(leaf, 1).rgb
    ms = least_seconds(lambda: read_end(end, 215.0), ROUNDS) * 1000
    print(f"\nend grain of {end.shape[1]} x {end.shape[0]} px: {ms:.0f} ms")


if __name__ == "__main__":
    main()
