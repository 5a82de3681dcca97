"""Every picture's view of a joint: single pictures each by its own marks, a film from frame to frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamlight.mistake import Mistake
from seamlight.photo import Picture, ScaleSpec
from seamlight.seam.light_ends import NeckAt, Point, Points
from seamlight.seam.light_scale import Known, stretched
from seamlight.seam.light_track import LOST, carried
from seamlight.seam.light_view import View, view


@dataclass(frozen=True)
class Marks:
    """What a person marked in one picture."""

    ends: Points | None = None
    middle: Point | None = None

    def carried(self, before: Picture, after: Picture) -> Marks:
        """The same in a film's next frame.

        Raises:
            Mistake: the two frames show too little in common.
        """
        places = [*(self.ends or ()), *([self.middle] if self.middle is not None else [])]
        if not places:
            return self
        moved = carried(places, before, after)
        ends = (moved[0], moved[1]) if self.ends is not None else None
        return Marks(ends, moved[-1] if self.middle is not None else None)


def marks_of(
    ends_px: Sequence[Points | None], middle_px: Sequence[Point | None], pictures: int
) -> list[Marks]:
    """The marks of each picture; those that were not given are none.

    Raises:
        Mistake: there are no pictures, or more marks.
    """
    if pictures == 0:
        raise Mistake("no picture given", do="give one or more pictures, or a film")
    if max(len(ends_px), len(middle_px)) > pictures:
        raise Mistake(f"marks for more pictures than the {pictures} given", do="mark each picture once")
    ends = [*ends_px, *[None] * (pictures - len(ends_px))]
    middles = [*middle_px, *[None] * (pictures - len(middle_px))]
    return [Marks(*one) for one in zip(ends, middles, strict=True)]


@dataclass(frozen=True, eq=False)
class Looks:
    """What is the same for every picture of a joint."""

    length_mm: float | None
    tags: ScaleSpec | None
    lamp: Picture | None
    neck_at: NeckAt

    def view(self, picture: Picture, marks: Marks) -> View:
        """One picture's joint.

        Raises:
            Mistake: what spoils the picture.
        """
        known = Known(self.length_mm, self.tags, marks.middle)
        return view(picture, known, self.lamp, self.neck_at, marks.ends)

    def views(self, pictures: Sequence[Picture], marks: Sequence[Marks]) -> list[View]:
        """Each picture's."""
        return [self.view(picture, mark) for picture, mark in zip(pictures, marks, strict=True)]

    def film(self, frames: Sequence[Picture], marks: Marks, film: str) -> list[View]:
        """Those of a film's frames that show the joint; marks of the first are carried on.

        Raises:
            Mistake: too few do.
        """
        found: list[View] = []
        first: Mistake | None = None
        for i, frame in enumerate(frames):
            try:
                if i:
                    marks = marks.carried(frames[i - 1], frame)
                found.append(self.view(frame, marks))
            except Mistake as mistake:
                first = first or mistake
                if mistake.what == LOST:
                    break
        if len(found) < max(2, len(frames) // 4):
            why = "no seam" if first is None or first.what.startswith("no seam") else first.what
            raise Mistake(
                f"{why} in {len(frames) - len(found)} of the film's {len(frames)} frames looked at",
                where=film,
                do="film the closed joint against the lamp, both ends in the picture all the time",
            )
        return found


def check_known(length_mm: float | None, tags: ScaleSpec | None, middle_px: Sequence[Point | None]) -> None:
    """What is known of the length.

    Raises:
        Mistake: nothing, too much, or what cannot be.
    """
    marked = any(place is not None for place in middle_px)
    if tags is not None and (length_mm is not None or marked):
        raise Mistake(
            "tags give the length and the scale along it",
            where="middle" if marked else "length",
            do="give one of them",
        )
    if tags is None and (length_mm is None or not 50.0 <= length_mm <= 1500.0):
        raise Mistake(
            "how long the joint is must be known, 50 to 1500 mm", where="length", do="measure it, such as 550"
        )
    if tags is not None and tags.how != "tags":
        raise Mistake("a joint's length comes from tags or from you", where="length", do="write tags")


def of_one_length(views: list[View]) -> list[View]:
    """Views whose lengths by tags differ by the tags' error, brought to the middle of them."""
    length_mm = float(np.median([v.cut.length_mm for v in views]))
    return [replace(v, cut=stretched(v.cut, length_mm)) for v in views]
