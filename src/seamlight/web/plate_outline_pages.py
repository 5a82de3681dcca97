"""The joined, unbraced plate of an outline: its first modes, drawn; moved by the script while pressed."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, get_args

import numpy as np
import shapely
from fastapi import APIRouter, Query, Request
from numpy.typing import NDArray
from starlette.responses import HTMLResponse, JSONResponse, Response

from seamlight.mistake import Mistake
from seamlight.outline import Outline
from seamlight.plate import Elastic, OutlinePlate, outline_plate
from seamlight.plate.finite import Edge
from seamlight.plate.thickness import checked_thickness_mm
from seamlight.shop.outlines import outline_names
from seamlight.shop.pair_wood import shape
from seamlight.shop.plate_bench import (
    TAP,
    PieceName,
    PlateRead,
    newest_of,
    plate_readings,
    usual_piece,
    wood_named,
)
from seamlight.shop.plate_rule import elastic_of, shop_rule, targets
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair
from seamlight.units import parse_length
from seamlight.web.chart_files import ChartForm, chart_file
from seamlight.web.plate_bench_forms import use_of
from seamlight.web.plate_facts import chosen_outline
from seamlight.web.plate_shape_charts import outline_figure
from seamlight.web.render import again, house_of, page

router = APIRouter(include_in_schema=False)

Points = NDArray[np.float64]
EDGES: dict[Edge, str] = {"hinged": "hinged at the rim", "clamped": "clamped at the rim", "free": "free"}
PAGE = "plate_outline.html"
_UP = 0.15  # of the greatest movement, from which a place is drawn as moving up
Text = Annotated[str, Query(max_length=80)]


@dataclass(frozen=True)
class ModeDrawn:
    """One mode as SVG paths in the body frame, mm: where it moves one way, and where it stays still."""

    hz: float
    up: str
    still: str


@dataclass(frozen=True)
class _Asked:
    """What is to be drawn."""

    outline: Outline
    elastic: Elastic
    density_kg_m3: float
    thickness_mm: float
    edge: Edge


@router.get("/wood/pairs/{pair_id}/plate/outline")
def show(
    request: Request,
    pair_id: int,
    outline: Text = "",
    edge: Edge = "hinged",
    thickness: Text = "",
    piece: PieceName | None = None,
) -> HTMLResponse:
    """The outline's plate of a pair's wood."""
    facts = _facts(request, pair_id, outline, edge, thickness)
    try:
        asked = _asked(request, pair_id, outline, edge, thickness, piece)
        plate = _solved(asked)
    except Mistake as mistake:
        return again(request, PAGE, mistake, **facts, plate=None, modes=(), rim="", asked=None, weight_g=None)
    nodes, triangles = plate.nodes_mm, plate.triangles
    return page(
        request,
        PAGE,
        mistake=None,
        **{**facts, "typed": {**facts["typed"], "outline": asked.outline.name}},
        plate=plate,
        asked=asked,
        rim=_rim(nodes, triangles),
        box=_box(nodes),
        modes=[_drawn(hz, s, nodes, triangles) for hz, s in zip(plate.hz, plate.shapes, strict=True)],
        weight_g=plate.weight_g(asked.density_kg_m3, asked.thickness_mm),
    )


@router.get("/wood/pairs/{pair_id}/plate/outline.json")
def shapes(
    request: Request,
    pair_id: int,
    outline: Text = "",
    edge: Edge = "hinged",
    thickness: Text = "",
    piece: PieceName | None = None,
) -> JSONResponse:
    """The same as numbers, for the script that moves it: nodes (mm), edges, displacement of each mode."""
    try:
        plate = _solved(_asked(request, pair_id, outline, edge, thickness, piece))
    except Mistake as mistake:
        return JSONResponse({"what": str(mistake)}, 422)
    return JSONResponse(
        {
            "nodes": np.round(plate.nodes_mm, 1).tolist(),
            "edges": sorted(_edges(plate.triangles)),
            "rim": [edge for edge, count in _edges(plate.triangles).items() if count == 1],
            "shapes": np.round(plate.shapes, 3).tolist(),
        }
    )


@router.get("/wood/pairs/{pair_id}/plate/outline.{form}")
def chart(
    request: Request,
    pair_id: int,
    form: ChartForm,
    outline: Text = "",
    edge: Edge = "hinged",
    thickness: Text = "",
    piece: PieceName | None = None,
) -> Response:
    """The same as a file."""
    asked = _asked(request, pair_id, outline, edge, thickness, piece)
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        label = pair(session, pair_id).label
    title = f"{label} as a {asked.outline.name}, {asked.thickness_mm:.2f} mm, {EDGES[asked.edge]}"
    return chart_file(outline_figure(title, _solved(asked)), form, f"{label}-outline-plate")


def _facts(request: Request, pair_id: int, outline: str, edge: Edge, thickness: str) -> dict[str, Any]:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = pair(session, pair_id)
        names = outline_names(session)
    return {
        "title": f"The outline's plate of {found.label}",
        "place": "wood",
        "pair": found,
        "here": f"/wood/pairs/{pair_id}/plate/outline",
        "names": [(name, name) for name in names],
        "edges": list(EDGES.items()),
        "typed": {"outline": outline, "edge": edge, "thickness": thickness},
    }


def _asked(
    request: Request, pair_id: int, outline: str, edge: Edge, thickness: str, piece: PieceName | None
) -> _Asked:
    """Which plate is meant.

    Raises:
        Mistake: it was not read yet, no outline was chosen, or a thickness that cannot be.
    """
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    with shop.read() as session:
        found = pair(session, pair_id)
        one = _newest(plate_readings(session, pair_id), piece or usual_piece(found.stage, found.kind))
        body = shape(shop, session, outline) if outline.strip() else chosen_outline(shop, session, found)
        rule = shop_rule(session, use_of(found.kind))
    if one is None or not one.document.density_kg_m3:
        raise Mistake("this wood was not tapped yet", do="tap it on the plate's page first")
    if body is None:
        raise Mistake("no outline is chosen for this pair", where="outline", do="choose one here")
    wood = wood_named(one.says.get("species")) or wood_named(found.species_common)
    if thickness.strip():
        thick = checked_thickness_mm(parse_length(thickness, unit, where="thickness"), where="thickness")
    else:
        thick = targets(one.document, rule, wood, body)[0][0].thickness_mm
    return _Asked(body, elastic_of(one.document, wood), one.document.density_kg_m3, round(thick, 3), edge)


def _newest(read: tuple[PlateRead, ...], piece: PieceName) -> PlateRead | None:
    """Of the piece asked for, else of any that was tapped: the joined plate first."""
    order: list[PieceName] = [piece, "joined", *get_args(PieceName)]
    return next((one for name in order if (one := newest_of(read, name, TAP)) is not None), None)


def _solved(asked: _Asked) -> OutlinePlate:
    return _solved_once(asked.outline, asked.elastic, asked.density_kg_m3, asked.thickness_mm, asked.edge)


@lru_cache(maxsize=16)
def _solved_once(
    outline: Outline, elastic: Elastic, density_kg_m3: float, thickness_mm: float, edge: Edge
) -> OutlinePlate:
    return outline_plate(outline, elastic, density_kg_m3, thickness_mm, edge)


def _edges(triangles: NDArray[np.intp]) -> Counter[tuple[int, int]]:
    """Each edge (lower node first) and how many triangles share it: the rim's belong to one."""
    sides = np.sort(
        np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1
    )
    return Counter((int(a), int(b)) for a, b in sides)


