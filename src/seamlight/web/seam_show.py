"""Everything that the page of a joint shows: of a pair, or of leaves that the shop does not know."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, get_args

from fastapi import Request
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.seam import Bench
from seamlight.seam.document import SeamDocument
from seamlight.seam.light_ends import NeckAt
from seamlight.seam.square import SQUARE_ENOUGH_MM, SQUARE_MM, WIND_MM
from seamlight.shop.joint_glue import joint_glue
from seamlight.shop.readings import newest
from seamlight.shop.seam_bench import (
    LIGHT,
    JointRead,
    bench_of,
    figures,
    joint_length_mm,
    joint_readings,
    learned,
    passes,
    straight_key,
)
from seamlight.shop.seam_faces import light_as_it_is
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.units import Unit
from seamlight.web.filters import length_in
from seamlight.web.render import house_of
from seamlight.web.seam_asked import LIGHT_TYPED, length_typed
from seamlight.web.seam_before_after import AFTER_TYPED, BEFORE_TYPED, before_after
from seamlight.web.seam_drawn import drawn, history_of
from seamlight.web.seam_joining import JOINING_TYPED, joining

PAGE = "seam.html"
ALONE = "/bench/seam"
NECKS = tuple((way, f"at the picture's {way}") for way in get_args(NeckAt))
OF = (("joint", "the closed joint"), ("one-edge", "one edge"), ("folded", "both edges folded together"))
VERDICTS = {"glue": "fits", "a few strokes": "marginal", "plane again": "short"}
BENCH_TYPED = {"readings": "", "of": "joint", "tool": "120 grit", "strokes": "", "from": "", "to": ""}
Typed = Mapping[str, str]


def page_of(pair_id: int) -> str:
    """Where a pair's joint is shown."""
    return f"/wood/pairs/{pair_id}/seam"


def facts_of_pair(request: Request, pair_id: int, typed: Typed | None = None) -> dict[str, Any]:
    """A pair's joint: its newest reading, those before, what to do before and after.

    Raises:
        Mistake: no such pair, or a glue or wedge asked for that there is not.
    """
    shop: Shop = request.app.state.shop
    asked_glue = request.query_params.get("glue") or None
    with shop.read() as session:
        found = pair(session, pair_id)
        every = joint_readings(session, pair_id)
        read = passes(every)
        newest_read = read[-1].judged if read else None
        said = {**_nothing(), **_as_last(session, pair_id), **(typed or {})}
        glue = joint_glue(session, asked_glue)
        bench = bench_of(session, pair_id, house_of(request).unit, glue.key)
        length_mm = joint_length_mm(session, pair_id)
        facts = {
            "title": f"The seam of {found.label}",
            "here": page_of(pair_id),
            "pair": found,
            "read": every,
            "newest_id": read[-1].id if read else None,
            "history": [(past, _straight(shop, pair_id, past.one)) for past in history_of(read)],
            "straight": _straight(shop, pair_id, read[-1]) if read else "",
            "length_mm": length_mm,
            "stations": _stations(newest_read.length_mm if newest_read else length_mm),
            "faces_wanted": newest_read is not None and faces_wanted(newest_read),
            "joins": light_as_it_is(session, pair_id) is not None,
            "room_mm": bench.room_mm,
            "taught": _taught(session, pair_id, bench),
            **_reading(request, newest_read, read[:-1]),
            **joining(request, session, newest_read, bench, glue, pair_id),
            **before_after(request, session, pair_id),
        }
    return {**_common(said), **facts}


def facts_alone(
    request: Request,
    typed: Typed | None = None,
    document: SeamDocument | None = None,
    straight: str = "",
) -> dict[str, Any]:
    """A joint without a pair: read and shown, nothing kept."""
    shop: Shop = request.app.state.shop
    said = {**_nothing(), **(typed or {})}
    with shop.read() as session:
        glue = joint_glue(session, request.query_params.get("glue") or None)
        try:
            bench = bench_alone(request, said)
        except Mistake:  # shown beside what was typed
            bench = Bench(unit=house_of(request).unit)
        glued = joining(request, session, document, replace(bench, glue_name=glue.key), glue, None)
    return {
        **_common(said),
        **_reading(request, document, ()),
        **glued,
        "title": "A seam without a pair",
        "here": ALONE,
        "pair": None,
        "read": (),
        "newest_id": None,
        "faces_wanted": document is not None and faces_wanted(document),
        "joins": False,
        "history": (),
        "straight": straight,
        "length_mm": None,
        "stations": _stations(document.length_mm if document else None),
        "room_mm": None,
        "taught": (),
    }


