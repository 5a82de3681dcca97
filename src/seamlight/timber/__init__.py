"""Facts of timbers with their sources.

In: a species' plain name, a slope of grain, a ring-to-face angle; the shop's air; a glue's name.
Out: figures that carry their source and standing, degrees, the word for the cut; the moisture that wood
settles at, how a plate moves, whether glue may go on (`judge_air`, `AirDocument`); times, limits and
pressures of a glue.
"""

from seamlight.timber.air import Air, GlueWeather, glue_weather, judge_air
from seamlight.timber.air_document import AirDocument
from seamlight.timber.cut import USAGES, Cut, Usage, cut_of
from seamlight.timber.glue import Glue, glue, glue_names
from seamlight.timber.moisture import emc_pct, rh_for_emc_pct
from seamlight.timber.movement import movement_across, ring_to_face_of, width_change_mm
from seamlight.timber.slope import degrees_of_slope, slope_of_degrees
from seamlight.timber.species import Figure, Species, movement_mm, species, species_names

__all__ = [
    "USAGES",
    "Air",
    "AirDocument",
    "Cut",
    "Figure",
    "Glue",
    "GlueWeather",
    "Species",
    "Usage",
    "cut_of",
    "degrees_of_slope",
    "emc_pct",
    "glue",
    "glue_names",
    "glue_weather",
    "judge_air",
    "movement_across",
    "movement_mm",
    "rh_for_emc_pct",
    "ring_to_face_of",
    "slope_of_degrees",
    "species",
    "species_names",
    "width_change_mm",
]
