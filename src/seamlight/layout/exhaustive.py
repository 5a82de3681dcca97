"""The plain search: every place of the grid, by Shapely. Slow and plainly right; it checks the fast search.

For each tilt the sound wood is turned once and prepared; every half outline with its trim, laid down at every
offset and shift, is asked whether the wood covers it; every point of every flaw and of the grain's grid is
asked which zone contains it; then both leaves are put together at every slide and the best key is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.layout.body import STRIP_MM, ZONES, HalfBody
from seamlight.layout.domain import Domain, Found, Spot, grid, wide_shifts
from seamlight.layout.judge import Half, Place, judge, pair_key, wood_room
from seamlight.layout.pieces import TOUCH_MM
from seamlight.layout.raster import Raster, mean_over, points_of, raster_of, sums_over
from seamlight.layout.score import (
    NO_PLACE,
    SEAM_BAND_MM,
    coded,
    figure_tenths,
    leaf_parts,
    lost,
    rounded,
)
from seamlight.layout.side import FlawPoints
from seamlight.photo.flat import Points

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
_HAIR_MM = 1e-9


@dataclass(frozen=True, eq=False)
class Layer:
    """What one side says at one tilt, (offsets, shifts) arrays."""

    short: Ints
    zone: Ints
    grain: Ints
    tenths: Ints


@dataclass(frozen=True, eq=False)
class _Shapes:
    """The half body as polygons, neck end and joint at the origin."""

    wanted: shapely.Polygon  # with joint, trim and end trims, in strips
    corners: Points  # some points within it, near its edge
    seam: shapely.LineString
    edge: shapely.Polygon  # the outline's trim, in strips
    inside: shapely.Polygon
    zones: tuple[shapely.Geometry, ...]  # that which counts as no worse than each rank


def search_grid(domain: Domain, tilts_deg: Sequence[float] | None = None) -> Found:
    """The best place of the whole grid (or of some of its tilts)."""
    tilts = domain.tilts_deg if tilts_deg is None else tuple(tilts_deg)
    found = _search(domain, tilts, shortness=False)
    if found is None:
        found = _search(domain, tilts, shortness=True)
    if found is None:
        raise ValueError("no place on the grid has wood at the joint")
    return found


def _search(domain: Domain, tilts: Sequence[float], shortness: bool) -> Found | None:
    """The best place; without `shortness` only among places that fit."""
    wide = wide_shifts(domain)
    layers_a = [layer(domain.a, t, domain.offsets_a, domain.shifts, shortness) for t in tilts]
    layers_b = [layer(domain.b, t, domain.offsets_b, wide, shortness) for t in tilts]
    best_code = int(coded(NO_PLACE, 0, 0, 0))
    tied: list[Spot] = []
    for ia, ib in product(range(len(tilts)), range(len(tilts))):
        if not domain.slip and ia != ib:
            continue
        for step in domain.slides:
            codes = _codes(domain, layers_a[ia], layers_b[ib], step, wide.start)
            least = int(codes.min())
            if least < best_code:
                best_code, tied = least, []
            if least == best_code < coded(NO_PLACE, 0, 0, 0):
                tied += [_spot(domain, tilts[ia], tilts[ib], step, at) for at in np.argwhere(codes == least)]
    return min((_found(domain, spot) for spot in tied), key=lambda f: f.key, default=None)


def _codes(domain: Domain, a: Layer, b: Layer, step: int, first_b: int) -> Ints:
    """The key less the spare of every offset of A, offset of B and shift at one slide, as whole numbers."""
    moved = step if domain.a.neck_first else -step
    columns = np.arange(len(domain.shifts)) + domain.shifts.start - moved - first_b

    def both(left: Ints, right: Ints) -> tuple[Ints, Ints]:
        there = right[:, columns]
        return (left[:, None], there[None]) if domain.slip else (left[:, None], there[:, None])

    short, zone, grain = (np.maximum(*both(getattr(a, n), getattr(b, n))) for n in ("short", "zone", "grain"))
    missing = lost(*both(a.tenths, b.tenths), figure_tenths(step * STRIP_MM, domain.figure_read))
    return coded(short, zone, grain, missing)


def _spot(domain: Domain, tilt_a: float, tilt_b: float, step: int, at: Ints) -> Spot:
    oa, ob, shift = (int(i) for i in at)
    offset_a = domain.offsets_a[oa] * STRIP_MM
    return Spot(
        tilt_deg=tilt_a,
        offset_mm=offset_a,
        shift_mm=domain.shifts[shift] * STRIP_MM,
        moved_mm=step * STRIP_MM,
        tilt_b_deg=tilt_b,
        offset_b_mm=domain.offsets_b[ob] * STRIP_MM if domain.slip else offset_a,
    )


def _found(domain: Domain, spot: Spot) -> Found:
    """A place with its whole key, the room cut out by Shapely."""
    places = spot.places(domain)
    halves = (domain.a, domain.b)
    verdicts = judge(domain.a, places[0]), judge(domain.b, places[1])
    key = pair_key(*verdicts, spot.moved_mm, domain.figure_read)
    spare = min(spare_by_shapely(h, p) for h, p in zip(halves, places, strict=True))
    return Found(spot, replace(key, tight=-int(rounded(np.array(spare), 100.0))))


def layer(half: Half, tilt_deg: float, offsets: range, shifts: range, shortness: bool = False) -> Layer:
    """Judge every offset and shift of one side at one tilt; without `shortness` only those that fit."""
    shape = (len(offsets), len(shifts))
    short, zone, grain, tenths = (np.zeros(shape, dtype=np.int64) for _ in range(4))
    shapes = _shapes(half.body)
    raster = raster_of(half.side, tilt_deg).flipped(not half.joint_left, not half.neck_first)
    turned = Place(tilt_deg, 0.0, 0.0)
    wood = shapely.Polygon(half.to_body(half.side.wood_mm, turned))
    shapely.prepare(wood)
    holes = [shapely.Polygon(half.to_body(h, turned)) for h in half.side.holes_mm]
    silhouette = shapely.Polygon(half.to_body(half.side.silhouette_mm, turned))
    flaws = [replace(f, points_mm=half.to_body(f.points_mm, turned)) for f in half.side.flaws if f.counts]
    for i, offset in enumerate(grid(offsets)):
        fits = _fits(wood, holes, shapes, offset, grid(shifts))
        for j, shift in enumerate(grid(shifts)):
            short[i, j] = 0 if fits[j] else NO_PLACE
            if shortness and not fits[j]:
                short[i, j] = wood_room(half, Place(tilt_deg, offset, shift)).short
            if short[i, j] == NO_PLACE:
                continue
            zone[i, j] = _worst_zone(flaws, shapes, offset, shift)
            grain[i, j], tenths[i, j] = _grain(half, raster, silhouette, shapes, offset, shift)
    return Layer(short, zone, grain, tenths)


def spare_by_shapely(half: Half, place: Place) -> float:
    """Least room beyond the outline less trim, strip by strip, from the wood's boundary cut by Shapely."""
    room_there = wood_room(half, place)
    if room_there.short:
        return room_there.spare_mm
    wood = shapely.Polygon(half.to_body(half.side.wood_mm, place))
    strips = np.arange(len(half.body.strip_mm)) * STRIP_MM
    boxes = shapely.box(0.0, strips + TOUCH_MM, 1e4, strips + STRIP_MM - TOUCH_MM)
    room = np.inf
    for edge in [wood.exterior, *(shapely.Polygon(half.to_body(h, place)) for h in half.side.holes_mm)]:
        beyond = boxes
        if edge.geom_type == "Polygon":
            beyond = shapely.box(
                half.body.strip_mm + TOUCH_MM, strips + TOUCH_MM, 1e4, strips + STRIP_MM - TOUCH_MM
            )
        cut = shapely.intersection(edge, beyond)
        cut = np.where(shapely.is_empty(cut), None, cut)
        near = shapely.bounds(cut)[:, 0]
        if edge.geom_type == "Polygon":  # a hole's own nearest place in the strip, under the outline or not
            whole = shapely.bounds(shapely.intersection(edge, boxes))[:, 0]
            near = np.where(np.isfinite(near), whole, np.nan)
        room = min(room, float(np.nanmin(near - half.body.strip_mm - half.body.trim_mm, initial=np.inf)))
    return room


