"""A student's page: their instruments with their wood, and both readings side by side.

A class link opens this page; what of it is the teacher's alone, `access.may_go` refuses.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from sqlalchemy.orm import Session
from starlette.responses import FileResponse, HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import classes, devices
from seamlight.shop.change import Conflict
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Build
from seamlight.shop.taking_in import rack_key
from seamlight.shop.typed import MEASURES, VERB, side_by_side, typed_reading
from seamlight.shop.unlikely import ask, measured_slip
from seamlight.web.access import Asker, Asks
from seamlight.web.device_pages import show_link
from seamlight.web.errors import nothing_here
from seamlight.web.render import again, go, house_of, page

router = APIRouter()

NEW_READING = {"what": next(iter(MEASURES)), "value": "", "place": ""}


@router.get("/students/{student_id}")
def show_student(request: Request, asker: Asks, student_id: int) -> HTMLResponse:
    """A student's instruments; what a class link opens."""
    return page(
        request, "student.html", mistake=None, typed=NEW_READING, **_student(request, asker, student_id)
    )


def _student(request: Request, asker: Asker, student_id: int) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        student = classes.the_student(session, student_id)
        of_class = classes.the_class(session, student.class_id)
        builds = classes.builds_of(session, student_id)
        instruments = [_instrument(session, shop, build, asker) for build in builds]
        return {
            "title": student.name,
            "place": "classes",
            "student": student,
            "of_class": of_class,
            "instruments": instruments,
            "measures": [(what, f"{what}, {unit}" if unit else what) for what, unit in MEASURES.items()],
            "free": classes.free_builds(session) if asker.works_here else [],
            "devices": classes.devices_of(session, student_id) if asker.works_here else 0,
        }


def _instrument(session: Session, shop: Shop, build: Build, asker: Asker) -> dict[str, Any]:
    """Its wood and what was measured; who had it before is told to the teacher alone."""
    wood = [
        (part, pair, photos, shop.made.path(rack_key(pair.id)).is_file())
        for part, pair, photos in classes.wood_of(session, build.id)
    ]
    rows = side_by_side(readings(session, build_id=build.id, verb=VERB), build.student_id)
    if not asker.works_here:
        rows = [replace(row, others=()) for row in rows if row.teachers or row.students]
    return {"build": build, "wood": wood, "rows": rows}


@router.get("/students/{student_id}/pairs/{pair_id}/picture")
def picture(request: Request, student_id: int, pair_id: int) -> FileResponse:
    """The book-matched picture of a pair that was given to one of the student's instruments."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        builds = classes.builds_of(session, student_id)
        given = {pair.id for build in builds for _, pair, _ in classes.wood_of(session, build.id)}
    path = shop.made.path(rack_key(pair_id))
    if pair_id not in given or not path.is_file():
        raise nothing_here("There is no such picture.")
    return FileResponse(path, media_type="image/jpeg")


@router.post("/students/{student_id}/name")
def rename(
    request: Request,
    asker: Asks,
    student_id: int,
    name: Annotated[str, Form()] = "",
    version: Annotated[int | None, Form()] = None,
) -> Response:
    """Another name for a student; theirs to see, not to change."""
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            classes.rename_student(change, student_id, name, expected_version=version)
    except Conflict:
        raise
    except Mistake as mistake:
        facts = _student(request, asker, student_id)
        return again(request, "student.html", mistake, typed=NEW_READING, **facts)
    return go(request, f"/students/{student_id}", "Kept.")


@router.post("/students/{student_id}/delete")
def delete_student(
    request: Request, asker: Asks, student_id: int, version: Annotated[int | None, Form()] = None
) -> Response:
    """Put a student among the recently deleted; their link opens nothing from now on."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        row = classes.delete_student(change, student_id, expected_version=version)
    return go(
        request,
        f"/classes/{row.class_id}",
        f"{row.name} is deleted; Shop, Recently deleted brings them back.",
    )


@router.post("/students/{student_id}/builds")
def give_build(request: Request, asker: Asks, student_id: int, build_id: Annotated[int, Form()]) -> Response:
    """Make an instrument this student's."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        build = classes.give_build(change, student_id, build_id)
    return go(request, f"/students/{student_id}", f"{build.label} is theirs.")


@router.post("/students/{student_id}/builds/{build_id}/take")
def take_build(request: Request, asker: Asks, student_id: int, build_id: int) -> Response:
    """Take an instrument from this student again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        build = classes.take_build(change, student_id, build_id)
    return go(request, f"/students/{student_id}", f"{build.label} is theirs no longer; its readings stay.")


@router.post("/students/{student_id}/link")
def make_link(request: Request, asker: Asks, student_id: int) -> Response:
    """A class link: it opens this student's page on one device, and nothing else."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        student = classes.the_student(change.session, student_id)
        token, ends = devices.make_link(change, student_id=student_id)
    back = f"/students/{student_id}"
    return show_link(request, token, ends, place="classes", back=back, student=student.name)


@router.post("/students/{student_id}/builds/{build_id}/readings")
def add_reading(
    request: Request,
    asker: Asks,
    student_id: int,
    build_id: int,
    what: Annotated[str, Form()] = "",
    value: Annotated[str, Form()] = "",
    place: Annotated[str, Form()] = "",
    sure: Annotated[str, Form(max_length=2000)] = "",
) -> Response:
    """A figure measured by hand: the student's own from a class link, else the teacher's."""
    shop: Shop = request.app.state.shop
    try:
        document = typed_reading(what, value, place, house_of(request).unit)
        ask(measured_slip(what, document.value), "value", value, sure)
        with shop.change(asker.name) as change:
            builds = classes.builds_of(change.session, student_id)
            if build_id not in {build.id for build in builds}:
                raise nothing_here("There is no such instrument of this student.")
            keep_reading(change, VERB, document, build_id=build_id, student_id=asker.student_id)
    except Mistake as mistake:
        typed = {"what": what, "value": value, "place": place}
        facts = _student(request, asker, student_id)
        return again(request, "student.html", mistake, typed=typed, **facts)
    return go(request, f"/students/{student_id}", f"{document.what} is kept.")
