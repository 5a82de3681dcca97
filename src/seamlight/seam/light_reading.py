"""What one look through the joint says: light along the seam, the gap where it can be known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Rgb = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class LightReading:
    """Light along the joint in the seam frame: s from the neck end, mm.

    `s_mm` is even, from half a step inside 0 to half a step inside the length. Shims, where there were any,
    are still in: the gap is as seen.
    """

    s_mm: Floats  # (n,)
    light: Floats  # (n,) 0..1: the light through the joint, 1 for a gap of `FULL_LIGHT_MM` or more
    gap_mm: Floats | None  # (n,) as seen; None where the reading is relative
    error_mm: float | None  # of a gap of 0.1 mm, two standard errors; None where the reading is relative
    measured: Literal["width", "relative"]
    touching: Bools  # (n,) where no more light comes through than through a gap of 0.01 mm
    length_mm: float
    lower_bound: bool  # a joint hides its gap from a camera off its plane: the gap may be wider than read
    warnings: tuple[str, ...]
    straight: Rgb  # (h, w, 3) the seam laid straight for the eye: neck end at the left, all of the length
    straight_px_per_mm: float  # along the seam
    ends_px: tuple[tuple[float, float], tuple[float, float]]  # neck and tail end in the (first) picture
    shims_mm: tuple[float, float] | None = None  # the gaps that shims made at s = 0 and s = length

    def error_at_mm(self, gap_mm: Floats | float) -> Floats:
        """Two standard errors at gaps of a given width: `error_mm`, or 10 % where that is more.

        10 %: rendered pictures came to half of it; sawn ends are no such sharp edges (docs/seam.md).
        """
        base = 0.0 if self.error_mm is None else self.error_mm
        return np.maximum(base, 0.10 * np.asarray(gap_mm, dtype=np.float64))


FULL_LIGHT_MM = 0.5  # the widest gap that is read
