"""One opening as SVG: the wood as a picture, the lines as lines, in mm; to be drawn on or handed out."""

from __future__ import annotations

from base64 import b64encode
from io import BytesIO

import numpy as np
from PIL import Image
from shapely.geometry import Polygon

from seamlight.layout.opening import Layout
from seamlight.outline import zone_polygons
from seamlight.photo.flat import Points
from seamlight.sheets.book import body_view, book_matched
from seamlight.sheets.halves import halves
from seamlight.sheets.ink import DARK, LIGHT, PAPER, WARN, Colour
from seamlight.sheets.opened import Pictures, in_body, trim_lines
from seamlight.sheets.words import heading, purpose, verdict_sentence
from seamlight.units import Unit

PX_PER_MM = 3.0
MARGIN_MM = 6.0
# what a line is called, its width in mm and its dashes
LINES: tuple[tuple[str, float, str], ...] = (
    ("zone", 0.3, ""),
    ("flaw", 0.4, ""),
    ("hidden-flaw", 0.4, "1.5 1.5"),
    ("trim", 0.4, "4 3"),
    ("joint", 0.6, ""),
    ("outline", 1.0, ""),
)


def opened_svg(layout: Layout, index: int, pictures: Pictures, units: Unit) -> str:
    """The opened pair, neck up, at full size: one SVG unit is one mm."""
    opening = layout.openings[index]
    view = body_view(layout, (opening,), PX_PER_MM, margin_mm=MARGIN_MM)
    rgb = book_matched(
        layout,
        opening,
        pictures.a,
        pictures.b,
        PX_PER_MM,
        view=view,
        other_a=pictures.other_a,
        other_b=pictures.other_b,
    )
    wide, high = view.width / PX_PER_MM, view.height / PX_PER_MM
    left, top = view.left_mm, view.top_mm
    named = heading(opening, index + 1, layout.settings.match)
    said = f"{purpose(layout)}; {named}: {verdict_sentence(opening, units)}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.1f}mm" height="{high:.1f}mm" '
        f'viewBox="{left:.2f} {top:.2f} {wide:.2f} {high:.2f}">',
        f"<title>{_text(said)}</title>",
        f'<rect x="{left:.2f}" y="{top:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="{_hex(PAPER)}"/>',
        f'<image x="{left:.2f}" y="{top:.2f}" width="{wide:.2f}" height="{high:.2f}" '
        f'href="data:image/jpeg;base64,{_jpeg(rgb)}"/>',
    ]
    drawn = _lines(layout, index, pictures)
    for name, width, dash in LINES:
        parts += [_path(points, name, width, dash) for points in drawn[name]]
    for short in opening.short:
        half = next(one for one in halves(layout, opening) if one.leaf == short.leaf)
        y = np.linspace(max(short.from_mm, 0.0), min(short.to_mm, layout.outline.length_mm), 40)
        points = in_body(half, np.column_stack([half.width_at(y), y]))
        parts.append(_path(points, "short", 1.6, "", WARN))
    return "\n".join([*parts, "</svg>\n"])


def _lines(layout: Layout, index: int, pictures: Pictures) -> dict[str, list[Points]]:
    opening, found = layout.openings[index], {name: list[Points]() for name, _, _ in LINES}
    for name, ring in zone_polygons(layout.outline).items():
        if name != "edge":
            found["zone"].append(_closed(ring))
    pair = halves(layout, opening)
    for half in pair:
        found["outline"].append(in_body(half, half.edge_mm))
        found["trim"] += [
            in_body(half, line)
            for line in trim_lines(half, layout.settings.trim_mm, layout.settings.end_trim_mm)
        ]
        other_shows = pictures.shows_other(half)
        for number, (_, area) in enumerate(half.flaws):
            if isinstance(area, Polygon) and not area.is_empty:
                shows = (number >= half.photographed) == other_shows
                ring = in_body(half, np.asarray(area.exterior.coords))
                found["flaw" if shows else "hidden-flaw"].append(ring)
    ends = [float(v) for half in pair for v in (half.wood.bounds[1], half.wood.bounds[3])]
    found["joint"].append(np.array([[0.0, min(ends)], [0.0, max(ends)]]))
    return found


def _closed(ring: Points) -> Points:
    return np.vstack([ring, ring[:1]])


def _path(points: Points, name: str, width: float, dash: str, colour: Colour = LIGHT) -> str:
    """A light line over a wider dark one."""
    d = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    same = f'fill="none" stroke-linejoin="round"{dashes} d="{d}"'
    return (
        f'<g class="{name}"><path stroke="{_hex(DARK)}" stroke-width="{width + 0.8:.2f}" {same}/>'
        f'<path stroke="{_hex(colour)}" stroke-width="{width:.2f}" {same}/></g>'
    )


def _jpeg(rgb: np.ndarray) -> str:
    held = BytesIO()
    Image.fromarray(rgb).save(held, "JPEG", quality=88)
    return b64encode(held.getvalue()).decode()


def _hex(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _text(said: str) -> str:
    return said.replace("&", "&amp;").replace("<", "&lt;")
