"""A kept flat picture as the sheets take it, and an opening as SVG in millimetres."""

from __future__ import annotations

import re
import sys
from base64 import b64decode
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image
from shapely.geometry import Polygon

from seamlight.sheets.kept_flat import kept_flat
from seamlight.sheets.opened import Pictures
from seamlight.sheets.opened_svg import opened_svg

sys.path.insert(0, str(Path(__file__).parent))
from painted import PX_PER_MM, painted_flats, painted_layout

SVG = "{http://www.w3.org/2000/svg}"


def test_the_wood_of_a_kept_picture_is_the_silhouettes() -> None:
    layout, (flat, _) = painted_layout(), painted_flats()
    held = BytesIO()
    Image.fromarray(flat.rgb).save(held, "PNG")
    kept = kept_flat(held.getvalue(), PX_PER_MM, layout.a)
    assert np.array_equal(kept.rgb, flat.rgb)
    area = Polygon(layout.a.outline_mm).area
    assert kept.wood.sum() / PX_PER_MM**2 == pytest.approx(area, rel=0.01)
    assert kept.length_mm == pytest.approx(flat.length_mm)
    assert (kept.wood == flat.wood).mean() > 0.99


def test_the_svg_is_at_full_size_and_holds_its_lines() -> None:
    layout = painted_layout()
    tree = ElementTree.fromstring(opened_svg(layout, 0, Pictures(*painted_flats()), "mm"))
    left, _, wide, high = (float(n) for n in tree.attrib["viewBox"].split())
    assert tree.attrib["width"] == f"{wide:.1f}mm"
    assert tree.attrib["height"] == f"{high:.1f}mm"
    names = [group.attrib["class"] for group in tree.iter(f"{SVG}g")]
    assert {"outline", "joint", "trim", "zone", "flaw"} <= set(names)
    outlines = [g for g in tree.iter(f"{SVG}g") if g.attrib["class"] == "outline"]
    xs = [
        float(x)
        for g in outlines
        for x, _ in re.findall(r"(-?[\d.]+) (-?[\d.]+)", g[0].attrib["d"].lstrip("M"))
    ]
    assert max(xs) - min(xs) == pytest.approx(2 * layout.outline.half_mm[:, 0].max(), abs=0.05)
    assert left <= min(xs) <= max(xs) <= left + wide
    (image,) = tree.iter(f"{SVG}image")
    picture = Image.open(BytesIO(b64decode(image.attrib["href"].partition(",")[2])))
    assert picture.width / wide == pytest.approx(picture.height / high, rel=0.01)
    assert "dreadnought top" in tree.find(f"{SVG}title").text  # type: ignore[union-attr, operator]


def test_a_short_opening_shows_where(tmp_path: Path) -> None:
    layout = painted_layout(lower=230.0)
    index = next(i for i, one in enumerate(layout.openings) if one.short)
    text = opened_svg(layout, index, Pictures(*painted_flats()), "inch")
    assert 'class="short"' in text
    assert "short by" in text
