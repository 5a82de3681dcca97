"""What the photographs of a filed pair say, made ready to be kept: documents, leaves, flat pictures.

Pure of the shop's memory: paths and settings in, bytes and documents out, so that a worker process can do it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal

from seamlight.grain.document import ReadDocument
from seamlight.grain.edits import edit_flaws
from seamlight.grain.photograph import ReadSettings
from seamlight.grain.reading import Reading
from seamlight.layout.document import LayoutDocument
from seamlight.layout.leaf_file import leaf_bytes
from seamlight.layout.opening import Layout, LayoutSettings
from seamlight.layout.photographs import PairPhotographs, PairReading, lay_out_pair, leaf_of, read_pair
from seamlight.outline.shape import Outline
from seamlight.photo.flat import shrink
from seamlight.shop.flaws_meant import as_meant
from seamlight.shop.look import jpeg

PAGE_PX_PER_MM = 3.0  # of the flat picture that pages work on: a fingertip is no finer

LeafName = Literal["a", "b"]


@dataclass(frozen=True)
class PairOrder:
    """What to read: the photographs, how, and the outlines to lay out."""

    photographs: PairPhotographs
    read: ReadSettings
    outlines: tuple[Outline, ...] = ()
    place: LayoutSettings = field(default_factory=LayoutSettings)
    edits: Mapping[str, Any] | None = None  # what a person said about flaws, by face: a, b, other_a, other_b
    boxes: Mapping[str, Any] | None = None  # where the found flaws lay that it speaks of, by face


@dataclass(frozen=True, eq=False)
class LeafKept:
    """One leaf as it is kept: its document, its arrays, its flat picture."""

    document: dict[str, Any]  # seamlight/read/1
    arrays: bytes  # layout.leaf_file
    picture: bytes  # JPEG, px_per_mm to the mm, in the leaf frame
    px_per_mm: float
    other_picture: bytes | None = None  # of the other face, seen through: same frame, same px to the mm


@dataclass(frozen=True, eq=False)
class PairKept:
    """A pair as it is kept; `layouts` in the order of the outlines that were asked for."""

    a: LeafKept
    b: LeafKept | None
    registration: dict[str, Any] | None
    layouts: tuple[tuple[str, dict[str, Any]], ...]  # outline's name, seamlight/layout/1


def read_for_shop(order: PairOrder) -> tuple[PairKept, PairReading, tuple[Layout, ...]]:
    """Read a pair and lay it out for every outline.

    Returns:
        What is to be kept, and the reading and layouts that pictures can be drawn from.

    Raises:
        Mistake: a photograph cannot be read.
    """
    as_found = read_pair(order.photographs, order.read)
    pair = _said(as_found, order.edits or {}, order.boxes or {})
    layouts = tuple(lay_out_pair(pair, outline, order.place) for outline in order.outlines)
    return kept_of(as_found, pair, layouts), pair, layouts


def kept_of(as_found: PairReading, pair: PairReading, layouts: Sequence[Layout]) -> PairKept:
    """A read pair, as found and with what a person said, and its layouts, made ready to be kept."""
    registration = pair.registration
    return PairKept(
        a=_leaf(as_found.a, pair.a, as_found.other_a),
        b=_leaf(as_found.b, pair.b, as_found.other_b)
        if as_found.b is not None and pair.b is not None
        else None,
        registration=asdict(registration) if registration is not None else None,
        layouts=tuple(
            (layout.outline.name, LayoutDocument.of(layout, pair.a, pair.b).model_dump(by_alias=True))
            for layout in layouts
        ),
    )


def _said(pair: PairReading, edits: Mapping[str, Any], boxes: Mapping[str, Any]) -> PairReading:
    """The pair with what a person said about its flaws.

    They count the flaws as a leaf has them, through holes that no flaw names after those that were found;
    so a hole that was dropped stays dropped.
    """

    def edited(reading: Reading, face: str) -> Reading:
        found = leaf_of(reading).flaws
        said = as_meant(edits.get(face) or {}, boxes.get(face), found)
        if not said:
            return reading
        flaws = edit_flaws(found, said)
        return replace(reading, flaws=flaws, flat=replace(reading.flat, holes_mm=()))

    def other(reading: Reading | None, face: str) -> Reading | None:
        said = as_meant(edits.get(face) or {}, boxes.get(face), reading.flaws) if reading is not None else {}
        if reading is None or not said:
            return reading
        return replace(reading, flaws=edit_flaws(reading.flaws, said))

    b = pair.b
    return replace(
        pair,
        a=edited(pair.a, "a"),
        b=edited(b, "b") if b is not None else None,
        other_a=other(pair.other_a, "other_a"),
        other_b=other(pair.other_b, "other_b"),
    )


def _leaf(as_found: Reading, reading: Reading, other: Reading | None) -> LeafKept:
    """The arrays hold the flaws as found: what a person says is laid over them when the leaf is loaded."""
    small = shrink(reading.flat, PAGE_PX_PER_MM)
    return LeafKept(
        document=ReadDocument.of(reading).model_dump(by_alias=True),
        arrays=leaf_bytes(leaf_of(as_found, other)),
        picture=jpeg(small.rgb),
        px_per_mm=small.px_per_mm,
        other_picture=jpeg(shrink(other.flat, PAGE_PX_PER_MM).rgb) if other is not None else None,
    )
