"""One opening drawn: the book-matched leaves with outline, trim, joint, flaws and room on them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image
from shapely.geometry import MultiPolygon, Polygon

from seamlight.layout.opening import Layout, Opening, Short
from seamlight.outline import zone_polygons
from seamlight.photo.flat import FlatLeaf, Points
from seamlight.sheets.book import View, body_view, book_matched
from seamlight.sheets.halves import Half, halves, least_room
from seamlight.sheets.ink import INK, PAPER, WARN, Colour
from seamlight.sheets.lines import Layer, Stroke, tag, words_on_wood
from seamlight.sheets.words import bare
from seamlight.units import Unit


@dataclass(frozen=True, eq=False)
class Pictures:
    """The flat pictures of a pair; the other faces already carried into their leaf's frame."""

    a: FlatLeaf
    b: FlatLeaf | None
    other_a: FlatLeaf | None = None
    other_b: FlatLeaf | None = None

    def shows_other(self, half: Half) -> bool:
        """Whether a half is drawn from its leaf's other face; where B is A's mirror, from A's."""
        other = self.other_a if half.leaf == "a" or self.b is None else self.other_b
        return half.pose.mirrored and other is not None


@dataclass(frozen=True)
class Look:
    """How heavy the lines are and how large the letters, in px."""

    line: float = 1.6
    letters: float = 20.0
    paper: Colour = PAPER

    @property
    def outline(self) -> Stroke:
        return Stroke(self.line * 1.8, 1.3)

    @property
    def joint(self) -> Stroke:
        return Stroke(self.line * 1.1, 1.0)

    @property
    def trim(self) -> Stroke:
        return Stroke(self.line * 0.9, 0.8, (self.line * 6, self.line * 5))

    @property
    def zone(self) -> Stroke:
        return Stroke(self.line * 0.6, 0.6)

    @property
    def flaw(self) -> Stroke:
        return Stroke(self.line * 0.8, 0.7)

    @property
    def hidden_flaw(self) -> Stroke:
        return Stroke(self.line * 0.8, 0.7, (self.line * 3, self.line * 2.5))

    @property
    def short(self) -> Stroke:
        return Stroke(self.line * 2.6, 1.6, None, WARN)

    @property
    def hatch_px(self) -> float:
        return self.line * 4.5


def draw_opening(
    layout: Layout, opening: Opening, pictures: Pictures, view: View, look: Look, units: Unit
) -> Image.Image:
    """The opened pair with everything drawn on it, the size of the view."""
    rgb = book_matched(
        layout,
        opening,
        pictures.a,
        pictures.b,
        view.px_per_mm,
        view=view,
        paper=look.paper,
        other_a=pictures.other_a,
        other_b=pictures.other_b,
    )
    picture = Image.fromarray(rgb)
    layer = Layer(view.width, view.height)
    pair = halves(layout, opening)
    _zones(layer, layout, view, look)
    for half in pair:
        _flaws(layer, half, pictures.shows_other(half), view, look)
    _lines(layer, layout, pair, view, look)
    _shortage(layer, opening, pair, view, look)
    layer.over(picture)
    _names(picture, pair, view, look)
    _room(picture, layout, opening, pair, view, look, units)
    return picture


def fitted_opening(
    layout: Layout,
    opening: int,
    pictures: Pictures,
    most_px: tuple[float, float],
    look: Look,
    units: Unit,
) -> Image.Image:
    """One opening drawn as large as fits into a width and height in px, with a little paper beside it."""
    shown = layout.openings[opening]
    loose = body_view(layout, (shown,), 1.0)
    wide_mm, high_mm = -2 * loose.left_mm + 70, loose.height + 4.0
    px_per_mm = min(most_px[0] / wide_mm, most_px[1] / high_mm)
    size = int(wide_mm * px_per_mm), int(high_mm * px_per_mm)
    view = View(px_per_mm, -wide_mm / 2, loose.top_mm - 2, *size)
    return draw_opening(layout, shown, pictures, view, look, units)


def in_body(half: Half, points: Points) -> Points:
    """Points of a half in the body frame."""
    return np.asarray(points, dtype=float) * (1.0 if half.pose.half == "right" else -1.0, 1.0)


def _zones(layer: Layer, layout: Layout, view: View, look: Look) -> None:
    for name, ring in zone_polygons(layout.outline).items():
        if name != "edge":
            layer.ring(view.to_px(ring), look.zone)


def _flaws(layer: Layer, half: Half, other_shows: bool, view: View, look: Look) -> None:
    """The part of each flaw that is not planed away, at least a few px across, to be seen.

    Hatched on the face that shows, dashed on the one that does not.
    """
    keep = Polygon([(0, -1e4), (1e4, -1e4), (1e4, 1e4), (0, 1e4)])
    for index, (_, area) in enumerate(half.flaws):
        seen = area.buffer(2.0 / view.px_per_mm).intersection(keep)
        for piece in getattr(seen, "geoms", [seen]):
            if not isinstance(piece, Polygon) or piece.is_empty:
                continue
            ring = view.to_px(in_body(half, np.asarray(piece.exterior.coords)[:-1]))
            if (index >= half.photographed) == other_shows:
                layer.hatch(ring, look.hatch_px, look.flaw)
            else:
                layer.ring(ring, look.hidden_flaw)


