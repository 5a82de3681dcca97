"""Builds: wanted instruments, the wood each was given, and matching the rack to all of them."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from sqlalchemy.orm import Session
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import builds as kept
from seamlight.shop.builds import PARTS, KindWishes, PartWish, ToGive, wishes_of
from seamlight.shop.grading import shop_rules
from seamlight.shop.history import history
from seamlight.shop.match_wishes import Part
from seamlight.shop.numbered import row_of
from seamlight.shop.outlines import outline_names
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Assignment, Build, Pair
from seamlight.shop.taking_in import rack_key
from seamlight.timber.species import species_names
from seamlight.units import Unit, parse_length, show_length
from seamlight.web.access import Asks
from seamlight.web.errors import nothing_here
from seamlight.web.facts import day_of
from seamlight.web.render import again, go, house_of, page
from seamlight.web.versions import Version, version_typed

router = APIRouter(include_in_schema=False)

NO_FACTS = {
    "label": "",
    "for_whom": "",
    "outline": "",
    "want_by": "",
    "notes": "",
    **{f"{part}_{name}": "" for part in PARTS for name in ("woods", "grade", "spare")},
    **{f"{part}_wanted": "yes" for part in PARTS},
}


@router.get("/builds")
def show_all(request: Request) -> HTMLResponse:
    """Every wanted instrument, the soonest wanted first."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        rows = [(build, _parts(session, shop, build)) for build in kept.builds(session)]
    return page(request, "builds.html", title="Builds", place="builds", rows=rows)


@router.get("/builds/new")
def blank(request: Request) -> HTMLResponse:
    """A form for a new instrument."""
    return page(request, "build_edit.html", mistake=None, **_form_facts(request, NO_FACTS, None))


@router.post("/builds/new")
async def add(request: Request, asker: Asks) -> Response:
    """A new wanted instrument."""
    shop: Shop = request.app.state.shop
    typed = await _typed(request)
    try:
        facts = _facts(typed, house_of(request).unit)
        with shop.change(asker.name) as change:
            made = kept.new_build(change, **facts)
    except Mistake as mistake:
        return again(request, "build_edit.html", mistake, **_form_facts(request, typed, None))
    return go(request, f"/builds/{made.id}", f"{made.label} is on the list.")


@router.get("/builds/{build_id:int}")
def show(request: Request, build_id: int) -> HTMLResponse:
    """One instrument with its wood."""
    return page(request, "build.html", mistake=None, **_build_facts(request, build_id))


@router.get("/builds/{build_id:int}/edit")
def show_edit(request: Request, build_id: int) -> HTMLResponse:
    """The form of one instrument."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        build = _build(session, build_id)
    typed = _typed_of(build, house_of(request).unit)
    return page(request, "build_edit.html", mistake=None, **_form_facts(request, typed, build))


@router.post("/builds/{build_id:int}/edit")
async def edit(request: Request, asker: Asks, build_id: int) -> Response:
    """Keep what was changed."""
    shop: Shop = request.app.state.shop
    typed = await _typed(request)
    with shop.read() as session:
        build = _build(session, build_id)
    try:
        facts = _facts(typed, house_of(request).unit)
        _leave_untouched(facts["kind_wishes"], typed, build, house_of(request).unit)
        with shop.change(asker.name) as change:
            kept.edit_build(change, build_id, facts, expected_version=version_typed(typed.get("version", "")))
    except Mistake as mistake:
        if type(mistake) is not Mistake:
            raise
        return again(request, "build_edit.html", mistake, **_form_facts(request, typed, build))
    return go(request, f"/builds/{build_id}", "Kept.")


@router.post("/builds/{build_id:int}/delete")
def delete(request: Request, asker: Asks, build_id: int, version: Version) -> Response:
    """Put it among the recently deleted; its wood is free again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        label = kept.delete_build(change, build_id, expected_version=version).label
    return go(request, "/builds", f"{label} is deleted; it can be brought back for 30 days (Shop).")


@router.post("/builds/{build_id:int}/{part}/give")
def give(
    request: Request, asker: Asks, build_id: int, part: Part, pair: Annotated[int, Form()], version: Version
) -> Response:
    """Give a pair by hand; what a hand gave is locked."""
    return _do(
        request,
        asker.name,
        build_id,
        lambda change: kept.give(
            change, ToGive(build_id, part, pair, "Given by hand."), locked=True, expected_version=version
        ),
        "Given, and locked.",
    )


@router.post("/builds/{build_id:int}/{part}/take-back")
def take_back(request: Request, asker: Asks, build_id: int, part: Part, version: Version) -> Response:
    """Back onto the rack."""
    return _do(
        request,
        asker.name,
        build_id,
        lambda change: kept.take_back(change, build_id, part, expected_version=version),
        "Back on the rack.",
    )


@router.post("/builds/{build_id:int}/{part}/{word}")
def lock(request: Request, asker: Asks, build_id: int, part: Part, word: str, version: Version) -> Response:
    """Lock or unlock what was given."""
    if word not in ("lock", "unlock"):
        raise nothing_here()
    said = "Locked: matching leaves it as it is." if word == "lock" else "Unlocked."
    locked = word == "lock"
    return _do(
        request,
        asker.name,
        build_id,
        lambda change: kept.lock(change, build_id, part, locked, expected_version=version),
        said,
    )


