"""The JSON document of `rack`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from seamlight.document import Document, MaybeFigure, Part
from seamlight.layout.document import OpeningPart
from seamlight.layout.rack import Rack, RackPair


class FailedPart(Part):
    """A file of the rack that could not be read."""

    file: str
    why: str


class RackPairPart(Part):
    """One pair of the rack with the best opening for each outline."""

    a: str
    b: str
    match: MaybeFigure
    best: dict[str, OpeningPart]
    warnings: list[str] = Field(default_factory=list)

    @classmethod
    def of(cls, pair: RackPair) -> RackPairPart:
        """From a pair of the rack."""
        registration = pair.pair.registration
        best = {lay.outline.name: OpeningPart.of(lay.openings[0]) for lay in pair.layouts}
        return cls(
            a=pair.a.name,
            b=pair.b.name,
            match=registration.match if registration else None,
            best=best,
            warnings=list(dict.fromkeys(w for lay in pair.layouts for w in lay.warnings)),
        )


class RackDocument(Document):
    """A whole stack at once."""

    schema_: Literal["seamlight/rack/1"] = Field(default="seamlight/rack/1", alias="schema")
    pairs: list[RackPairPart]
    alone: list[str]
    failed: list[FailedPart]

    @classmethod
    def of(cls, rack: Rack) -> RackDocument:
        """From a rack."""
        return cls(
            warnings=list(rack.warnings),
            pairs=[RackPairPart.of(pair) for pair in rack.pairs],
            alone=[path.name for path in rack.alone],
            failed=[FailedPart(file=path.name, why=why) for path, why in rack.failed],
        )