def _fits(
    wood: shapely.Polygon, holes: list[shapely.Polygon], shapes: _Shapes, offset: float, shifts: Array
) -> NDArray[np.bool_]:
    """Which shifts leave the half outline with its trims, and the seam, on sound wood."""
    rough = np.ones(len(shifts), dtype=np.bool_)
    for corner in shapes.corners:  # a few points first: most places that do not fit show it there
        rough &= shapely.contains_xy(wood, corner[0] + offset, corner[1] + shifts)
    fits = np.zeros(len(shifts), dtype=np.bool_)
    fits[rough] = shapely.covers(wood, [_moved(shapes.wanted, offset, s) for s in shifts[rough]])
    for j in np.flatnonzero(fits) if holes else ():
        parts = [_moved(s, offset, shifts[j]) for s in (shapes.seam, shapes.edge)]
        fits[j] = not any(h.intersects(p) for h in holes for p in parts)
    return fits


def _worst_zone(flaws: list[FlawPoints], shapes: _Shapes, offset: float, shift: float) -> int:
    worst = 0
    for flaw in flaws:
        points = flaw.points_mm - (offset, shift)
        clear = np.zeros(len(points), dtype=np.int64)
        inside = shapely.contains_xy(shapes.inside, points)
        for hidden in shapes.zones:
            clear += inside & ~shapely.contains_xy(hidden, points)
        worst = max(worst, int(clear.max(initial=0)))
    return worst


