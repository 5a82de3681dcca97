"""Taking wood in: photographs dropped or shot, looked at in the background, confirmed as pairs."""

from __future__ import annotations

from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Form, Request, UploadFile
from pydantic import BaseModel
from starlette.responses import HTMLResponse, Response

from seamlight.mistake import Mistake
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrivals, drop, put_back, take_in
from seamlight.shop.file_rows import add_row
from seamlight.shop.shop import Shop
from seamlight.shop.sorting_in import ROLES, confirmed, sorted_in
from seamlight.shop.tables import Job
from seamlight.shop.taking_in import LOOK, READ, ask_look, ask_read, file_pair, read_settings
from seamlight.shop.two_tone import JOB as TONE
from seamlight.shop.wood import KINDS
from seamlight.timber.species import species_names
from seamlight.units import parse_length
from seamlight.web.access import Asker, Asks
from seamlight.web.facts import NO_FACTS, facts_of
from seamlight.web.render import again, go, house_of, page
from seamlight.web.uploads import take_picture
from seamlight.web.work import wake

router = APIRouter()
TITLE = "Take wood in"
HERE = "/wood/take-in"
KEY_LENGTH = 120


class Arrived(BaseModel):
    """A photograph that came in."""

    arrival: int
    new: bool  # False: the same sending had come in before
    sha256: str


class UnderWay(BaseModel):
    """How far the work in the background is."""

    waiting: int
    running: int
    says: str


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
    scale: Annotated[str, Form(max_length=60)] = "tags",
    thickness: Annotated[str, Form(max_length=30)] = "",
) -> Arrived:
    """Take one photograph in. `key` is the sender's own name for this sending: sent twice, it is one."""
    found = _keep(request, asker, photo, key, scale, _thickness(request, scale, thickness))
    wake(request.app)
    return found


@router.get("/api/work")
def under_way(request: Request) -> UnderWay:
    """How far the work in the background is."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        live = jobs.jobs(session)
    running = [job for job in live if job.state == "running"]
    waiting = len(live) - len(running)
    says = "nothing under way"
    if live:
        names = {LOOK: "looking at a photograph", READ: "reading a pair", TONE: "comparing two lights"}
        now = names.get(running[0].kind, running[0].kind) if running else "about to begin"
        says = f"{now}; {waiting} waiting" if waiting else now
    return UnderWay(waiting=waiting, running=len(running), says=says)


@router.post(f"{HERE}/file", include_in_schema=False)
async def file_them(request: Request, asker: Asks) -> Response:
    """File what a person confirmed as pairs."""
    form = await request.form()
    typed = {name: str(value) for name, value in form.items()}
    shop: Shop = request.app.state.shop
    said = {
        int(name.removeprefix("pair-")): (group.strip(), typed.get(name.replace("pair-", "role-"), "other"))
        for name, group in typed.items()
        if name.startswith("pair-") and name.removeprefix("pair-").isdecimal()
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
def look_again(request: Request, asker: Asks, arrival_id: int) -> Response:
    """Look at one again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        ask_look(change, arrival_id)
    wake(request.app)
    return go(request, HERE, "It is being looked at again.")


@router.get("/wood/work", include_in_schema=False)
def show_work(request: Request) -> HTMLResponse:
    """What is done in the background, and what failed."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        live = jobs.jobs(session)
        ended = jobs.jobs(session, states=("failed", "stopped"))[-40:][::-1]
    names = {
        LOOK: "a first look at a photograph",
        READ: "reading a pair and laying it out",
        TONE: "comparing a pair lit from either end",
    }
    return page(
        request, "work.html", title="Work under way", place="wood", live=live, ended=ended, names=names
    )


@router.post("/wood/work/{job_id}/stop", include_in_schema=False)
def stop(request: Request, asker: Asks, job_id: int) -> Response:
    """Stop a piece of work."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        jobs.stop(change, job_id)
    return go(request, "/wood/work", "Stopped. What was kept before is still there.")


@router.post("/wood/work/{job_id}/again", include_in_schema=False)
def once_more(request: Request, asker: Asks, job_id: int) -> Response:
    """Do a failed or stopped piece of work again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        jobs.try_again(change, job_id)
    wake(request.app)
    return go(request, "/wood/work", "It waits for its turn.")


@router.post("/wood/pairs/{pair_id}/read", include_in_schema=False)
def read_again(request: Request, asker: Asks, pair_id: int) -> Response:
    """Have a pair read and laid out again."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        job: Job | None = ask_read(change, pair_id)
    wake(request.app)
    said = "It is being read again." if job is not None else "There is no photograph of a leaf to read."
    return go(request, f"/wood/pairs/{pair_id}", said)


def _thickness(request: Request, scale: str, thickness: str) -> float | None:
    """The typed thickness in mm; refuses a scale or a thickness that cannot be.

    Raises:
        Mistake: in one of the two fields.
    """
    thick = parse_length(thickness, house_of(request).unit) if thickness.strip() else None
    read_settings(scale.strip() or "tags", thick)
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
        row, new = take_in(
            change,
            sha,
            key,
            name_given=taken.name,
            scale_spec=scale.strip() or "tags",
            thickness_mm=thick,
            taken_at=taken.taken_at,
        )
        if new:
            ask_look(change, row.id)
    return Arrived(arrival=row.id, new=new, sha256=sha)
