"""Lengths at the edge of the program.

In: what a person types (`19`, `3/4"`, `15' 0"`, `110 thou`, `4,5`, `560x215x185`).
Out: millimetres as floats, and back again as text in the shop's unit. Everything else in the house is mm.
"""

from seamlight.units.parse import MM_PER_INCH, Unit, parse_length, parse_size
from seamlight.units.show import show_length, show_temperature
from seamlight.units.slip import likely_slip
from seamlight.units.words import said_in

__all__ = [
    "MM_PER_INCH",
    "Unit",
    "likely_slip",
    "parse_length",
    "parse_size",
    "said_in",
    "show_length",
    "show_temperature",
]
