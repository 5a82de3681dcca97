"""Taking wood in: photographs dropped or shot, looked at in the background, confirmed as pairs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Form, Request, UploadFile
from pydantic import BaseModel
from sqlalchemy.orm import Session
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrival, arrivals, drop, edit_arrival, put_back, say_again, take_in
from seamlight.shop.file_rows import add_row
from seamlight.shop.shop import Shop
from seamlight.shop.sorting_in import ROLES, confirmed, sorted_in
from seamlight.shop.tables import Arrival
from seamlight.shop.taking_in import (
    LOOK,
    MATCH,
    READ,
    ask_look,
    ask_match,
    file_pair,
    look_key,
    read_settings,
)
from seamlight.shop.unlikely import ask, thickness_slip
from seamlight.shop.wood import KINDS
from seamlight.timber.species import species_names
from seamlight.units import parse_length
from seamlight.web.access import Asker, Asks
from seamlight.web.facts import NO_FACTS, facts_of
from seamlight.web.filters import length_in
from seamlight.web.render import again, go, house_of, page
from seamlight.web.uploads import take_picture
from seamlight.web.work import wake

router = APIRouter()
_PAIR = re.compile(r"pair-([0-9]{1,9})")
TITLE = "Take wood in"
HERE = "/wood/take-in"
KEY_LENGTH = 120


class Arrived(BaseModel):
    """A photograph that came in."""

    arrival: int
    new: bool  # False: the same sending had come in before
    sha256: str
    changed: bool = False  # it was here, and what was said of its scale or thickness is new


@router.get(HERE, include_in_schema=False)
def show(request: Request) -> HTMLResponse:
    """What came in, and how to bring more."""
    return page(request, "take_in.html", title=TITLE, place="wood", mistake=None, **_facts(request))


def _facts(request: Request, typed: dict[str, str] | None = None) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        groups = sorted_in(session, shop)
        live = jobs.jobs(session)
        dropped = arrivals(session, "dropped")
    return {
        "groups": groups,
        "roles": ROLES,
        "kinds": [(kind, kind) for kind in KINDS],
        "species": species_names(),
        "looking": sum(job.kind == LOOK for job in live),
        "reading": sum(job.kind == READ for job in live),
        "matching": next((job for job in live if job.kind == MATCH), None),
        "unmatched": any(one.state == "matching" for group in groups for one in group.members),
        "dropped": dropped,
        "typed": {**NO_FACTS, "scale": "tags", **(typed or {})},
    }


@router.post(HERE, include_in_schema=False)
def take(
    request: Request,
    asker: Asks,
    photos: list[UploadFile],
    scale: Annotated[str, Form(max_length=60)] = "",
    thickness: Annotated[str, Form(max_length=30)] = "",
) -> Response:
    """Photographs from a plain form: those that can be taken are kept, the others are named."""
    wrong: list[str] = []
    taken = 0
    try:
        thick = _thickness(request, scale, thickness)
    except Mistake as mistake:
        typed = {"scale": scale, "thickness": thickness}
        return again(request, "take_in.html", mistake, title=TITLE, place="wood", **_facts(request, typed))
    for photo in photos:
        try:
            _keep(request, asker, photo, f"form {uuid4()}", scale, thick)
            taken += 1
        except Mistake as mistake:
            wrong.append(str(mistake))
    wake(request.app)
    if wrong:
        said = Mistake(f"{taken} of {len(photos)} taken in. {'. '.join(wrong)}")
        return again(request, "take_in.html", said, title=TITLE, place="wood", **_facts(request))
    return go(request, HERE, f"{taken} taken in.")


@router.post("/api/arrivals", status_code=201, responses={422: {}, 413: {}})
def arrive(
    request: Request,
    asker: Asks,
    photo: UploadFile,
    key: Annotated[str, Form(min_length=1, max_length=KEY_LENGTH)],
    scale: Annotated[str, Form(max_length=60)] = "",
    thickness: Annotated[str, Form(max_length=30)] = "",
) -> Arrived:
    """Take one photograph in. `key` is the sender's own name for this sending: sent twice, it is one.

    Without a scale, tags of a target sheet are looked for. A photograph that waits already takes a scale or
    a thickness that is said now, and is looked at again.
    """
    found = _keep(request, asker, photo, key, scale, _thickness(request, scale, thickness))
    wake(request.app)
    return found


@router.post(f"{HERE}/file", include_in_schema=False)
async def file_them(request: Request, asker: Asks) -> Response:
    """File what a person confirmed as pairs."""
    form = await request.form()
    typed = {name: str(value) for name, value in form.items()}
    shop: Shop = request.app.state.shop
    said = {
        int(found[1]): (group.strip(), typed.get(f"role-{found[1]}", "other"))
        for name, group in typed.items()
        if (found := _PAIR.fullmatch(name))
    }
    labels = []
    try:
        facts = facts_of(typed, house_of(request).unit)
        facts.pop("label", None)
        groups = confirmed(said)
        if not groups:
            raise Mistake("nothing is ticked", where="pairs", do="tick what is to be filed, or do it later")
        with shop.change(asker.name) as change:
            for group, numbers, roles in groups:
                _ask_thickness(change.session, numbers, facts["kind"], typed.get("sure", ""))
                label = typed.get(f"label-{group}", "").strip() or None
                labels.append(file_pair(change, numbers, roles, label=label, **facts).label)
    except Mistake as mistake:
        return again(request, "take_in.html", mistake, title=TITLE, place="wood", **_facts(request, typed))
    wake(request.app)
    return go(request, "/wood", f"Filed: {', '.join(labels)}. They are being read now.")


@router.post(HERE + "/{arrival_id}/drop", include_in_schema=False)
def put_aside(request: Request, asker: Asks, arrival_id: int) -> Response:
    """Put one aside; it can be put back."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        drop(change, arrival_id)
    return go(request, HERE, "Put aside.")