def bench_alone(request: Request, typed: Typed) -> Bench:
    """The bench of leaves that belong to no pair.

    Raises:
        Mistake: a thickness or a width that is no length.
    """
    unit = house_of(request).unit
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        tools = figures(session)
    bench = Bench(figures=tools, unit=unit)
    thickness, width = length_typed(typed, "thickness", unit), length_typed(typed, "width", unit)
    return replace(bench, thickness_mm=thickness or bench.thickness_mm, width_mm=width or bench.width_mm)


def faces_wanted(document: SeamDocument) -> bool:
    """Whether the verdict is for glue while nobody has felt whether the edges lean."""
    return document.square is None and (document.verdict == "glue" or document.shape == "closed")


def faces_say(document: SeamDocument, unit: Unit) -> tuple[str, str] | None:
    """What was felt on both faces, and whether it is well: out of square and wind in one line."""
    square = document.square
    if square is None:
        return None
    lean, wind = square.out_of_square_mm, square.wind_mm
    more = length_in(abs(lean), unit, 2)
    if abs(lean) <= SQUARE_MM:
        said = f"both faces are open alike within {length_in(SQUARE_MM, unit, 2)}"
    else:
        face = "front" if lean > 0 else "back"
        said = f"the {face} face is open {more} more, {abs(square.out_of_square_deg):.1f}° out of square"
    twisted = abs(wind) > WIND_MM
    well = abs(lean) <= SQUARE_ENOUGH_MM and not twisted
    kind = "short" if not well else "fits" if abs(lean) <= SQUARE_MM else "marginal"
    wound = f"wind of {length_in(abs(wind), unit, 2)} from end to end" if twisted else "no wind"
    return kind, f"Felt on both faces: {said}; {wound}"


def _nothing() -> dict[str, str]:
    return {**LIGHT_TYPED, **BENCH_TYPED, **BEFORE_TYPED, **JOINING_TYPED, **AFTER_TYPED}


def _as_last(session: Session, pair_id: int) -> dict[str, str]:
    """Length, shims, distance and neck end as said of the last pictures: a bench stays as it stands."""
    last = newest(session, LIGHT, pair_id=pair_id)
    says = last.says if last is not None else {}
    return {name: str(says[name]) for name in ("length", "shims", "distance", "neck_at") if says.get(name)}


def _common(typed: Typed) -> dict[str, Any]:
    return {"place": "wood", "typed": typed, "necks": NECKS, "of_what": OF}


def _reading(
    request: Request, document: SeamDocument | None, earlier: tuple[JointRead, ...]
) -> dict[str, Any]:
    return {
        "document": document,
        "shown": drawn(document, earlier, house_of(request).unit) if document is not None else None,
        "kind": VERDICTS[document.verdict] if document is not None else "note",
        "faces": faces_say(document, house_of(request).unit) if document is not None else None,
    }


def _straight(shop: Shop, pair_id: int, one: JointRead) -> str:
    """Where the seam laid straight is, or is made again; "" for feelers."""
    if one.verb != LIGHT:
        return ""
    key = straight_key(one.id)
    made = shop.made.path(key).is_file()
    return f"/made/{key}" if made else f"{page_of(pair_id)}/{one.id}/straight.jpg"


def _stations(length_mm: float | None) -> tuple[float, ...]:
    """Where to feel: both ends, the middle and the quarters."""
    return tuple(length_mm * quarter / 4 for quarter in range(5)) if length_mm else ()


def _taught(session: Session, pair_id: int, bench: Bench) -> tuple[tuple[str, float, float], ...]:
    """Tools that this pair's readings teach: name, the figure used so far, the figure learned."""
    found = []
    for figure in bench.figures:
        try:
            now = learned(session, pair_id, figure.tool)
            found.append((figure.tool, figure.per_stroke_mm, now.per_stroke_mm))
        except Mistake:
            continue
    return tuple(found)
