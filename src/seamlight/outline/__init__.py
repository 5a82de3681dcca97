"""Plan shapes of bodies, and the zones that belong to them.

In: measures, the plain name of a generic size, or the maker's own DXF, SVG or measures file (JSON).
Out: an `Outline` in the body frame (mm, neck end at y = 0, tail at y = length), what is measured on it, and
its zones. A generic size is a starting point: a shop's own template takes its place.
"""

from seamlight.outline.load import SUFFIXES, load
from seamlight.outline.measure import (
    area_m2,
    half_perimeter_mm,
    half_width_at,
    polygon,
    scale_check,
    widths,
    zone_polygons,
)
from seamlight.outline.measures import Cutaway, Measures
from seamlight.outline.parametric import draw, named, names
from seamlight.outline.shape import Outline, Zones
from seamlight.outline.zones import for_back

__all__ = [
    "SUFFIXES",
    "Cutaway",
    "Measures",
    "Outline",
    "Zones",
    "area_m2",
    "draw",
    "for_back",
    "half_perimeter_mm",
    "half_width_at",
    "load",
    "named",
    "names",
    "polygon",
    "scale_check",
    "widths",
    "zone_polygons",
]
