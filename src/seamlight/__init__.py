"""Seamlight: the bench companion of a small acoustic-guitar workshop.

Rooms, in the order in which data flows: units, timber, photo, grain, outline, layout, sheets, demo, cli.
"""

__version__ = "0.1.0"
