"""The marking sheet's words: what to set out on each leaf, in order, and what to mind."""

from __future__ import annotations

from collections.abc import Callable

from seamlight.sheets.setting_out import LeafSettingOut, SettingOut
from seamlight.sheets.words import length, reasons_beyond, sentences
from seamlight.units import Unit, said_in

Row = tuple[str, str, str]  # what, on leaf A, on leaf B

SAFETY = (
    "Hold the work with stops and battens, never with fingers beside the iron or in line with the saw;"
    " both hands behind the cutting edge. Saw only a leaf that lies flat on the bed and cannot rock or roll."
    " Eyes and ears covered at machines. Wood dust harms the lungs and some woods the skin:"
    " extract it and wear a mask."
)


def leaf_heading(leaf: LeafSettingOut) -> str:
    """Such as `Leaf A, sawn face up`."""
    return f"Leaf {leaf.half.leaf.upper()}, {leaf.face} face up"


def rows(plan: SettingOut, units: Unit) -> list[Row]:
    """The table of figures, in the order of the work."""

    def row(what: str, say: Callable[[LeafSettingOut], str]) -> Row:
        return what, say(plan.a), say(plan.b)

    def joint(n: int) -> Callable[[LeafSettingOut], str]:
        return lambda leaf: _station(leaf, n, units)

    table = [
        row("How it lies on the bench", _lies),
        row("1. Joint line, first mark", joint(0)),
        row("2. Joint line, second mark", joint(1)),
        row("3. Plane down to the line", lambda leaf: _planing(leaf, units)),
        row(
            "4. Neck end of the outline",
            lambda leaf: f"{length(leaf.measures.neck_along_mm, units)} from end 1",
        ),
        row(
            "5. Tail end of the outline",
            lambda leaf: f"{length(leaf.measures.tail_along_mm, units)} from end 1",
        ),
    ]
    for i, bout in enumerate(plan.a.measures.bouts):
        place = length(bout.from_neck_mm, units)
        table.append(
            row(
                f"{6 + i}. {bout.name.capitalize()}, {place} from the neck end",
                lambda leaf, i=i: (
                    f"half width {length(leaf.measures.bouts[i].half_mm, units)}, square to the joint line"
                ),  # type: ignore[misc]
            )
        )
    number = 6 + len(plan.a.measures.bouts)
    if plan.a.wedge is not None:
        angle = f"{plan.layout.settings.wedge_angle_deg:g}°"
        table.append(
            row(
                f"{number}. Line to saw on the outer edge for wedges of {angle}",
                lambda leaf: _wedge(leaf, units),
            )
        )
        number += 1
    table.append(row(f"{number}. Label, on waste", lambda leaf: _label(leaf, units)))
    return table


def _lies(leaf: LeafSettingOut) -> str:
    m = leaf.measures
    over = " turned over from how it is marked," if leaf.half.pose.mirrored else ""
    return (
        f"End 1 away from you. Joint on the {m.datum.side} edge, neck toward end {m.neck_end}."
        f" Opened,{over} it is the {leaf.half.pose.half} half."
    )


def _station(leaf: LeafSettingOut, n: int, units: Unit) -> str:
    s, side = leaf.measures.stations[n], leaf.measures.datum.side
    other = "left" if side == "right" else "right"
    return (
        f"{length(s.along_mm, units)} from end 1: {length(s.in_mm, units)} from the {side} edge"
        f" (check: {length(s.from_other_mm, units)} from the {other} edge)"
    )


def _planing(leaf: LeafSettingOut, units: Unit) -> str:
    p = leaf.measures.planing
    most = f"; most {length(p.most_mm, units)}" if p.most_mm > max(p.end1_mm, p.end2_mm) + 0.05 else ""
    return f"{length(p.end1_mm, units)} off at end 1, {length(p.end2_mm, units)} off at end 2{most}"


