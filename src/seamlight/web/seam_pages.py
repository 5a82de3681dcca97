"""The seam of a pair, or of leaves that the shop does not know: shown here; what is sent comes in beside."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import HTMLResponse, Response

from seamlight.web import seam_alone, seam_chart_pages, seam_forms, seam_light_forms, seam_straight
from seamlight.web.render import house_of, page
from seamlight.web.seam_joining import wedge_angle, wedge_sheet
from seamlight.web.seam_show import PAGE, facts_of_pair

router = APIRouter(include_in_schema=False)


@router.get("/wood/pairs/{pair_id}/seam")
def show(request: Request, pair_id: int) -> HTMLResponse:
    """A pair's joint: its newest reading large over the one before, what to do."""
    return page(request, PAGE, mistake=None, **facts_of_pair(request, pair_id))


@router.get("/wood/pairs/{pair_id}/seam/wedges.pdf")
def wedges(request: Request, pair_id: int, angle: Annotated[str, Query(max_length=12)] = "5") -> Response:
    """The marking sheet with the line to saw on the outer edges for the rig's wedges."""
    return wedge_sheet(request, pair_id, wedge_angle(angle.replace(",", ".")), house_of(request).unit)


router.include_router(seam_light_forms.router)
router.include_router(seam_forms.router)
router.include_router(seam_alone.router)
router.include_router(seam_straight.router)
router.include_router(seam_chart_pages.router)
