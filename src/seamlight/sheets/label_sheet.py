"""A sheet of labels by its measures: where each label lies on the paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seamlight.mistake import Mistake
from seamlight.sheets.page import PAPER_MM, paper_of

LEAST_MM = (30.0, 18.0)  # a smaller label has no room for its code beside its words
TOUCH_MM = 0.05


@dataclass(frozen=True)
class LabelSheet:
    """Measures of a label sheet, mm from the paper's upper left corner.

    `pitch_mm` is from one label's left (upper) edge to the next one's.
    """

    page_mm: tuple[float, float]
    left_mm: float
    top_mm: float
    label_mm: tuple[float, float]
    pitch_mm: tuple[float, float]
    across: int
    down: int

    @property
    def places(self) -> int:
        """How many labels the sheet holds."""
        return self.across * self.down

    def checked(self) -> LabelSheet:
        """This sheet, once its labels lie on the paper and beside one another.

        Raises:
            Mistake: they don't, or are too small.
        """
        if self.across < 1 or self.down < 1 or self.places > 500:
            raise Mistake("a sheet has 1 to 500 labels", where="how many", do="count them again")
        for name, label, pitch, least in zip(
            ("width", "height"), self.label_mm, self.pitch_mm, LEAST_MM, strict=True
        ):
            if label < least - TOUCH_MM:
                raise Mistake(
                    f"a label {label:g} mm in {name} has no room for a code and words",
                    where=f"label {name}",
                    do=f"use labels of {LEAST_MM[0]:g} x {LEAST_MM[1]:g} mm or more",
                )
            count = self.across if name == "width" else self.down
            if count > 1 and pitch < label - TOUCH_MM:
                raise Mistake(
                    f"labels of {label:g} mm overlap at a pitch of {pitch:g} mm",
                    where=f"pitch {'across' if name == 'width' else 'down'}",
                    do="measure from one label's edge to the same edge of the next",
                )
        self._check_paper()
        return self

    def _check_paper(self) -> None:
        for name, start, count, pitch, label, page in (
            ("right", self.left_mm, self.across, self.pitch_mm[0], self.label_mm[0], self.page_mm[0]),
            ("lower", self.top_mm, self.down, self.pitch_mm[1], self.label_mm[1], self.page_mm[1]),
        ):
            over = start + (count - 1) * pitch + label - page
            if start < 0 or over > TOUCH_MM:
                raise Mistake(
                    f"the labels reach {max(over, -start):.1f} mm beyond the paper's {name} edge",
                    where="margins",
                    do="measure margins, label size and pitch again",
                )

    def corner_mm(self, place: int) -> tuple[float, float]:
        """The upper left corner of a place, counted from 0 along the rows."""
        row, column = divmod(place, self.across)
        return self.left_mm + column * self.pitch_mm[0], self.top_mm + row * self.pitch_mm[1]

    def filled(self, count: int, first: int = 1) -> Iterator[tuple[int, int]]:
        """Page and place of each label, both from 0; `first` is the first free place, from 1.

        Raises:
            Mistake: the sheet has no such place.
        """
        if not 1 <= first <= self.places:
            raise Mistake(
                f"there is no place {first}", where="first free place", do=f"say 1 to {self.places}"
            )
        for number in range(first - 1, first - 1 + count):
            yield divmod(number, self.places)


# Common layouts by their measures alone (common practice, no source); a sheet in hand is measured.
A4_3_BY_8 = LabelSheet(PAPER_MM["a4"], 0.0, 4.5, (70.0, 36.0), (70.0, 36.0), 3, 8)
LETTER_3_BY_10 = LabelSheet(PAPER_MM["letter"], 4.7625, 12.7, (66.675, 25.4), (69.85, 25.4), 3, 10)


def usual_sheet(paper: str) -> LabelSheet:
    """The starting measures for a paper.

    Raises:
        Mistake: no label sheet of that paper is known.
    """
    sheets = {"a4": A4_3_BY_8, "letter": LETTER_3_BY_10}
    if paper_of(paper) not in sheets:
        raise Mistake(f"no label sheet on {paper} is known", where="paper", do="use a4 or letter")
    return sheets[paper_of(paper)]
