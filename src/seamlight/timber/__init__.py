"""Facts of timbers with their sources.

In: a species' plain name, a slope of grain, a ring-to-face angle.
Out: figures that carry their source and standing, degrees, the word for the cut.
"""

from seamlight.timber.cut import USAGES, Cut, Usage, cut_of
from seamlight.timber.slope import degrees_of_slope, slope_of_degrees
from seamlight.timber.species import Figure, Species, movement_mm, species, species_names

__all__ = [
    "USAGES",
    "Cut",
    "Figure",
    "Species",
    "Usage",
    "cut_of",
    "degrees_of_slope",
    "movement_mm",
    "slope_of_degrees",
    "species",
    "species_names",
]
