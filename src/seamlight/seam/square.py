"""What feelers on both faces say that light cannot: out of square, and wind.

A joint that touches along either face passes no light. Front is the face that shows. The opening on a face is
counted with the leaves lying flat.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees

import numpy as np

from seamlight.seam.profile import Floats, mean_over_length

# over the thickness; half of the thinnest ideal glue line (Wood Handbook, chapter 10, from memory: 0.076 mm)
SQUARE_ENOUGH_MM = 0.04
SQUARE_MM = 0.01  # open so much alike is square
WIND_MM = 0.02  # a rise of so little is none


@dataclass(frozen=True)
class Square:
    """Of the two edges to one another; above 0 the front face is open."""

    out_of_square_deg: float  # mean along the joint
    out_of_square_mm: float  # the same over the thickness
    wind_deg: float  # change of the angle from neck end to tail end
    wind_mm: float  # the same over the thickness
    error_mm: float

    @property
    def is_square(self) -> bool:
        """Whether both faces are open alike within the readings' error (and a hundredth)."""
        return abs(self.out_of_square_mm) <= max(SQUARE_MM, self.error_mm)

    @property
    def must_be_squared(self) -> bool:
        """Whether the edges lean so far that glue alone should not fill it."""
        return abs(self.out_of_square_mm) > max(SQUARE_ENOUGH_MM, self.error_mm)

    @property
    def is_straight(self) -> bool:
        """Whether the angle stays the same within the readings' error (and two hundredths)."""
        return abs(self.wind_mm) <= max(WIND_MM, 2 * self.error_mm)


@dataclass(frozen=True)
class Felt:
    """Feelers against light, both with shims and turning taken out: where they differ most."""

    off_mm: float  # the feelers' gap less the light's
    at_mm: float
    allowed_mm: float  # by both readings' errors

    @property
    def agrees(self) -> bool:
        """Whether the difference is within both readings' errors."""
        return abs(self.off_mm) <= self.allowed_mm


def square_of(
    s_mm: Floats, front_mm: Floats, back_mm: Floats, thickness_mm: float, error_mm: float
) -> Square:
    """Out of square and wind from the gaps on both faces at the same places.

    Args:
        s_mm: (n,) rising.
        front_mm, back_mm: (n,) gap on the face that shows and on the other.
        thickness_mm: of the leaf there.
        error_mm: two standard errors of one gap.
    """
    more = front_mm - back_mm
    out = mean_over_length(s_mm, more)
    # least-squares line through the difference: its rise over the joint is the wind
    wind = float(np.polyfit(s_mm, more, 1)[0] * (s_mm[-1] - s_mm[0]))
    return Square(
        out_of_square_deg=degrees(atan(out / thickness_mm)),
        out_of_square_mm=out,
        wind_deg=degrees(atan(wind / thickness_mm)),
        wind_mm=wind,
        error_mm=error_mm,
    )
