"""Work under way: how far it is, what failed, stopped and done again."""

from __future__ import annotations

from fastapi import APIRouter, Request
from pydantic import BaseModel
from starlette.responses import HTMLResponse, Response

from seamlight.shop import jobs
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Job
from seamlight.shop.taking_in import LOOK, MATCH, READ, ask_read
from seamlight.shop.two_tone import JOB as TONE
from seamlight.web.access import Asks
from seamlight.web.render import go, page
from seamlight.web.work import wake

router = APIRouter()

DOING = {
    LOOK: "looking at a photograph",
    MATCH: "matching the photographs",
    READ: "reading a pair",
    TONE: "comparing two lights",
}


class UnderWay(BaseModel):
    """How far the work in the background is."""

    waiting: int
    running: int
    says: str


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
        now = _doing(running[0]) if running else "about to begin"
        says = f"{now}; {waiting} waiting" if waiting else now
    return UnderWay(waiting=waiting, running=len(running), says=says)


def _doing(job: Job) -> str:
    far = f", {job.done} of {job.of}" if job.of else ""
    return f"{DOING.get(job.kind, job.kind)}{far}"


@router.get("/wood/work", include_in_schema=False)
def show_work(request: Request) -> HTMLResponse:
    """What is done in the background, and what failed."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        live = jobs.jobs(session)
        ended = jobs.jobs(session, states=("failed", "stopped"))[-40:][::-1]
    names = {
        LOOK: "a first look at a photograph",
        MATCH: "matching the photographs that came in",
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