def _box(nodes: Points) -> str:
    """The view box round a plate, with a margin of 6 mm."""
    (left, top), (wide, long) = nodes.min(axis=0), np.ptp(nodes, axis=0)
    return f"{left - 6:.0f} {top - 6:.0f} {wide + 12:.0f} {long + 12:.0f}"


def _rim(nodes: Points, triangles: NDArray[np.intp]) -> str:
    rim = (edge for edge, count in _edges(triangles).items() if count == 1)
    return "".join(_segment(nodes[a], nodes[b]) for a, b in rim)


def _drawn(hz: float, shape: Points, nodes: Points, triangles: NDArray[np.intp]) -> ModeDrawn:
    shape = shape if abs(shape.max()) >= abs(shape.min()) else -shape
    values, corners = shape[triangles], nodes[triangles]
    up = np.flatnonzero(values.max(axis=1) > _UP)
    filled = shapely.union_all([shapely.Polygon(_above(values[k], corners[k], _UP)) for k in up])
    crossed = [_crossings(value, corner) for value, corner in zip(values, corners, strict=True)]
    still = shapely.line_merge(shapely.multilinestrings([pair for pair in crossed if len(pair) == 2]))
    return ModeDrawn(hz, _path(filled), _path(still))


def _above(values: Points, corners: Points, least: float) -> list[Points]:
    """The part of a triangle where it moves more than `least`."""
    found = []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        if values[a] > least:
            found.append(corners[a])
        if (values[a] > least) != (values[b] > least):
            found.append(_between(values - least, corners, a, b))
    return found if len(found) > 2 else [*found, *[found[-1]] * (3 - len(found))]


def _crossings(values: Points, corners: Points) -> list[Points]:
    """Where a triangle's sides are crossed by the line of no movement, straight between its corners."""
    sides = ((0, 1), (1, 2), (2, 0))
    return [_between(values, corners, a, b) for a, b in sides if (values[a] > 0) != (values[b] > 0)]


def _between(values: Points, corners: Points, a: int, b: int) -> Points:
    """Where a value is 0 between two corners."""
    part = values[a] / (values[a] - values[b])
    return np.asarray(np.round(corners[a] + part * (corners[b] - corners[a]), 3), dtype=np.float64)


def _path(drawn: shapely.Geometry) -> str:
    """Lines and rims as one SVG path."""
    lines = []
    for part in shapely.get_parts(drawn):
        rings = [part] if part.geom_type == "LineString" else shapely.get_parts(shapely.boundary(part))
        lines += ["M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring.coords) for ring in rings]
    return "".join(lines)


def _segment(a: Points, b: Points) -> str:
    return f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}"
