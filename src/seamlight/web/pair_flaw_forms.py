"""Flaws said by plain forms on a pair's page: one added by its measures, one that is none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.shop.flaw_edits import FaceName, keep_flaw_edits
from seamlight.shop.flaws_meant import boxes_of
from seamlight.shop.pair_wood import check_edits
from seamlight.shop.shop import Shop
from seamlight.units import parse_length
from seamlight.web.access import Asker, Asks
from seamlight.web.pair_api import search_again
from seamlight.web.pair_bench import bench
from seamlight.web.pair_show import ShownAgain
from seamlight.web.render import go, house_of
from seamlight.web.work import wake

router = APIRouter(prefix="/wood/pairs", include_in_schema=False, route_class=ShownAgain)
Text = Annotated[str, Form(max_length=120)]
Changed = Callable[[dict[str, Any]], dict[str, Any]]


@router.post("/{pair_id}/flaws/add")
def add_flaw(
    request: Request,
    pair_id: int,
    asker: Asks,
    flaw_leaf: Annotated[FaceName, Form()],
    flaw_kind: Text,
    from_end1: Text,
    from_left: Text,
    long: Text,
    wide: Text,
    version_a: Annotated[int, Form()] = 0,
    version_b: Annotated[int, Form()] = 0,
    version_other_a: Annotated[int, Form()] = 0,
    version_other_b: Annotated[int, Form()] = 0,
) -> Response:
    """A flaw by its measures: an oval round its middle."""
    unit = house_of(request).unit
    y, x, high, across = (
        parse_length(typed, unit, where=name)
        for typed, name in (
            (from_end1, "from_end1"),
            (from_left, "from_left"),
            (long, "long"),
            (wide, "wide"),
        )
    )
    if min(high, across) <= 0:
        raise Mistake("a flaw is longer and wider than nothing", where="long", do="write both")
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = [
        (round(float(px), 2), round(float(py), 2))
        for px, py in zip(x + across / 2 * np.cos(turn), y + high / 2 * np.sin(turn), strict=True)
    ]
    version = {"a": version_a, "b": version_b, "other_a": version_other_a, "other_b": version_other_b}[
        flaw_leaf
    ]
    added = {"kind": flaw_kind, "outline_mm": ring}
    return _say(
        request,
        pair_id,
        asker,
        flaw_leaf,
        version,
        lambda edits: {**edits, "add": [*edits.get("add", []), added]},
    )


@router.post("/{pair_id}/flaws/drop")
def drop_flaw(
    request: Request,
    pair_id: int,
    asker: Asks,
    leaf: Annotated[FaceName, Form()],
    found: Annotated[int, Form()] = -1,
    added: Annotated[int, Form()] = -1,
    version: Annotated[int, Form()] = 0,
) -> Response:
    """A flaw that is none."""

    def dropped(edits: dict[str, Any]) -> dict[str, Any]:
        if added >= 0:
            kept = list(edits.get("add", []))
            return {**edits, "add": kept[:added] + kept[added + 1 :]}
        replaced = {k: v for k, v in edits.get("replace", {}).items() if int(k) != found}
        return {**edits, "drop": [*edits.get("drop", []), found], "replace": replaced}

    return _say(request, pair_id, asker, leaf, version, dropped)


def _say(
    request: Request, pair_id: int, asker: Asker, leaf: FaceName, version: int, changed: Changed
) -> Response:
    """Keep a change of what was said about the flaws of a leaf's face."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        laid = bench(shop, session, pair_id)
    if laid is None:
        raise Mistake("is not read yet", where="pair", do="have its photographs read first")
    wood = laid.wood
    edits = {name: value for name, value in changed(dict(wood.edits.get(leaf, {}))).items() if value}
    check_edits(wood, leaf, edits)
    with shop.change(asker.name) as change:
        keep_flaw_edits(
            change,
            pair_id,
            leaf,
            edits,
            boxes=boxes_of(edits, wood.found[leaf]),
            made_on=wood.pictures.get(leaf),
            expected_version=version,
        )
        search_again(change, pair_id, laid.outline.name)
    wake(request.app)
    return go(request, f"/wood/pairs/{pair_id}#flaws", "Kept.")
