"""From the photographs of a pair to its layout: reading, registration and openings in one call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

from seamlight.grain.photograph import ReadSettings, flat_leaves, read_flat
from seamlight.grain.reading import Reading
from seamlight.layout.opening import Layout, LayoutSettings
from seamlight.layout.openings import lay_out
from seamlight.layout.other_face import seen_through
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.register import register
from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline


@dataclass(frozen=True)
class PairPhotographs:
    """The photographs of one pair; only `a` is needed."""

    a: Path
    b: Path | None = None
    other_a: Path | None = None
    other_b: Path | None = None
    end_a: Path | None = None
    end_b: Path | None = None


@dataclass(frozen=True, eq=False)
class PairReading:
    """Both leaves read, their other faces (seen through) where photographed, and how B lies on A."""

    a: Reading
    b: Reading | None
    other_a: Reading | None = None
    other_b: Reading | None = None
    registration: Registration | None = None


def read_pair(
    photographs: PairPhotographs,
    settings: ReadSettings,
    *,
    edits: Mapping[str, Any] | None = None,
) -> PairReading:
    """Read a pair from one photograph a leaf, or from one of the opened pair (the left leaf is A).

    `edits` is one leaf's flaw edits (then leaf A's), or {"a": edits, "b": edits}.

    Raises:
        Mistake: a picture cannot be read, or one file is given for two faces.
    """
    _no_picture_twice(photographs)
    edits_a, edits_b = _edits_by_leaf(edits)
    flats = flat_leaves(photographs.a, settings, leaves="one" if photographs.b else "pair")
    flat_b = flats[1] if len(flats) > 1 else None
    if photographs.b is not None:
        (flat_b,) = flat_leaves(photographs.b, settings, leaves="one")
    if flat_b is None and (photographs.other_b or photographs.end_b or edits_b):
        raise Mistake("leaf B has no photograph of its sawn face", where="layout", do="give PHOTO_B too")
    a = read_flat(flats[0], settings, end=photographs.end_a, edits=edits_a)
    b = read_flat(flat_b, settings, end=photographs.end_b, edits=edits_b) if flat_b is not None else None
    return PairReading(
        a=a,
        b=b,
        other_a=_read_other(photographs.other_a, a, settings),
        other_b=_read_other(photographs.other_b, b, settings),
        registration=register(a.flat, b.flat) if b is not None else None,
    )


def lay_out_pair(pair: PairReading, outline: Outline, settings: LayoutSettings) -> Layout:
    """The openings of a read pair for one outline, best first."""
    a = leaf_of(pair.a, pair.other_a)
    b = leaf_of(pair.b, pair.other_b) if pair.b is not None else None
    other_faces = pair.other_a is not None and (pair.b is None or pair.other_b is not None)
    return lay_out(a, b, pair.registration, outline, settings, other_faces=other_faces)


def leaf_of(reading: Reading, other: Reading | None = None) -> Leaf:
    """What the layout needs of a read leaf; `other` is its other face, seen through."""
    leaf = Leaf.from_reading(reading)
    return leaf if other is None else replace(leaf, other_flaws=other.flaws)


def _no_picture_twice(photographs: PairPhotographs) -> None:
    """One picture given for two faces would match itself perfectly and pass for a pair."""
    faces = (photographs.a, photographs.b, photographs.other_a, photographs.other_b)
    given = [path for path in faces if path is not None]
    for path, other in combinations(given, 2):
        if path.resolve() == other.resolve():
            raise Mistake(
                "is given for two faces of the pair",
                where=str(path),
                do="name the other face's own photograph",
            )


def _read_other(path: Path | None, face: Reading | None, settings: ReadSettings) -> Reading | None:
    if path is None or face is None:
        return None
    (flat,) = flat_leaves(path, settings, leaves="one")
    return seen_through(face, read_flat(flat, settings))


def _edits_by_leaf(
    edits: Mapping[str, Any] | None,
) -> tuple[Mapping[str, Any] | None, Mapping[str, Any] | None]:
    if edits is None:
        return None, None
    if set(edits) <= {"a", "b"}:
        return edits.get("a"), edits.get("b")
    return edits, None
