"""The tables of a shop: wood, builds, people, and what the program itself remembers.

Lengths mm, weights g, temperatures deg C, humidity % RH, times UTC, money in hundredths.
Every figure of a reading stays in its JSON document; `pair_figure` and `pair_fit` repeat the few that a
rack is sorted by and can be made again from the documents.
"""

from __future__ import annotations

from seamlight.shop.tables_house import Air, History, Job, Sent, Setting
from seamlight.shop.tables_people import Assignment, Build, Class, Device, Link, Student, WrongTry
from seamlight.shop.tables_row import NAMES, NEVER_AGAIN, Fields, Row
from seamlight.shop.tables_wood import (
    Arrival,
    Choice,
    Clamp,
    File,
    FlawEdit,
    Pair,
    PairFigure,
    PairFit,
    PairPhoto,
    Planed,
    Reading,
    StageEvent,
    Weight,
)

__all__ = [
    "NAMES",
    "NEVER_AGAIN",
    "Air",
    "Arrival",
    "Assignment",
    "Build",
    "Choice",
    "Clamp",
    "Class",
    "Device",
    "Fields",
    "File",
    "FlawEdit",
    "History",
    "Job",
    "Link",
    "Pair",
    "PairFigure",
    "PairFit",
    "PairPhoto",
    "Planed",
    "Reading",
    "Row",
    "Sent",
    "Setting",
    "StageEvent",
    "Student",
    "Weight",
    "WrongTry",
]
