"""Shop: backup, health, recently deleted."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

from fastapi import APIRouter, Request
from sqlalchemy import select
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, HTMLResponse, Response

from seamlight.shop import builds, classes, wood
from seamlight.shop.backup import backup
from seamlight.shop.change import Change
from seamlight.shop.check import check
from seamlight.shop.kept import Kept
from seamlight.shop.made import Made
from seamlight.shop.purge import recently_deleted
from seamlight.shop.shop import Shop
from seamlight.shop.tables import History
from seamlight.web.access import Asks
from seamlight.web.render import go, house_of, page

router = APIRouter()

Subject = Literal["pair", "build", "class", "student"]
BRING_BACK: dict[Subject, tuple[Callable[[Change, int], Kept], str]] = {
    "pair": (wood.bring_back, "/wood/pairs"),
    "build": (builds.bring_back_build, "/builds"),
    "class": (classes.bring_back_class, "/classes"),
    "student": (classes.bring_back_student, "/students"),
}
BACKED_UP = "backup handed out"


@router.get("/shop/backup")
def show_backup(request: Request) -> HTMLResponse:
    """What a backup holds, and when the last one was handed out here."""
    shop: Shop = request.app.state.shop
    query = select(History).where(History.subject == "shop", History.what == BACKED_UP)
    with shop.read() as session:
        last = session.scalars(query.order_by(History.id.desc()).limit(1)).first()
    return page(request, "backup.html", title="Backup", place="shop", last=last)


@router.post("/shop/backup")
def hand_out_backup(request: Request, asker: Asks) -> FileResponse:
    """The whole shop as one zip, made now."""
    shop: Shop = request.app.state.shop
    name = f"seamlight-{shop.clock().astimezone(house_of(request).zone):%Y-%m-%d-%H%M}.zip"
    scratch = tempfile.TemporaryDirectory(prefix="backup-", dir=_room(shop.made))
    out = Path(scratch.name) / name
    try:
        backup(shop, out)
        with shop.change(asker.name) as change:
            change.record("shop", 0, BACKED_UP)
    except BaseException:
        scratch.cleanup()
        raise
    return FileResponse(
        out, media_type="application/zip", filename=name, background=BackgroundTask(scratch.cleanup)
    )


def _room(made: Made) -> Path:
    """Where something large may lie for a moment: on the shop's own disk."""
    return made.folder


@router.get("/shop/health")
def show_health(request: Request) -> HTMLResponse:
    """What the look at the shop's health does."""
    return page(request, "health.html", title="Health", place="shop", found=None)


@router.post("/shop/health")
def look_at_health(request: Request) -> HTMLResponse:
    """Look at every row and every kept file now."""
    shop: Shop = request.app.state.shop
    found: Any = check(shop)
    return page(request, "health.html", title="Health", place="shop", found=found)


@router.get("/shop/deleted")
def show_deleted(request: Request) -> HTMLResponse:
    """What can still be brought back."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        rows = recently_deleted(session)
    return page(request, "deleted.html", title="Recently deleted", place="shop", rows=rows)


@router.post("/shop/deleted/{subject}/{number}")
def bring_back(request: Request, asker: Asks, subject: Subject, number: int) -> Response:
    """Bring a pair, an instrument, a class or a student back."""
    shop: Shop = request.app.state.shop
    do, place = BRING_BACK[subject]
    with shop.change(asker.name) as change:
        label = do(change, number).label
    return go(request, f"{place}/{number}", f"{label} is back.")
