"""An outline at full size for cutting: DXF and SVG, both in millimetres."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new

from seamlight.photo.flat import Points
from seamlight.sheets.ink import INK, QUIET, RULE, Colour
from seamlight.sheets.outline_drawing import FullSize, Role
from seamlight.sheets.page import BAR_MM
from seamlight.whole_file import whole_file

_DXF_COLOURS: dict[Role, int] = {"outline": 7, "centre line": 8, "zones": 9, "measures": 9, "corners": 8}
_INKS: dict[Role, Colour] = {
    "outline": INK,
    "centre line": QUIET,
    "zones": QUIET,
    "measures": RULE,
    "corners": QUIET,
}
_ALIGN = {
    "left": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "right": TextEntityAlignment.RIGHT,
}
_ANCHOR = {"left": "start", "middle": "middle", "right": "end"}
_CAPITALS = 0.72  # DXF text height is that of capitals
_CHECK = "check bars"
_LETTERS = "Bitstream Vera Sans, DejaVu Sans, sans-serif"


def _bars(drawing: FullSize) -> tuple[Points, Points]:
    """Two lines of 150 mm, across and along, beside the drawing; mm in the body frame."""
    _, top, right, _ = drawing.box_mm
    corner = (right + 10.0, top)
    return np.array([corner, (corner[0] + BAR_MM, top)]), np.array([corner, (corner[0], top + BAR_MM)])


def write_dxf(drawing: FullSize, path: Path | str) -> None:
    """Writes the drawing as DXF: units mm, the neck end up, a layer for each kind of line."""
    document = new("R2010", setup=["linetypes"], units=4)  # $INSUNITS 4: mm
    document.header["$MEASUREMENT"] = 1
    space = document.modelspace()
    for role, colour in _DXF_COLOURS.items():
        document.layers.add(role, color=colour)
    document.layers.add(_CHECK, color=7)
    for line in drawing.lines:
        # DXF counts y up, the body frame down
        points = [(float(x), -float(y)) for x, y in line.points]
        space.add_lwpolyline(points, close=line.closed, dxfattribs={"layer": line.role})
    for word in drawing.words:
        text = space.add_text(word.text, height=word.size_mm * _CAPITALS, dxfattribs={"layer": word.role})
        text.set_placement((word.x_mm, -word.y_mm), align=_ALIGN[word.align])
    for bar in _bars(drawing):
        start, end = ((float(x), -float(y)) for x, y in bar)
        space.add_line(start, end, dxfattribs={"layer": _CHECK})
    x, y = _bars(drawing)[0][0]
    space.add_text("150 mm both ways", height=2.2, dxfattribs={"layer": _CHECK}).set_placement(
        (x + 4, -y - 6)
    )
    with whole_file(path) as part:
        document.saveas(part)


def write_svg(drawing: FullSize, path: Path | str) -> None:
    """Writes the drawing as SVG: one unit is one mm, the outline is the path with the id `outline`."""
    left, top, _, bottom = drawing.box_mm
    bars = _bars(drawing)
    x0, y0 = left - 10.0, top - 10.0
    width, height = float(bars[0][1, 0]) + 10.0 - x0, max(bottom, float(bars[1][1, 1])) + 10.0 - y0
    svg = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{width:.4f}mm",
            "height": f"{height:.4f}mm",
            "viewBox": f"{x0:.4f} {y0:.4f} {width:.4f} {height:.4f}",
        },
    )
    ET.SubElement(svg, "title").text = f"{drawing.name}, outline at full size"
    for line in drawing.lines:
        drawn = _svg_path(
            svg, line.points, line.closed, _INKS[line.role], 0.3 if line.role == "outline" else 0.15
        )
        drawn.set("id" if line.role == "outline" else "class", line.role)
    for bar in bars:
        _svg_path(svg, bar, False, INK, 0.3).set("class", _CHECK)
    for word in drawing.words:
        _svg_text(svg, word.text, word.x_mm, word.y_mm, word.size_mm, _ANCHOR[word.align])
    _svg_text(svg, "150 mm both ways", float(bars[0][0, 0]) + 4.0, float(bars[0][0, 1]) + 6.0, 3.0, "start")
    with whole_file(path) as part:
        ET.ElementTree(svg).write(part, encoding="utf-8", xml_declaration=True)


def _svg_path(parent: ET.Element, points: Points, closed: bool, ink: Colour, thick_mm: float) -> ET.Element:
    places = " L".join(f"{x:.4f},{y:.4f}" for x, y in points)
    looks = {"fill": "none", "stroke": "#{:02x}{:02x}{:02x}".format(*ink), "stroke-width": f"{thick_mm}"}
    return ET.SubElement(parent, "path", {"d": f"M{places}{' Z' if closed else ''}", **looks})


def _svg_text(parent: ET.Element, text: str, x: float, y: float, size_mm: float, anchor: str) -> None:
    place = {"x": f"{x:.3f}", "y": f"{y:.3f}", "font-size": f"{size_mm}", "text-anchor": anchor}
    ET.SubElement(parent, "text", {**place, "font-family": _LETTERS}).text = text
