"""The printed target sheet: where its tags and its two check bars lie, in mm.

Sheet frame: origin at the paper's top-left corner, x to the right, y down. Six tags stand in two columns and
three rows, each with its own id, so that any of them tells which paper, which sheet number and which place it
is.

Tags are AprilTag family 36h11 as OpenCV's `aruco` knows it: E. Olson, "AprilTag: a robust and flexible visual
fiducial system", ICRA 2011; the family's codes as shipped in OpenCV's DICT_APRILTAG_36h11.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.mistake import Mistake
from seamlight.photo.flat import Points

Paper = Literal["a4", "letter"]
PAPER_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
BAR_MM = 150.0
BAR_LINE_MM = 1.0  # how thick the bars are drawn
TAG_MM = 40.0  # black border included
TAG_CELLS = 8  # 6 x 6 bits within a black border one cell wide
MARGIN_MM = 15.0  # paper edge to tag: room for the printer and for the white rim a tag needs (one cell, 5 mm)
ROWS, COLUMNS = 3, 2
SLOTS = ROWS * COLUMNS
SHEET_NUMBERS = 40

_PAPERS: tuple[Paper, ...] = ("a4", "letter")


@dataclass(frozen=True, eq=False)
class Tag:
    """One tag: its id and its corners (4, 2) mm in the sheet frame, clockwise from the top-left one."""

    id: int
    corners_mm: Points


@dataclass(frozen=True)
class Bar:
    """A check bar's two ends, mm in the sheet frame."""

    from_mm: tuple[float, float]
    to_mm: tuple[float, float]


@dataclass(frozen=True, eq=False)
class TargetSheet:
    """All that is printed on one sheet."""

    paper: Paper
    number: int
    width_mm: float
    height_mm: float
    tags: tuple[Tag, ...]  # row by row from the top left
    bars: tuple[Bar, Bar]  # across, down


@dataclass(frozen=True)
class TagPlace:
    """Where a tag belongs."""

    paper: Paper
    number: int
    slot: int


@cache
def target_sheet(paper: Paper = "a4", number: int = 1) -> TargetSheet:
    """The sheet of that paper and number; sheets of different paper or number share no tag.

    Raises:
        Mistake: paper or number is unknown.
    """
    if paper not in PAPER_MM:
        raise Mistake(f"no target sheet for paper {paper!r}", where="--paper", do="use a4 or letter")
    if not 1 <= number <= SHEET_NUMBERS:
        raise Mistake(
            f"there is no target sheet {number}",
            where="--number",
            do=f"use a number from 1 to {SHEET_NUMBERS}",
        )
    width_mm, height_mm = PAPER_MM[paper]
    left = np.linspace(MARGIN_MM, width_mm - MARGIN_MM - TAG_MM, COLUMNS)
    top = np.linspace(MARGIN_MM, height_mm - MARGIN_MM - TAG_MM, ROWS)
    square = TAG_MM * np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    tags = tuple(
        Tag(_first_id(paper, number) + row * COLUMNS + column, square + np.array((left[column], top[row])))
        for row in range(ROWS)
        for column in range(COLUMNS)
    )
    middle = width_mm / 2
    across_y = float(top[1] + TAG_MM + top[2]) / 2
    half = BAR_MM / 2
    down_x = middle + TAG_MM / 2
    bars = (
        Bar((middle - half, across_y), (middle + half, across_y)),
        Bar((down_x, MARGIN_MM), (down_x, MARGIN_MM + BAR_MM)),
    )
    return TargetSheet(paper, number, width_mm, height_mm, tags, bars)


def _first_id(paper: Paper, number: int) -> int:
    return SLOTS * (len(_PAPERS) * (number - 1) + _PAPERS.index(paper))


def place_of_tag(tag_id: int) -> TagPlace | None:
    """Which sheet and place a tag id belongs to; None for an id that no sheet uses."""
    sheet, slot = divmod(tag_id, SLOTS)
    number, paper = divmod(sheet, len(_PAPERS))
    if tag_id < 0 or number >= SHEET_NUMBERS:
        return None
    return TagPlace(_PAPERS[paper], number + 1, slot)


@cache
def tag_dictionary() -> cv2.aruco.Dictionary:
    """The family of the tags."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


def tag_cells(tag_id: int) -> NDArray[np.bool_]:
    """(8, 8) cells of a tag, True where black, border included."""
    picture = cv2.aruco.generateImageMarker(tag_dictionary(), tag_id, TAG_CELLS, borderBits=1)
    return np.asarray(picture) < 128


def sheet_picture(sheet: TargetSheet, px_per_mm: float = 10.0) -> NDArray[np.uint8]:
    """(h, w) gray picture of the sheet as printed, corner to corner of the paper: tags and bars, no words."""
    height, width = round(sheet.height_mm * px_per_mm), round(sheet.width_mm * px_per_mm)
    picture = np.full((height, width), 255, np.uint8)

    def blacken(x0: float, y0: float, x1: float, y1: float) -> None:
        picture[
            round(y0 * px_per_mm) : round(y1 * px_per_mm), round(x0 * px_per_mm) : round(x1 * px_per_mm)
        ] = 0

    cell = TAG_MM / TAG_CELLS
    for tag in sheet.tags:
        left, top = tag.corners_mm[0]
        for row, column in np.argwhere(tag_cells(tag.id)):
            x, y = left + column * cell, top + row * cell
            blacken(x, y, x + cell, y + cell)
    across, down = sheet.bars
    half = BAR_LINE_MM / 2
    blacken(across.from_mm[0], across.from_mm[1] - half, across.to_mm[0], across.to_mm[1] + half)
    blacken(down.from_mm[0] - half, down.from_mm[1], down.to_mm[0] + half, down.to_mm[1])
    return picture
