"""The light of one joint, read: what the process beside the server is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from seamlight.photo import ScaleSpec
from seamlight.seam import Bench, Readings, join_faces, judge_light, read_light_files
from seamlight.seam.document import SeamDocument
from seamlight.seam.light_ends import NeckAt, Point, Points
from seamlight.shop.look import jpeg


@dataclass(frozen=True)
class SeamRead:
    """A joint's document, and its seam laid straight (JPEG, neck end at the left)."""

    document: SeamDocument
    straight: bytes


@dataclass(frozen=True)
class SeamAsked:
    """What a person says about pictures of a joint; a length or tags. Marks are for each picture in turn."""

    length_mm: float | None
    tags: ScaleSpec | None
    shims_mm: tuple[float, float] | None
    distance_mm: float
    neck_at: NeckAt
    ends_px: tuple[Points | None, ...] = ()  # neck end first
    middle_px: tuple[Point | None, ...] = ()


def read_seam(
    pictures: Sequence[Path],
    lamp: Path | None,
    asked: SeamAsked,
    bench: Bench,
    faces: Readings | None = None,
) -> SeamRead:
    """Read pictures, or one film, of a closed joint against a lamp.

    Raises:
        Mistake: what spoils the reading, in one line.
    """
    reading = read_light_files(
        pictures,
        asked.length_mm,
        shims_mm=asked.shims_mm,
        lamp=lamp,
        thickness_mm=bench.thickness_mm,
        distance_mm=asked.distance_mm,
        neck_at=asked.neck_at,
        ends_px=asked.ends_px,
        tags=asked.tags,
        middle_px=asked.middle_px,
    )
    meaning = judge_light(reading, bench)
    if faces is not None:
        meaning = join_faces(meaning, faces, bench)
    document = SeamDocument.of_meaning(meaning, bench)
    return SeamRead(document, jpeg(reading.straight, quality=88))
