"""The grain's direction and ring spacing at every place of a leaf."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class GrainField:
    """Direction, spacing and coherence on a regular grid in the leaf frame; NaN where there is no wood.

    Angles are positive where a grain line moves to +x as y grows; spacing is square to the lines.
    """

    x_mm: Array  # (n,)
    y_mm: Array  # (m,)
    angle_deg: Array  # (m, n)
    spacing_mm: Array  # (m, n)
    coherence: Array  # (m, n), 0..1
