"""One place chosen by hand, judged exactly as the search judges its own.

In: the leaves, how B lies, the outline, the settings and a `HandPlacing`. Out: the `Opening` of exactly that
place, without remedies. What was turned, sampled and cut for a leaf is kept while that leaf object lives in
the caches, so that the second call on a pair costs little more than the judging.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from seamlight.layout.best import search
from seamlight.layout.domain import Domain, Found, Spot, domain_of
from seamlight.layout.judge import Half, Place, edges_of, room_at
from seamlight.layout.layers import Turner
from seamlight.layout.opened import Way, opening_of
from seamlight.layout.opening import Edge, Face, LayoutSettings, LeafPlacing, Opening
from seamlight.layout.openings import half_of, no_seam, told_of
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.pieces import TOUCH_MM, turned
from seamlight.layout.refine import judged, refined
from seamlight.layout.score import NO_PLACE
from seamlight.layout.side import Side, side_a, side_b, size_of
from seamlight.one_thread import one_blas_thread
from seamlight.outline import for_back
from seamlight.outline.shape import Outline
from seamlight.photo.flat import Points

_STEP_MM = 0.025  # the finest that the search takes
_LEAP_MM, _NEAR_MM = 0.5, 0.01  # where a joint beside the wood comes onto it
_HAIRS = 3  # rounded line ends and a rounded tilt add up to less than so many roundings
_KEPT = 16  # leaves, registrations and outlines in work at a time


@dataclass(frozen=True)
class HandPlacing:
    """Where a person laid the joint line and the outline, mm and degrees, in leaf A's frame.

    `offset_mm` is the joint's, square to it into the leaf, and `shift_mm` the body's neck end's, along it to
    the tail, both from the middle of leaf A's bounding box. `slide_mm` is B's, in the registration's measure.
    The last two are leaf B's own joint line in a slip-match; None: leaf A's mirrored.
    """

    joint_edge: Edge  # of leaf A
    neck_end: Literal[1, 2]
    show_face: Face
    tilt_deg: float
    offset_mm: float
    shift_mm: float
    slide_mm: float
    tilt_b_deg: float | None = None
    offset_b_mm: float | None = None


def place_by_hand(
    a: Leaf,
    b: Leaf,
    registration: Registration,
    outline: Outline,
    settings: LayoutSettings,
    placing: HandPlacing,
) -> Opening:
    """The opening of exactly this placing, judged as `lay_out` judges, without remedies.

    Args:
        a: leaf A, whose frame is the pair's.
        b: leaf B; where it was lost, `openings.mirrored(a)`.
        registration: how B lies on A's mirror.
        outline: the body's plan shape as `lay_out` takes it: of the top, also for a back.
        settings: what the maker chose; its limits of tilt and slide bind the search, not the hand.
        placing: the choice.

    Raises:
        Mistake: a leaf without sound wood.
    """
    domain = _domain(
        a, b, registration, outline, settings, placing.joint_edge, placing.neck_end, placing.show_face
    )
    found = judged(domain, spot_of(placing, domain))
    half = half_of(placing.joint_edge, placing.neck_end, placing.show_face)
    way = Way(domain, found, placing.joint_edge, placing.neck_end, placing.show_face, half)
    body = body_of(outline, settings.use)
    opening = opening_of(way, body, settings, told_of(a, b, body, settings))
    return opening if found.key.short < NO_PLACE else _off_the_wood(opening, domain, found)


@one_blas_thread
def best_by_hand(
    a: Leaf,
    b: Leaf,
    registration: Registration,
    outline: Outline,
    settings: LayoutSettings,
    joint_edge: Edge,
    neck_end: Literal[1, 2],
    show_face: Face = "sawn",
) -> HandPlacing:
    """The best placing of one way to open the pair, as `lay_out` searches for it.

    Raises:
        Mistake: no place on the leaf has wood along the whole seam.
    """
    domain = _domain(a, b, registration, outline, settings, joint_edge, neck_end, show_face)
    try:
        spot = refined(domain, search(domain, Turner()), settings).spot
    except ValueError as nothing:
        raise no_seam() from nothing
    return HandPlacing(
        joint_edge,
        neck_end,
        show_face,
        spot.tilt_deg,
        spot.offset_mm,
        spot.shift_mm,
        domain.slide_mm(0) + spot.moved_mm,
        spot.tilt_b_deg if domain.slip else None,
        spot.offset_b_mm if domain.slip else None,
    )


def placing_by_hand(
    opening: Opening,
    a: Leaf,
    b: Leaf,
    registration: Registration,
    outline: Outline,
    settings: LayoutSettings,
    *,
    hair_mm: float = 1e-9,
) -> HandPlacing:
    """The placing that gives this opening: undoes `place_by_hand`.

    Only the opening's joint lines, tilt and slide are asked for. `hair_mm` is how far its figures may have
    been rounded: what lies that near a step of the search lay on it, and a joint that lies no further off
    the wood lay on the wood.
    """
    domain = _domain(
        a, b, registration, outline, settings, opening.joint_edge, opening.neck_end, opening.show_face
    )
    own = _place_of(opening.a, domain.a, opening.joint_tilt_deg, settings.end_trim_mm, hair_mm)
    placing = HandPlacing(
        opening.joint_edge,
        opening.neck_end,
        opening.show_face,
        *own,
        slide_mm=domain.registered_mm + _on_step(opening.slide_mm - domain.registered_mm, hair_mm),
    )
    if domain.slip:
        neck, tail = _in_a_frame(opening.b.joint_line_mm, domain.b)
        down = tail - neck if domain.b.neck_first else neck - tail
        tilt_b = float(np.degrees(np.arctan2(down[0], down[1])))
        other = _place_of(opening.b, domain.b, tilt_b, settings.end_trim_mm, hair_mm)
        placing = replace(placing, tilt_b_deg=tilt_b, offset_b_mm=other.offset_mm)
    return _back_on_wood(placing, domain, _HAIRS * hair_mm)


def _back_on_wood(placing: HandPlacing, domain: Domain, most_mm: float) -> HandPlacing:
    """A joint that rounding alone took off the wood, moved in onto it by as little as that."""
    halves, places = (domain.a, domain.b), spot_of(placing, domain).places(domain)
    lacking = [_lacking_at_joint(half, place) for half, place in zip(halves, places, strict=True)]
    a_mm, b_mm = (lacks if 0.0 < lacks <= most_mm else 0.0 for lacks in lacking)
    if placing.offset_b_mm is None:
        return replace(placing, offset_mm=placing.offset_mm + max(a_mm, b_mm))
    return replace(placing, offset_mm=placing.offset_mm + a_mm, offset_b_mm=placing.offset_b_mm + b_mm)


def spot_of(placing: HandPlacing, domain: Domain) -> Spot:
    """The placing as the search says it."""
    tilt_b, offset_b = placing.tilt_deg, placing.offset_mm
    if domain.slip:
        tilt_b = placing.tilt_deg if placing.tilt_b_deg is None else placing.tilt_b_deg
        offset_b = placing.offset_mm if placing.offset_b_mm is None else placing.offset_b_mm
    return Spot(
        tilt_deg=placing.tilt_deg,
        offset_mm=placing.offset_mm,
        shift_mm=placing.shift_mm,
        moved_mm=placing.slide_mm - domain.registered_mm,
        tilt_b_deg=tilt_b,
        offset_b_mm=offset_b,
    )


def _place_of(placing: LeafPlacing, half: Half, tilt_deg: float, end_trim_mm: float, hair_mm: float) -> Place:
    """Tilt, offset and shift of a placing; the joint line begins the end trim before the body."""
    line = _in_a_frame(placing.joint_line_mm, half)
    signs = np.array([1.0 if half.joint_left else -1.0, 1.0 if half.neck_first else -1.0])
    neck, tail = turned(line, half.side.middle_mm, tilt_deg) * signs
    offset_mm, shift_mm = float(neck[0] + tail[0]) / 2, float(neck[1]) + end_trim_mm
    return Place(tilt_deg, _on_step(offset_mm, hair_mm), _on_step(shift_mm, hair_mm))


def _on_step(mm: float, hair_mm: float) -> float:
    """What lay on a step of the search comes back on it, so that no point of the grid changes side."""
    step = round(round(mm / _STEP_MM) * _STEP_MM, 9)
    return step if abs(mm - step) < hair_mm else mm


def _in_a_frame(points_mm: Points, half: Half) -> Points:
    return np.asarray(half.side.from_leaf(np.asarray(points_mm, dtype=np.float64)))


def _off_the_wood(opening: Opening, domain: Domain, found: Found) -> Opening:
    """A joint line that leaves too little to plane: short by as much as it has to be moved in."""
    halves, places = (domain.a, domain.b), found.spot.places(domain)
    lacking = tuple(_lacking_at_joint(half, place) for half, place in zip(halves, places, strict=True))
    said = [
        f"the joint line of leaf {name} lies {lacks:.1f} mm too near its edge: move it in, so that "
        f"{half.body.joint_mm:.1f} mm come off all along"
        if lacks < half.body.widest_mm
        else f"the joint line of leaf {name} does not lie on wood over the body's length"
        for name, half, lacks in zip("AB", halves, lacking, strict=True)
        if lacks > 0
    ]
    # what room there is beyond the outline and its ends is told where the joint has wood
    moved_in = max(lacking)
    rooms = [
        room_at(edges_of(half, place), half.body, moved_in, 0)
        for half, place in zip(halves, places, strict=True)
    ]
    own = ("does not fit", "short by ", "marginal: ")
    return replace(
        opening,
        fits=False,
        marginal=False,
        reasons=(*said, *(reason for reason in opening.reasons if not reason.startswith(own))),
        parts=(("fit", 0.0, "; ".join(said)),),
        spare_mm=min(-moved_in, *(room.spare_mm + moved_in for room in rooms)),
        end_spare_mm=min(room.end_spare_mm for room in rooms),
        short=(),
        joint_room_mm=0.0,
    )


def _lacking_at_joint(half: Half, place: Place) -> float:
    """How much further in the joint must lie for the least to come off along the whole body, mm.

    Moved in, a slanting edge may show wood that lacks still more, so it is asked again from there; a line
    beside the wood says nothing, so it is moved in by leaps first. The half width is the most that is tried.
    """
    edges, most = edges_of(half, place), half.body.widest_mm
    low, high, leap = 0.0, 0.0, _LEAP_MM
    while (slack := room_at(edges, half.body, high, 0).joint_slack_mm) < -TOUCH_MM:
        if slack > -most:
            low = high = high - slack
        else:
            low, high, leap = high, high + leap, 2 * leap
        if high >= most:
            return most
    while high - low > _NEAR_MM:
        middle = (low + high) / 2
        clear = room_at(edges, half.body, middle, 0).joint_slack_mm >= -TOUCH_MM
        low, high = (low, middle) if clear else (middle, high)
    return high


@lru_cache(maxsize=_KEPT)
def _side_a(leaf: Leaf) -> Side:
    return side_a(leaf)


@lru_cache(maxsize=_KEPT)
def _side_b(leaf: Leaf, registration: Registration, size_a_mm: tuple[float, float]) -> Side:
    return side_b(leaf, registration, size_a_mm)


def sides_of(a: Leaf, b: Leaf, registration: Registration) -> tuple[Side, Side]:
    """Both leaves laid into leaf A's frame, kept while they are in work."""
    return _side_a(a), _side_b(b, registration, size_of(a))


@lru_cache(maxsize=_KEPT)
def body_of(outline: Outline, use: Literal["top", "back"]) -> Outline:
    """The plan shape as it is judged."""
    return for_back(outline) if use == "back" else outline


@lru_cache(maxsize=8 * _KEPT)
def _domain(
    a: Leaf,
    b: Leaf,
    registration: Registration,
    outline: Outline,
    settings: LayoutSettings,
    joint_edge: Edge,
    neck_end: Literal[1, 2],
    show_face: Face,
) -> Domain:
    """One opening's sides and half bodies; leaves and outlines are told apart by identity."""
    return domain_of(
        *sides_of(a, b, registration),
        body_of(outline, settings.use),
        settings,
        registration.slide_mm,
        joint_edge,
        neck_end,
        half_of(joint_edge, neck_end, show_face),
    )
