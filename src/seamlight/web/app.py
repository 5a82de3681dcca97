"""The house of pages: every place, behind one guard."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AbstractContextManager, ExitStack, asynccontextmanager
from pathlib import Path

from fastapi import Depends, FastAPI
from starlette.staticfiles import StaticFiles

from seamlight import __version__
from seamlight.shop.shop import Shop
from seamlight.web import (
    air_pages,
    api,
    api_docs,
    away,
    bench_api,
    brace_pages,
    builds,
    classes,
    device_pages,
    errors,
    files,
    glue_pages,
    grades,
    keeping_pages,
    labels,
    made,
    matching,
    once,
    outline_pages,
    pair,
    pairing,
    plate_pages,
    seam_pages,
    shop_pages,
    students,
    take_in,
    today,
    wood,
    work_pages,
)
from seamlight.web.csrf import asked_from_our_page
from seamlight.web.guard import Guard
from seamlight.web.letters import only_letters
from seamlight.web.seals import shop_seals
from seamlight.web.sent_once import asked_once
from seamlight.web.serving import Serving

STATIC = Path(__file__).parent / "static"
# Each is a module with a `router`; the first route that an address fits is taken.
PLACES = (
    today,
    take_in,
    work_pages,
    once,
    wood,
    labels,
    seam_pages,
    pair,
    plate_pages,
    brace_pages,
    matching,
    builds,
    classes,
    students,
    shop_pages,
    air_pages,
    glue_pages,
    grades,
    outline_pages,
    device_pages,
    keeping_pages,
    pairing,
    files,
    made,
    away,
    api,
    bench_api,
    api_docs,
)
Beside = Callable[[FastAPI], AbstractContextManager[object]]


def make_app(shop: Shop, *, settings: Serving | None = None, beside: Sequence[Beside] = ()) -> FastAPI:
    """The pages of one shop.

    Args:
        shop: open; whoever opened it closes it.
        settings: how it is served; by default to this computer only.
        beside: what runs while the pages are served, such as the work in the background; each is entered
            with the app at the start and left at the end.
    """

    @asynccontextmanager
    async def running(app: FastAPI) -> AsyncIterator[None]:
        with ExitStack() as stack:
            for enter in beside:
                stack.enter_context(enter(app))
            yield

    app = FastAPI(
        title="Seamlight",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=running,
        dependencies=[Depends(asked_from_our_page), Depends(only_letters), Depends(asked_once)],
    )
    app.state.shop, app.state.serving, app.state.seals = shop, settings or Serving(), shop_seals(shop.folder)
    app.add_middleware(Guard, shop=shop, serving=app.state.serving, seals=app.state.seals)
    errors.add_handlers(app)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    for place in PLACES:
        app.include_router(place.router)
    api_docs.describe_api(app)
    return app
