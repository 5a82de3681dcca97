"""Classes and students: who is in a class, and a student's instrument with both readings side by side."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from sqlalchemy.orm import Session
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import classes as kept_classes
from seamlight.shop import devices
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.shop import Shop
from seamlight.shop.typed import MEASURES, VERB, side_by_side, typed_reading
from seamlight.web.access import Asker, Asks
from seamlight.web.device_pages import show_link
from seamlight.web.errors import nothing_here
from seamlight.web.render import again, go, house_of, page

router = APIRouter()

NEW_CLASS = {"name": "", "starts_on": ""}
NEW_READING = {"what": next(iter(MEASURES)), "value": "", "place": ""}


@router.get("/classes")
def list_classes(request: Request) -> HTMLResponse:
    """Every class."""
    return page(request, "classes.html", title="Classes", mistake=None, typed=NEW_CLASS, **_classes(request))


@router.post("/classes")
def new_class(
    request: Request,
    asker: Asks,
    name: Annotated[str, Form()] = "",
    starts_on: Annotated[str, Form()] = "",
) -> Response:
    """A new class."""
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            row = kept_classes.new_class(change, name, _day(starts_on))
    except Mistake as mistake:
        typed = {"name": name, "starts_on": starts_on}
        return again(request, "classes.html", mistake, title="Classes", typed=typed, **_classes(request))
    return go(request, f"/classes/{row.id}", f"{row.name} is made. Now add its students.")


def _classes(request: Request) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        return {"place": "classes", "classes": kept_classes.classes(session)}


@router.get("/classes/{class_id}")
def show_class(request: Request, class_id: int) -> HTMLResponse:
    """One class and its students."""
    return page(request, "class.html", mistake=None, names="", **_class(request, class_id))


def _class(request: Request, class_id: int) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        row = kept_classes.the_class(session, class_id)
        rows = kept_classes.students(session, class_id)
    return {"title": row.name, "place": "classes", "the_class": row, "students": rows}


@router.post("/classes/{class_id}")
def edit_class(
    request: Request,
    asker: Asks,
    class_id: int,
    name: Annotated[str, Form()] = "",
    starts_on: Annotated[str, Form()] = "",
) -> Response:
    """Another name or day for a class."""
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            kept_classes.edit_class(change, class_id, name, _day(starts_on))
    except Mistake as mistake:
        return again(request, "class.html", mistake, names="", **_class(request, class_id))
    return go(request, f"/classes/{class_id}", "Kept.")


@router.post("/classes/{class_id}/students")
def add_students(
    request: Request, asker: Asks, class_id: int, names: Annotated[str, Form()] = ""
) -> Response:
    """Add students to a class."""
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            rows = kept_classes.add_students(change, class_id, names)
    except Mistake as mistake:
        return again(request, "class.html", mistake, names=names, **_class(request, class_id))
    return go(request, f"/classes/{class_id}", f"{', '.join(row.name for row in rows)} added.")


@router.get("/students/{student_id}")
def show_student(request: Request, asker: Asks, student_id: int) -> HTMLResponse:
    """A student's instruments; what a class link opens."""
    return page(
        request, "student.html", mistake=None, typed=NEW_READING, **_student(request, asker, student_id)
    )


def _student(request: Request, asker: Asker, student_id: int) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        student = kept_classes.the_student(session, student_id)
        of_class = kept_classes.the_class(session, student.class_id)
        instruments = [_instrument(session, build) for build in kept_classes.builds_of(session, student_id)]
        return {
            "title": student.name,
            "place": "classes",
            "student": student,
            "of_class": of_class,
            "instruments": instruments,
            "measures": [(what, f"{what}, {unit}" if unit else what) for what, unit in MEASURES.items()],
            "free": kept_classes.free_builds(session) if asker.works_here else [],
            "devices": kept_classes.devices_of(session, student_id) if asker.works_here else 0,
        }


def _instrument(session: Session, build: Any) -> dict[str, Any]:
    return {
        "build": build,
        "wood": kept_classes.wood_of(session, build.id),
        "rows": side_by_side(readings(session, build_id=build.id, verb=VERB)),
    }


@router.post("/students/{student_id}/name")
def rename(request: Request, asker: Asks, student_id: int, name: Annotated[str, Form()] = "") -> Response:
    """Another name for a student; theirs to see, not to change."""
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            kept_classes.rename_student(change, student_id, name)
    except Mistake as mistake:
        facts = _student(request, asker, student_id)
        return again(request, "student.html", mistake, typed=NEW_READING, **facts)
    return go(request, f"/students/{student_id}", "Kept.")


@router.post("/students/{student_id}/builds")
def give_build(request: Request, asker: Asks, student_id: int, build_id: Annotated[int, Form()]) -> Response:
    """Make an instrument this student's."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        build = kept_classes.give_build(change, student_id, build_id)
    return go(request, f"/students/{student_id}", f"{build.label} is theirs.")


@router.post("/students/{student_id}/builds/{build_id}/take")
def take_build(request: Request, asker: Asks, student_id: int, build_id: int) -> Response:
    """Take an instrument from this student again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        build = kept_classes.take_build(change, student_id, build_id)
    return go(request, f"/students/{student_id}", f"{build.label} is theirs no longer; its readings stay.")


@router.post("/students/{student_id}/link")
def make_link(request: Request, asker: Asks, student_id: int) -> Response:
    """A class link: it opens this student's page on one device, and nothing else."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        student = kept_classes.the_student(change.session, student_id)
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
) -> Response:
    """A figure measured by hand: the student's own from a class link, else the teacher's."""
    shop: Shop = request.app.state.shop
    try:
        document = typed_reading(what, value, place, house_of(request).unit)
        with shop.change(asker.name) as change:
            builds = kept_classes.builds_of(change.session, student_id)
            if build_id not in {build.id for build in builds}:
                raise nothing_here("There is no such instrument of this student.")
            keep_reading(change, VERB, document, build_id=build_id, student_id=asker.student_id)
    except Mistake as mistake:
        typed = {"what": what, "value": value, "place": place}
        facts = _student(request, asker, student_id)
        return again(request, "student.html", mistake, typed=typed, **facts)
    return go(request, f"/students/{student_id}", f"{document.what} is kept.")


def _day(typed: str) -> date | None:
    """A day from the browser's own field.

    Raises:
        Mistake: it is none.
    """
    if not typed.strip():
        return None
    try:
        return date.fromisoformat(typed.strip())
    except ValueError:
        raise Mistake(f"{typed!r} is no day", where="starts_on", do="write it like 2026-03-12") from None
