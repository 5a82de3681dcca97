"""The pair's page: the wood large, its openings, the work on its picture, and all that is known of it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from seamlight.web import (
    pair_api,
    pair_flaw_forms,
    pair_forms,
    pair_grade_forms,
    pair_settings_forms,
    pair_sheets,
    weight_pages,
)
from seamlight.web.pair_show import show

router = APIRouter()


@router.get("/wood/pairs/{pair_id}", include_in_schema=False)
def pair(request: Request, pair_id: int, outline: str | None = None) -> HTMLResponse:
    """A pair, with its chosen outline or another."""
    return show(request, pair_id, outline)


router.include_router(pair_sheets.router)
router.include_router(pair_forms.router)
router.include_router(pair_flaw_forms.router)
router.include_router(pair_grade_forms.router)
router.include_router(pair_settings_forms.router)
router.include_router(weight_pages.router)
router.include_router(pair_api.router)