def _do(request: Request, who: str, build_id: int, act: Any, said: str) -> Response:
    """A change of one instrument's wood; what is wrong is told on its page."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        _build(session, build_id)
    try:
        with shop.change(who) as change:
            act(change)
    except Mistake as mistake:
        return again(request, "build.html", mistake, **_build_facts(request, build_id))
    return go(request, f"/builds/{build_id}", said)


def _build_facts(request: Request, build_id: int) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        build = _build(session, build_id)
        parts = _parts(session, shop, build)
        taken = {row.pair_id for row in kept.all_given(session)}
        free = {part: _free(session, part, taken) for part in PARTS}
        told = history(session, "build", build_id, most=40)
    return {
        "title": build.label,
        "place": "builds",
        "build": build,
        "wishes": wishes_of(build),
        "parts": parts,
        "free": free,
        "history": told,
    }


def _build(session: Session, build_id: int) -> Build:
    row = row_of(session, Build, build_id)
    if row is None or row.deleted_at is not None:
        raise nothing_here("There is no such instrument.")
    return row


def _parts(
    session: Session, shop: Shop, build: Build
) -> list[tuple[Part, Assignment | None, Pair | None, str]]:
    """Each part that wants wood or has it: what was given, the pair, its picture."""
    given, wishes, found = kept.given_to(session, build.id), wishes_of(build), []
    for part in PARTS:
        row = given.get(part)
        pair = session.get(Pair, row.pair_id) if row else None
        if pair is not None and pair.deleted_at is not None:
            row = pair = None
        if row is None and wishes.of(part) is None:
            continue
        key = rack_key(pair.id) if pair else ""
        picture = f"/made/{key}" if key and shop.made.path(key).is_file() else ""
        found.append((part, row, pair, picture))
    return found


def _free(session: Session, part: Part, taken: set[int]) -> list[tuple[int, str]]:
    rows = rack(session, RackQuery(kind=part, sort="label", per_page=500)).rows
    return [
        (row.pair.id, f"{row.pair.label}, {row.pair.species_common or row.pair.kind}")
        for row in rows
        if row.pair.id not in taken and row.pair.stage != "used"
    ]


async def _typed(request: Request) -> dict[str, str]:
    form = {name: str(value) for name, value in (await request.form()).items()}
    return {**NO_FACTS, **{f"{part}_wanted": "" for part in PARTS}, **form}


def _facts(typed: dict[str, str], unit: Unit) -> dict[str, Any]:
    """An instrument's fields as they were typed.

    Raises:
        Mistake: a length or a day that cannot be.
    """
    said = {name: " ".join(value.split()) for name, value in typed.items()}
    wishes = {part: _wish(said, part, unit) if said[f"{part}_wanted"] else None for part in PARTS}
    return {
        "label": said["label"],
        "for_whom": said["for_whom"] or None,
        "outline": {"name": said["outline"]} if said["outline"] else None,
        "want_by": day_of(said["want_by"], "want_by"),
        "notes": typed["notes"].strip() or None,
        "kind_wishes": KindWishes(**wishes).model_dump(mode="json"),
    }


def _leave_untouched(wanted: dict[str, Any], typed: dict[str, str], build: Build, unit: Unit) -> None:
    """A room to spare that still says what was shown keeps its figure: inches are shown rounded."""
    shown = _typed_of(build, unit)
    for part in PARTS:
        wish = wishes_of(build).of(part)
        if wish and wanted[part] and typed[f"{part}_spare"].strip() == shown[f"{part}_spare"]:
            wanted[part]["spare_mm"] = wish.spare_mm


def _wish(said: dict[str, str], part: Part, unit: Unit) -> PartWish:
    woods = [wood.strip() for wood in said[f"{part}_woods"].split(",")]
    if len([wood for wood in woods if wood]) > 12:
        raise Mistake("more than 12 woods", where=f"{part}_woods", do="name fewer")
    if any(len(wood) > 60 for wood in woods):
        raise Mistake("no wood has so long a name", where=f"{part}_woods", do="put commas between the names")
    spare = said[f"{part}_spare"]
    spare_mm = parse_length(spare, unit, where=f"{part}_spare") if spare else 0.0
    if spare_mm > 100:
        raise Mistake("that is more room than any set has", where=f"{part}_spare", do="write it again")
    return PartWish(
        woods=tuple(wood for wood in woods if wood),
        least_grade=_grade(said, part),
        spare_mm=spare_mm,
    )


def _grade(said: dict[str, str], part: Part) -> str | None:
    grade = said[f"{part}_grade"]
    if len(grade) > 24:
        raise Mistake("no grade has so long a name", where=f"{part}_grade", do="choose one of the list")
    return grade or None


def _typed_of(build: Build, unit: Unit) -> dict[str, str]:
    wishes, typed = wishes_of(build), dict(NO_FACTS)
    for part in PARTS:
        wish = wishes.of(part)
        typed[f"{part}_wanted"] = "yes" if wish else ""
        if wish:
            typed[f"{part}_woods"] = ", ".join(wish.woods)
            typed[f"{part}_grade"] = wish.least_grade or ""
            typed[f"{part}_spare"] = show_length(wish.spare_mm, unit).split(" (")[0] if wish.spare_mm else ""
    return typed | {
        "label": build.label,
        "for_whom": build.for_whom or "",
        "outline": (build.outline or {}).get("name", ""),
        "want_by": build.want_by.isoformat() if build.want_by else "",
        "notes": build.notes or "",
    }


def _form_facts(request: Request, typed: dict[str, str], build: Build | None) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        rules = shop_rules(session)
        outlines = outline_names(session)
    return {
        "title": build.label if build else "An instrument",
        "place": "builds",
        "build": build,
        "typed": typed,
        "outlines": [("", "not decided"), *((name, name) for name in outlines)],
        "grades": {
            part: [("", "any"), *((name, f"{name} or better") for name in rules.names(part)[:-1])]
            for part in PARTS
        },
        "species": species_names(),
    }
