"""The taps of one piece, read: what the process beside the server is asked for."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from pydantic import TypeAdapter

from seamlight.mistake import Mistake
from seamlight.plate import (
    Circumstances,
    Piece,
    Place,
    PlateResult,
    TapDocument,
    TapReading,
    peaks_alone,
    tapped_bar,
    tapped_plate,
)
from seamlight.plate.drawing import mode_svg
from seamlight.plate.model import named_modes, surroundings
from seamlight.plate.named import NAMES, Name
from seamlight.plate.piece import Kind
from seamlight.plate.spectrum import spectrum
from seamlight.plate.taps import open_taps, reading_of
from seamlight.shop.plate_rule import elastic_of

_PLATE_HZ, _BAR_HZ = (15.0, 2000.0), (60.0, 6000.0)  # what is drawn


@dataclass(frozen=True)
class PlateAsked:
    """What a person says about recordings of one piece."""

    piece: Piece
    kind: Kind
    day: Circumstances
    said: Mapping[Name, float] = field(default_factory=dict)
    places: tuple[Place, ...] = ()


@dataclass(frozen=True)
class Heard:
    """What was heard, for another look without the recordings.

    Attributes:
        reading: peaks of the good taps.
        cuts: every sudden sound found: which recording (from 0), second, why it was left out ("" for good).
        curve: the averaged spectrum of the good ones, Hz and dB.
    """

    reading: TapReading
    cuts: tuple[tuple[int, float, str], ...] = ()
    curve: tuple[tuple[float, float], ...] = ()

    def text(self) -> str:
        """As it is kept beside a reading."""
        return json.dumps(asdict(self))


_HEARD = TypeAdapter(Heard)


def heard_of(text: str | bytes) -> Heard | None:
    """What was heard, from its text; None where it is of another program."""
    try:
        return _HEARD.validate_json(text)
    except ValueError:
        return None


def read_recordings(paths: Sequence[Path], asked: PlateAsked) -> tuple[TapDocument, Heard]:
    """Read the taps of recordings and what they say of the piece.

    Raises:
        Mistake: what spoils the reading, in one line.
    """
    taps = open_taps(list(paths))
    reading, cuts = reading_of(taps, asked.places)
    drawn = spectrum(taps, *(_BAR_HZ if asked.kind == "bar" else _PLATE_HZ), 1200)
    heard = Heard(
        reading,
        tuple((cut.file, round(cut.at_s, 2), cut.left_out) for cut in cuts),
        tuple(
            (round(float(hz), 2), round(float(db), 1))
            for hz, db in zip(drawn.hz, drawn.level_db, strict=True)
        ),
    )
    return judge_heard(heard.reading, asked), heard


def judge_heard(reading: TapReading, asked: PlateAsked) -> TapDocument:
    """What peaks that were heard say of the piece; where they say nothing, they still stand to be named.

    Raises:
        Mistake: what the person says of them cannot be.
    """
    result: PlateResult
    try:
        if asked.kind == "bar":
            result = tapped_bar(reading, asked.piece, asked.day, first_hz=asked.said.get("along"))
        else:
            result = tapped_plate(reading, asked.piece, asked.day, said=asked.said)
    except Mistake as mistake:
        if asked.said:
            raise
        result = peaks_alone(reading, asked.piece, asked.day, str(mistake), kind=asked.kind)
    return TapDocument.of(result)


def mode_drawings(document: TapDocument, wood: str | None) -> dict[Name, str]:
    """The plate drawn with its three modes, where it is one and was weighed: SVG by mode."""
    size = document.size
    if document.kind != "plate" or not size.weight_g or document.e_along_mpa is None:
        return {}
    piece = Piece(size.length_mm, size.width1_mm, size.width2_mm, size.thickness_mm, size.weight_g)
    heard = {peak.mode: peak.hz for peak in document.peaks if peak.mode != "other"}
    try:
        named = named_modes(piece, elastic_of(document, wood), surroundings(piece))
    except Mistake:
        return {}
    return {name: mode_svg(name, named.modes[name], piece, heard.get(name)) for name in NAMES}
