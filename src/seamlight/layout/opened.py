"""One opening as it is reported: where everything lies, what it scores and why."""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.layout.domain import Domain, Found
from seamlight.layout.inside import flaws_inside, grain_inside, placing_of
from seamlight.layout.opening import Edge, Face, LayoutSettings, Opening
from seamlight.layout.pieces import TOUCH_MM
from seamlight.layout.reasons import Told, reasons_of
from seamlight.layout.refine import verdicts
from seamlight.layout.scored import score_parts
from seamlight.layout.shortfall import joint_room, shorts_of
from seamlight.outline.shape import Outline


@dataclass(frozen=True, eq=False)
class Way:
    """One way to open the pair, with the best place found for it."""

    domain: Domain
    found: Found
    joint_edge: Edge
    neck_end: int
    show_face: Face
    a_is: Edge


def opening_of(way: Way, outline: Outline, settings: LayoutSettings, told: Told) -> Opening:
    """The opening without its remedies; `told` is what the reasons need of the pair."""
    domain, spot, key = way.domain, way.found.spot, way.found.key
    halves, places = (domain.a, domain.b), spot.places(domain)
    a, b = verdicts(domain, spot)
    other: Edge = "right" if way.a_is == "left" else "left"
    spare = _zeroed(min(a.room.spare_mm, b.room.spare_mm))
    end_spare = _zeroed(min(a.room.end_spare_mm, b.room.end_spare_mm))
    shown, parts = score_parts(key, (a, b), halves, spot.moved_mm, domain.figure_read)
    # the body may be slid along to be clear of one end: what is marginal is the length as a whole
    slide_room = min((v.room.neck_spare_mm + v.room.tail_spare_mm) / 2 for v in (a, b))
    opening = Opening(
        joint_edge=way.joint_edge,
        neck_end=1 if way.neck_end == 1 else 2,
        show_face=way.show_face,
        a_is=way.a_is,
        fits=key.short == 0,
        marginal=told.scale_error_mm > 0 and min(abs(spare), abs(slide_room)) <= told.scale_error_mm,
        score=shown,
        parts=parts,
        reasons=(),
        a=placing_of(halves[0], places[0], outline, way.a_is, a.planed_most_mm),
        b=placing_of(halves[1], places[1], outline, other, b.planed_most_mm),
        joint_tilt_deg=spot.tilt_deg,
        slide_mm=domain.registered_mm + spot.moved_mm,
        spare_mm=spare,
        end_spare_mm=end_spare,
        joint_room_mm=min(joint_room(h, p, v) for h, p, v in zip(halves, places, (a, b), strict=True)),
        short=()
        if key.short == 0
        else (
            *shorts_of(halves[0], places[0], a.room, "a"),
            *shorts_of(halves[1], places[1], b.room, "b"),
        ),
        flaws_inside=flaws_inside(a, b),
        grain=grain_inside(halves, (a, b)),
        remedies=(),
    )
    return reasons_of(opening, settings, told, key)


def _zeroed(mm: float) -> float:
    """A hair short of nothing is nothing."""
    return 0.0 if abs(mm) <= TOUCH_MM else mm