@router.post(HERE + "/{arrival_id}/put-back", include_in_schema=False)
def take_back(request: Request, asker: Asks, arrival_id: int) -> Response:
    """Put one back among the new."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        put_back(change, arrival_id)
        ask_look(change, arrival_id)
    wake(request.app)
    return go(request, HERE, "Put back.")


@router.post(HERE + "/{arrival_id}/look", include_in_schema=False)
async def look_again(request: Request, asker: Asks, arrival_id: int) -> Response:
    """Look at one again, with another scale or thickness where one was typed."""
    shop: Shop = request.app.state.shop
    form = await request.form()
    typed = {name: str(value) for name, value in form.items()}
    scale, thickness = typed.get(f"scale-{arrival_id}"), typed.get(f"thickness-{arrival_id}")
    with shop.read() as session:
        row = arrival(session, arrival_id)
    try:
        said = (row.scale_spec or "tags") if scale is None else scale.strip() or "tags"
        same = thickness is None or thickness.strip() == length_in(row.thickness_mm, house_of(request).unit)
        thick = row.thickness_mm if same else _thickness(request, said, thickness or "")
        read_settings(said, thick)
    except Mistake as mistake:
        wrong = Mistake(mistake.what, where=f"{mistake.where or 'scale'}-{arrival_id}", do=mistake.do)
        return again(request, "take_in.html", wrong, title=TITLE, place="wood", **_facts(request, typed))
    with shop.change(asker.name) as change:
        edit_arrival(change, arrival_id, scale_spec=said, thickness_mm=thick)
        say_again(change, row.file_sha256, said, thick)  # the same picture, sent twice, is of one scale
        ask_look(change, arrival_id)
    wake(request.app)
    return go(request, HERE, "It is being looked at again.")


@router.post(HERE + "/match", include_in_schema=False)
def match_again(request: Request, asker: Asks) -> Response:
    """Compare what came in, where that was stopped or went wrong."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        ask_match(change)
    wake(request.app)
    return go(request, HERE, "They are being compared.")


def _ask_thickness(session: Session, numbers: Sequence[int], kind: str, sure: str) -> None:
    """Ask about a thickness that was typed as the photographs came in, now that the kind of wood is known."""
    for number in numbers:
        row = session.get(Arrival, number)
        if row is not None and row.thickness_mm is not None:
            ask(thickness_slip(kind, row.thickness_mm), "kind", f"{kind} {row.thickness_mm:g}", sure)


def _thickness(request: Request, scale: str, thickness: str) -> float | None:
    """The typed thickness in mm; refuses a scale or a thickness that cannot be.

    Raises:
        Mistake: in one of the two fields.
    """
    units = house_of(request).unit
    thick = parse_length(thickness, units, where="thickness") if thickness.strip() else None
    try:
        read_settings(scale.strip() or "tags", thick)
    except Mistake as mistake:
        raise Mistake(mistake.what, where=mistake.where.removeprefix("--"), do=mistake.do) from mistake
    return thick


def _keep(
    request: Request, asker: Asker, photo: UploadFile, key: str, scale: str, thick: float | None
) -> Arrived:
    shop: Shop = request.app.state.shop
    taken = take_picture(photo, request.app.state.serving.limits)
    sha = shop.files.keep(taken.data, taken.media_type)
    with shop.change(asker.name) as change:
        add_row(
            change,
            sha,
            taken.media_type,
            len(taken.data),
            width_px=taken.width_px,
            height_px=taken.height_px,
        )
        before = {one.id: look_key(one) for one in arrivals(change.session)}
        row, new = take_in(
            change,
            sha,
            key,
            name_given=taken.name,
            scale_spec=scale.strip() or None,
            thickness_mm=thick,
            taken_at=taken.taken_at,
        )
        if row.scale_spec is None:
            row.scale_spec = "tags"
        changed = [
            one.id for one in arrivals(change.session) if before.get(one.id, look_key(one)) != look_key(one)
        ]
        for number in dict.fromkeys([*changed, *([row.id] if new else [])]):
            ask_look(change, number)
    return Arrived(arrival=row.id, new=new, sha256=sha, changed=not new and bool(changed))