def _grain(
    half: Half,
    raster: Raster,
    silhouette: shapely.Polygon,
    shapes: _Shapes,
    offset: float,
    shift: float,
) -> tuple[int, int]:
    u, v = raster.u_mm - offset, raster.v_mm - shift
    local = replace(raster, u_mm=u, v_mm=v)
    grid_shape = raster.angle_deg.shape
    band = shapely.box(0.0, 0.0, SEAM_BAND_MM, half.body.length_mm)
    points = points_of(local)
    seam = shapely.contains_xy(band, points).reshape(grid_shape)
    inside = shapely.contains_xy(shapes.inside, points).reshape(grid_shape)
    width = np.maximum(half.body.half_at(v), 0.0)[:, None]
    third = np.where(u[None] <= width / 3, 0, np.where(u[None] <= 2 * width / 3, 1, 2))
    parts = leaf_parts(
        sums_over(raster, inside, third),
        np.asarray(mean_over(raster.ring_deg, seam)) if raster.ring_read else None,
        np.asarray(_planed(silhouette, half.body, offset, shift)),
        angle_read=raster.angle_read,
        spacing_read=raster.spacing_read,
    )
    return int(rounded(np.array(abs(mean_over(raster.angle_deg, seam))), 10.0)), int(parts.tenths())


def _planed(silhouette: shapely.Polygon, body: HalfBody, offset: float, shift: float) -> float:
    first, last = body.seam_strips
    reach = shapely.box(-1e4, first * STRIP_MM + shift + TOUCH_MM, offset, last * STRIP_MM + shift - TOUCH_MM)
    off = silhouette.intersection(reach)
    return 0.0 if off.is_empty else max(0.0, offset - float(off.bounds[0]))


def _moved(shape: shapely.Geometry, offset: float, shift: float) -> shapely.Geometry:
    return shapely.transform(shape, lambda xy: xy + np.array([offset, shift]))


