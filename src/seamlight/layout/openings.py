"""All ways to open a pair, each with the outline in its best place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from seamlight.grain.flaw import Flaw
from seamlight.layout.best import search
from seamlight.layout.domain import domain_of
from seamlight.layout.layers import Turner
from seamlight.layout.opened import Way, opening_of
from seamlight.layout.opening import Edge, Face, Layout, LayoutSettings
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.reasons import Told
from seamlight.layout.refine import refined
from seamlight.layout.register import NONE_BELOW, PAIR_FROM
from seamlight.layout.remedies import with_remedies
from seamlight.layout.side import Side, side_a, side_b, size_of
from seamlight.layout.sound import all_flaws
from seamlight.mistake import Mistake
from seamlight.one_thread import one_blas_thread
from seamlight.outline import for_back, named, names
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points

EDGES: tuple[Edge, ...] = ("left", "right")
ENDS: tuple[Literal[1, 2], ...] = (1, 2)


@one_blas_thread
def lay_out(
    a: Leaf,
    b: Leaf | None,
    registration: Registration | None,
    outline: Outline,
    settings: LayoutSettings,
    other_faces: bool = False,
    *,
    smaller: Sequence[Outline] | None = None,
) -> Layout:
    """All openings of a pair for one outline, best first; those that do not fit last.

    Args:
        a: leaf A, whose frame is the pair's.
        b: leaf B; None: leaf A's mirror stands in.
        registration: how B lies on A's mirror; None where it was not found.
        outline: the body's plan shape.
        settings: what the maker chose.
        other_faces: also the same plates turned over, where both their faces were seen.
        smaller: outlines to offer where this one does not do; None: the generic sizes.

    Raises:
        Mistake: a leaf without sound wood, or so small that no place has wood at the joint.
    """
    stands_in = b is None
    b, registration, warnings = _partner(a, b, registration)
    if settings.use == "back":
        outline = for_back(outline)
    sides = side_a(a), side_b(b, registration, size_of(a))
    turner = Turner()
    ways = [
        way
        for edge in EDGES
        for end in ENDS
        for way in _ways(sides, outline, settings, registration, turner, edge, end, other_faces)
    ]
    ways.sort(key=lambda way: replace(way.found.key, flush=0.0))
    told = told_of(a, b, outline, settings)
    openings = [opening_of(way, outline, settings, told) for way in ways]
    offered = [named(name) for name in names()] if smaller is None else list(smaller)
    openings = with_remedies(ways, openings, outline, settings, offered, turner)
    return Layout(a, b, registration, outline, settings, tuple(openings), tuple(warnings), stands_in)


def mirrored(leaf: Leaf) -> Leaf:
    """A leaf as its mirror shows it, left and right changed over within its bounding box."""
    width, length = size_of(leaf)
    flip = np.array([-1.0, 1.0])

    def turn(ring: Points) -> Points:
        return np.asarray((np.asarray(ring) * flip + np.array([width, 0.0]))[::-1])

    def flaws(found: tuple[Flaw, ...]) -> tuple[Flaw, ...]:
        return tuple(replace(f, outline_mm=turn(f.outline_mm)) for f in found)

    field = leaf.field
    if field is not None:
        field = replace(
            field,
            x_mm=width - field.x_mm[::-1],
            angle_deg=-field.angle_deg[:, ::-1],
            spacing_mm=field.spacing_mm[:, ::-1],
            coherence=field.coherence[:, ::-1],
        )
    end = leaf.end
    if end is not None:
        quartered = {"left": "right", "right": "left"}.get(end.quartered_edge or "")
        end = replace(
            end,
            x_mm=width - end.x_mm[::-1],
            ring_to_face_deg=end.ring_to_face_deg[::-1],
            quartered_edge=quartered,
        )
    return replace(
        leaf,
        outline_mm=turn(leaf.outline_mm),
        flaws=flaws(leaf.flaws),
        other_flaws=flaws(leaf.other_flaws),
        field=field,
        end=end,
        width_mm=width,
        length_mm=length,
    )


def half_of(joint_edge: Edge, neck_end: int, show_face: Face) -> Edge:
    """Which half leaf A becomes, seen from outside with the neck up (contracts.md, halves)."""
    left = (joint_edge == "right") == (neck_end == 1)
    return "left" if left == (show_face == "sawn") else "right"


def _partner(
    a: Leaf, b: Leaf | None, registration: Registration | None
) -> tuple[Leaf, Registration, list[str]]:
    if b is None:
        return (
            mirrored(a),
            Registration(1.0),
            ["leaf B was not given: leaf A's mirror stands in for it, flaws and all"],
        )
    if registration is None:
        return (
            b,
            Registration(0.0, slide_mm=None, across_mm=None, rotate_deg=None),
            ["leaf B was not matched to leaf A: it is laid end on end, middle on middle"],
        )
    if registration.match < NONE_BELOW:
        return b, registration, ["the leaves' figures do not match: this is hardly a pair"]
    if registration.match < PAIR_FROM:
        return b, registration, ["the leaves' figures match poorly: look whether this is a pair"]
    return b, registration, []


def _ways(
    sides: tuple[Side, Side],
    outline: Outline,
    settings: LayoutSettings,
    registration: Registration,
    turner: Turner,
    edge: Edge,
    end: Literal[1, 2],
    other_faces: bool,
) -> list[Way]:
    """One joint edge and neck end, sawn faces showing and, where seen, the other faces."""
    found: list[Way] = []
    for face in ("sawn", "other") if other_faces else ("sawn",):
        half = half_of(edge, end, face)
        domain = domain_of(*sides, outline, settings, registration.slide_mm, edge, end, half)
        if found and outline.left_half_mm is None:  # turned over, a body of equal halves lies as it did
            found.append(replace(found[0], show_face="other", a_is=half))
            continue
        try:
            best = refined(domain, search(domain, turner), settings)
        except ValueError as nothing:
            raise no_seam() from nothing
        found.append(Way(domain, best, edge, end, face, half))
    return found


def no_seam() -> Mistake:
    """What a person is told where the search finds no place at all."""
    return Mistake(
        "no place on the leaf has wood along the whole seam",
        where="layout",
        do="check the leaf's size and its wane",
    )


def told_of(a: Leaf, b: Leaf, outline: Outline, settings: LayoutSettings) -> Told:
    """What the reasons need of a pair; the outline as it is judged, so of the back where it is one."""
    return Told(
        flaws_a=all_flaws(a),
        flaws_b=all_flaws(b),
        photographed_a=len(a.flaws),
        photographed_b=len(b.flaws),
        scale_error_mm=max(a.scale_error_mm, b.scale_error_mm),
        slide_limit_mm=settings.most_slide_mm,
        length_a_mm=float(np.ptp(a.outline_mm[:, 1])),
        length_b_mm=float(np.ptp(b.outline_mm[:, 1])),
        body_mm=outline.length_mm,
    )