def _lines(layer: Layer, layout: Layout, pair: tuple[Half, Half], view: View, look: Look) -> None:
    trim, end_trim = layout.settings.trim_mm, layout.settings.end_trim_mm
    for half in pair:
        for ring in trim_lines(half, trim, end_trim):
            layer.line(view.to_px(in_body(half, ring)), look.trim)
    length = layout.outline.length_mm
    top = min(float(half.wood.bounds[1]) for half in pair)
    bottom = max(float(half.wood.bounds[3]) for half in pair)
    layer.line(view.to_px(np.array([[0, max(top, -40)], [0, min(bottom, length + 40)]])), look.joint)
    for half in pair:
        layer.line(view.to_px(in_body(half, half.edge_mm)), look.outline)


def trim_lines(half: Half, trim_mm: float, end_trim_mm: float) -> list[Points]:
    """The outline with its trim, open along the joint: where the wood should reach, (n, 2) mm each."""
    grown = grown_outline(half, trim_mm, end_trim_mm)
    beside = grown.exterior.difference(Polygon([(-1, -1e4), (1e-6, -1e4), (1e-6, 1e4), (-1, 1e4)]))
    return [np.asarray(piece.coords) for piece in getattr(beside, "geoms", [beside]) if piece.length > 1]


def grown_outline(half: Half, trim_mm: float, end_trim_mm: float) -> Polygon:
    """The outline moved outward by the trim across the grain and by the end trim along it."""
    _, y0, _, y1 = half.outline.bounds
    x, y = half.edge_mm.T
    # the end trim counts in full at the ends and no more a tenth of the length away
    endness = np.clip(1 - np.minimum(y - y0, y1 - y) / (0.1 * (y1 - y0)), 0, 1)
    along = y + np.where(y > (y0 + y1) / 2, end_trim_mm, -end_trim_mm) * endness
    points = np.column_stack([x + trim_mm, along])
    area = Polygon([(0, y0 - end_trim_mm), *points, (0, y1 + end_trim_mm)]).buffer(0)
    merged = area.union(half.outline)
    return max(merged.geoms, key=lambda p: float(p.area)) if isinstance(merged, MultiPolygon) else merged


def _shortage(layer: Layer, opening: Opening, pair: tuple[Half, Half], view: View, look: Look) -> None:
    for short in opening.short:
        half = next(h for h in pair if h.leaf == short.leaf)
        layer.line(view.to_px(in_body(half, _stretch(half, short))), look.short)


def _stretch(half: Half, short: Short) -> Points:
    """The part of the outline beside which wood is missing; across its end where it is missing there."""
    length = float(half.edge_mm[-1, 1])
    if short.to_mm <= 0 or short.from_mm >= length:
        end, inner = (0.0, 2.0) if short.to_mm <= 0 else (length, length - 2.0)
        return np.array([[0.0, end], [max(float(half.width_at(np.array([inner]))[0]), 20.0), end]])
    y = np.linspace(max(short.from_mm, 0.0), min(max(short.to_mm, short.from_mm + 1), length), 40)
    return np.column_stack([half.width_at(y), y])


def _names(picture: Image.Image, pair: tuple[Half, Half], view: View, look: Look) -> None:
    """Which leaf is which, and which of its ends lies where."""
    for half in pair:
        x0, y0, x1, y1 = half.wood.bounds
        for y, end in ((y0, half.pose.neck_end), (y1, 3 - half.pose.neck_end)):
            at = view.to_px(in_body(half, np.array([[max(x1, 0) * 0.72 + max(x0, 0) * 0.28, y]])))[0]
            down = look.letters * (0.95 if y == y0 else -0.95)
            words_on_wood(picture, f"{half.leaf.upper()}, end {end}", (at[0], at[1] + down), look.letters)


def _tighter_end(pair: tuple[Half, Half]) -> tuple[Half, float]:
    """Where the wood ends nearest beyond the body along its middle: the half, and y of the wood's end."""
    ends = []
    for half in pair:
        _, y0, _, y1 = half.wood.bounds
        ends += [(-y0, half, y0), (y1 - float(half.edge_mm[-1, 1]), half, y1)]
    _, half, y = min(ends, key=lambda end: end[0])
    return half, float(y)


def _room(
    picture: Image.Image,
    layout: Layout,
    opening: Opening,
    pair: tuple[Half, Half],
    view: View,
    look: Look,
    units: Unit,
) -> None:
    """The room to spare, or what is short, written beside the place where it is least."""
    worst = max(opening.short, key=lambda s: s.by_mm, default=None)
    if worst is None and opening.end_spare_mm < opening.spare_mm:
        half, y = _tighter_end(pair)
        at = view.to_px(in_body(half, np.array([[0.35 * float(half.wood.bounds[2]), y]])))[0]
        down = look.letters * (0.95 if y <= 0 else -0.95)
        colour = WARN if opening.end_spare_mm < 0 else INK
        tag(picture, bare(opening.end_spare_mm, units), (at[0], at[1] + down), look.letters, colour)
        return
    if worst is None:
        half, y, _ = least_room(pair, layout.settings.trim_mm)
        room = opening.spare_mm
    else:
        half, room = next(h for h in pair if h.leaf == worst.leaf), -worst.by_mm
        places = _stretch(half, worst)
        y = float(places[:, 1].mean())
        if np.ptp(places[:, 1]) == 0:
            at = view.to_px(in_body(half, places.mean(axis=0)[None]))[0]
            tag(picture, bare(room, units), (at[0], at[1]), look.letters, WARN)
            return
    reach = max(float(half.wood.bounds[2]), float(half.width_at(np.array([y]))[0]))
    at = view.to_px(in_body(half, np.array([[reach, y]])))[0]
    outward = 1 if half.pose.half == "right" else -1
    middle = (at[0] + outward * look.letters * 2.4, at[1])
    tag(picture, bare(room, units), middle, look.letters, WARN if room < 0 else INK)