def _shapes(body: HalfBody) -> _Shapes:
    first, last = body.seam_strips
    n = len(body.strip_mm)
    low, high = first * STRIP_MM, last * STRIP_MM
    trims = [
        shapely.box(0.0, -body.end_trim_mm + TOUCH_MM, body.neck_width_mm - TOUCH_MM, 0.0),
        shapely.box(
            0.0, n * STRIP_MM, body.tail_width_mm - TOUCH_MM, body.length_mm + body.end_trim_mm - TOUCH_MM
        ),
    ]
    joint = shapely.box(-body.joint_mm + TOUCH_MM, low + TOUCH_MM, 0.0, high - TOUCH_MM)
    strips = _stairs(np.zeros(n), body.strip_mm + body.trim_mm - TOUCH_MM)
    inside = shapely.Polygon(
        np.vstack([[0.0, 0.0], np.column_stack([body.table_half_mm, body.table_v_mm]), [0.0, body.length_mm]])
    )
    wanted = shapely.union_all([joint, strips, *trims])
    ring = shapely.get_coordinates(wanted.buffer(-1e-3).simplify(2e-4))
    return _Shapes(
        wanted=wanted,
        corners=ring[:: max(1, len(ring) // 24)],
        seam=shapely.LineString([(0.0, low + TOUCH_MM), (0.0, high - TOUCH_MM)]),
        edge=_stairs(body.strip_mm + TOUCH_MM, body.strip_mm + body.trim_mm - TOUCH_MM),
        inside=inside.buffer(_HAIR_MM, join_style="mitre"),
        zones=_hidden(body),
    )


def _stairs(near_mm: Array, far_mm: Array) -> shapely.Polygon:
    v = np.repeat(np.arange(len(near_mm) + 1) * STRIP_MM, 2)[1:-1]
    v[0] += TOUCH_MM
    v[-1] -= TOUCH_MM
    out = np.column_stack([np.repeat(far_mm, 2), v])
    back = np.column_stack([np.repeat(near_mm, 2), v])[::-1]
    return shapely.make_valid(shapely.Polygon(np.vstack([out, back])))


def _hidden(body: HalfBody) -> tuple[shapely.Geometry, ...]:
    """For each rank but the worst: what of the body counts as that or better."""
    z = body.zones
    shapes: list[shapely.Geometry] = []
    if body.use == "top":
        hole = shapely.Point(0.0, z.soundhole_y_mm).buffer(z.soundhole_mm / 2, quad_segs=720)
        across, along = z.bridge_width_mm / 2, z.bridge_length_mm / 2
        bridge = shapely.box(-across, z.bridge_y_mm - along, across, z.bridge_y_mm + along)
        board = shapely.box(
            -z.fingerboard_half_width_mm, -1.0, z.fingerboard_half_width_mm, z.fingerboard_end_mm
        )
        shapes = [
            hole,
            bridge if along > 0 else shapely.Polygon(),
            board if z.fingerboard_end_mm > 0 else shapely.Polygon(),
        ]
    else:
        shapes = [shapely.Polygon()] * 3
    inner = shapely.Polygon(_inner_ring(body))
    body_box = shapely.box(-1e4, -1e4, 1e4, 1e4)
    hidden: list[shapely.Geometry] = [shapely.Polygon()]
    for shape in shapes:
        hidden.append(shapely.union(hidden[-1], shape.buffer(_HAIR_MM, join_style="mitre")))
    hidden.append(shapely.union(hidden[-1], body_box.difference(inner)))
    return tuple(hidden[: len(ZONES) - 1])


def _inner_ring(body: HalfBody) -> Points:
    """Within the edge band's inner border, and well beyond the joint."""
    right = np.column_stack([body.table_inner_mm, body.table_v_mm])
    return np.vstack([[-2.0, 0.0], right, [-2.0, body.length_mm]])