def _wedge(leaf: LeafSettingOut, units: Unit) -> str:
    line = leaf.wedge
    if line is None:
        return ""
    if not line.possible(float(leaf.half.edge_mm[-1, 1])):
        return "cannot be had: no line at this angle clears the outline on this wood; join with tape or cauls"
    said = (
        f"{length(line.at_neck_mm, units)} from the joint line at the neck end,"
        f" {length(line.at_tail_mm, units)} at the tail end"
    )
    if line.gaps:
        end = float(leaf.half.edge_mm[-1, 1])
        runs = " and ".join(
            f"{length(max(a, 0.0), units)} to {length(min(b, end), units)}" for a, b in line.gaps
        )
        return f"{said}; no sound wood there from {runs} from the neck end: there the wedge does not bear"
    stock = " and the wing stock" if leaf.wing_stock is not None else ""
    return f"{said}; clears outline and trim{stock} by {length(line.spare_mm, units)}"


def _label(leaf: LeafSettingOut, units: Unit) -> str:
    place = leaf.label
    if place is None:
        return "no waste is wide enough: pencil it lightly on the face that goes inside"
    return (
        f"{place.beside}: {length(place.out_mm, units)} from the joint line,"
        f" {_along(place.from_neck_mm, units)}; a circle of {length(2 * place.radius_mm, units, 0)} is free"
    )


def _along(from_neck_mm: float, units: Unit) -> str:
    if from_neck_mm < 0:
        return f"{length(-from_neck_mm, units)} beyond the neck end"
    return f"{length(from_neck_mm, units)} from the neck end"


def how_to(plan: SettingOut, units: Unit) -> list[tuple[str, str]]:
    """Headed paragraphs: how to set out, how to join, what to mind."""
    trim = length(plan.layout.settings.trim_mm, units)
    out = [
        (
            "Setting out",
            "Lay a straight-edge along the joint edge and another across end 1: zero is where they cross."
            " Measure along the joint edge from there, then square in from it. Rule the joint line through"
            f" its two marks, from end to end. Carry the neck and tail marks {length(30, units, 0)} past the"
            f" joint line, so that they are still there after planing. Keep {trim} outside the outline as"
            " trim.",
        ),
        ("Why here", _why(plan, units)),
        ("Planing and joining", _joining(plan, units)),
        ("Tape", _tape(plan, units)),
    ]
    if any(leaf.wing_stock is not None for leaf in (plan.a, plan.b)):
        out.append(
            (
                "Wing stock",
                "Keep the waste beside the waist (dashed box): the lower-bout wings come out of it.",
            )
        )
    if plan.opening.fits and plan.opening.remedies:
        out.append(("Instead", sentences([said_in(remedy.text, units) for remedy in plan.opening.remedies])))
    return [*out, ("Safety", SAFETY)]


def _why(plan: SettingOut, units: Unit) -> str:
    """What speaks for and against this place, in full."""
    return sentences(reasons_beyond(plan.opening, units)) or "Nothing is in the way."


def _joining(plan: SettingOut, units: Unit) -> str:
    shown = plan.opening.show_face
    turn = " Then turn the pair over: the other faces show." if shown == "other" else ""
    folded = (
        "Fold the leaves like a book, the faces that will show together and the joint lines flush, and plane"
        " both at once, so that an edge out of square cancels"
        if plan.layout.settings.match == "book"
        else "Plane each edge straight and square"
    )
    return (
        f"{folded}. Stop at the line and hold the joint to the light; take no more than it asks:"
        f" {_allowed(plan, units)} Bring the neck marks together and join.{turn}"
    )


def _allowed(plan: SettingOut, units: Unit) -> str:
    room = plan.opening.joint_room_mm
    if room < 0.05:
        return "nothing more may come off without the outline losing wood."
    return f"{length(room, units)} more off each edge is all that the outline allows."


def _tape(plan: SettingOut, units: Unit) -> str:
    if not plan.tape_mm:
        return (
            "No place along the joint is clear of flaws on both leaves: use no tape; cauls or wedges instead."
        )
    beyond = [f"{length(-y, units, 0)} beyond it" for y in plan.tape_mm if y < 0]
    places = ", ".join([*beyond, *(length(y, units, 0) for y in plan.tape_mm if y >= 0)])
    return (
        f"Across the joint where both leaves are sound, counted from the neck end: {places}. Pull it off"
        " slowly, folded back on itself and toward the joint, so that it lifts no grain."
    )
