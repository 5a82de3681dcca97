"""Places that nothing has been put into yet: what to do first."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from seamlight.web.render import page

router = APIRouter()


@router.get("/")
def today(request: Request) -> HTMLResponse:
    """Today."""
    return _empty(request, "today", "Today", "Nothing is under way yet. Take in the first pair of leaves.")


@router.get("/wood")
def wood(request: Request) -> HTMLResponse:
    """The rack."""
    return _empty(
        request, "wood", "Wood", "The rack is empty. Photograph both leaves of a pair and take them in."
    )


@router.get("/builds")
def builds(request: Request) -> HTMLResponse:
    """Instruments."""
    return _empty(
        request, "builds", "Builds", "No instrument is wanted yet. Take in wood first, then add one."
    )


def _empty(request: Request, place: str, title: str, text: str) -> HTMLResponse:
    return page(request, "empty.html", title=title, place=place, text=text)
