"""Slope of grain: 1 in N, or degrees."""

from __future__ import annotations

from math import atan, degrees, inf, radians, tan


def degrees_of_slope(one_in: float) -> float:
    """Degrees of a slope of 1 in N.

    >>> round(degrees_of_slope(15), 3)
    3.814
    """
    # definition: tan(angle) = 1 / N
    return degrees(atan(1 / one_in)) if one_in else 90.0


def slope_of_degrees(angle_deg: float) -> float:
    """N of a slope 1 in N, at any sign of the angle; infinite for straight grain.

    >>> round(slope_of_degrees(-5.711), 2)
    10.0
    """
    slope = tan(radians(abs(angle_deg)))
    return 1 / slope if slope else inf
