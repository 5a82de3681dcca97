"""Classes: who is in them, and when they begin."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import classes as kept_classes
from seamlight.shop.change import Conflict
from seamlight.shop.shop import Shop
from seamlight.web.access import Asks
from seamlight.web.render import again, go, page

router = APIRouter()

NEW_CLASS = {"name": "", "starts_on": ""}


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
    return page(request, "class.html", mistake=None, **_class(request, class_id))


def _class(request: Request, class_id: int, **typed: str) -> dict[str, Any]:
    """What its page shows; what was typed stands in its fields."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        row = kept_classes.the_class(session, class_id)
        rows = kept_classes.students(session, class_id)
    day = row.starts_on.isoformat() if row.starts_on else ""
    fields = {"name": row.name, "starts_on": day, "names": ""} | typed
    return {"title": row.name, "place": "classes", "the_class": row, "students": rows, "typed": fields}


@router.post("/classes/{class_id}")
def edit_class(
    request: Request,
    asker: Asks,
    class_id: int,
    name: Annotated[str, Form()] = "",
    starts_on: Annotated[str, Form()] = "",
    version: Annotated[int | None, Form()] = None,
) -> Response:
    """Another name or day for a class."""
    shop: Shop = request.app.state.shop
    try:
        with shop.change(asker.name) as change:
            day = _day(starts_on)
            kept_classes.edit_class(change, class_id, name, day, expected_version=version)
    except Conflict:
        raise
    except Mistake as mistake:
        facts = _class(request, class_id, name=name, starts_on=starts_on)
        return again(request, "class.html", mistake, **facts)
    return go(request, f"/classes/{class_id}", "Kept.")


@router.post("/classes/{class_id}/delete")
def delete_class(
    request: Request, asker: Asks, class_id: int, version: Annotated[int | None, Form()] = None
) -> Response:
    """Put a class among the recently deleted."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        row = kept_classes.delete_class(change, class_id, expected_version=version)
    return go(request, "/classes", f"{row.name} is deleted; Shop, Recently deleted brings it back.")


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
        return again(request, "class.html", mistake, **_class(request, class_id, names=names))
    return go(request, f"/classes/{class_id}", f"{', '.join(row.name for row in rows)} added.")


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
