"""A read and laid-out pair put into a shop without photographs: plain leaves with one knot, painted flat."""

from __future__ import annotations

from functools import cache

import numpy as np
from PIL import Image

from seamlight.document import Document
from seamlight.grain.document import ReadDocument
from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.grain.reading import Reading, Thirds
from seamlight.layout.document import LayoutDocument
from seamlight.layout.leaf_file import leaf_bytes
from seamlight.layout.opening import Layout, LayoutSettings
from seamlight.layout.openings import lay_out, mirrored
from seamlight.layout.pair import Leaf, Registration
from seamlight.outline import named
from seamlight.sheets.kept_flat import kept_flat
from seamlight.shop.file_rows import add_row
from seamlight.shop.look import jpeg
from seamlight.shop.pair_reading import LeafKept, PairKept
from seamlight.shop.photos import add_photo
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import keep_pair_reading
from seamlight.shop.wood import new_pair

WIDE, LONG, PX_PER_MM = 190.0, 500.0, 1.5
REGISTRATION = Registration(0.9, slide_mm=1.0, across_mm=0.2, rotate_deg=0.0)
SAID = {
    "match": 0.9,
    "b_shows": "sawn",
    "b_turned": False,
    "slide_mm": 1.0,
    "across_mm": 0.2,
    "rotate_deg": 0.0,
    "warnings": [],
}


def ring(x: float, y: float, r: float) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, 20, endpoint=False)
    return np.round(np.column_stack([x + r * np.cos(turn), y + r * np.sin(turn)]), 3)


@cache
def leaf_a() -> Leaf:
    """Finer lines at its right edge, and a knot that an outline may hide in the soundhole."""
    x, y = np.arange(2.5, WIDE, 5.0), np.arange(2.5, LONG, 5.0)
    spacing = np.tile(25.4 / np.interp(x, [0, WIDE], [14, 20]), (len(y), 1))
    field = GrainField(x, y, np.zeros_like(spacing), spacing, np.ones_like(spacing))
    corners = np.array([[0.0, 0.0], [WIDE, 0.0], [WIDE, LONG], [0.0, LONG]])
    knot = Flaw("knot", ring(WIDE - 40.0, 178.0, 4.0), 0.97)
    return Leaf(corners, (knot,), field=field, scale_error_mm=0.1, width_mm=WIDE, length_mm=LONG)


@cache
def painted(name: str) -> bytes:
    """The leaf's flat picture."""
    high, wide = round(LONG * PX_PER_MM), round(WIDE * PX_PER_MM)
    shade = 1 - 0.2 * (np.arange(wide) % 5 == 0)
    rgb = np.tile((np.array([200, 160, 110]) * shade[:, None])[None], (high, 1, 1)).astype(np.uint8)
    x = WIDE - 40.0 if name == "a" else 40.0
    rows, columns = np.ogrid[:high, :wide]
    rgb[(columns - x * PX_PER_MM) ** 2 + (rows - 178 * PX_PER_MM) ** 2 < (4 * PX_PER_MM) ** 2] = 60
    return jpeg(rgb)


@cache
def laid(outline: str, use: str, lone: bool) -> Layout:
    a = leaf_a()
    b, registration = (None, None) if lone else (mirrored(a), REGISTRATION)
    return lay_out(a, b, registration, named(outline), LayoutSettings(use=use), smaller=())  # type: ignore[arg-type]


def reading_of(leaf: Leaf, name: str) -> Reading:
    assert leaf.field is not None
    flat = kept_flat(painted(name), PX_PER_MM, leaf)
    spacing = Thirds(1.8, 1.5, 1.3)
    return Reading(flat, leaf.field, 0.0, 0.1, spacing, None, leaf.flaws)


def file_pair(
    shop: Shop, *, outline: str = "parlour", kind: str = "top", lone: bool = False, label: str | None = None
) -> Pair:
    """A pair that was photographed, read and laid out for one outline."""
    layout = laid(outline, kind, lone)
    b = None if lone else layout.b
    read_a, read_b = reading_of(layout.a, "a"), reading_of(layout.b, "b") if b is not None else None
    kept = PairKept(
        a=_kept(layout.a, "a", ReadDocument.of(read_a)),
        b=_kept(b, "b", ReadDocument.of(read_b)) if b is not None and read_b is not None else None,
        registration=None if lone else SAID,
        layouts=((outline, LayoutDocument.of(layout, read_a, read_b).model_dump(by_alias=True)),),
    )
    with shop.change("owner") as change:
        row = new_pair(change, kind=kind, label=label, species_common="western redcedar", thickness_mm=4.5)
        shas = []
        for name in "a" if lone else "ab":
            data = painted(name)
            sha = shop.files.keep(data, "image/jpeg")
            size = Image.open(__import__("io").BytesIO(data)).size
            add_row(change, sha, "image/jpeg", len(data), width_px=size[0], height_px=size[1])
            add_photo(change, row.id, sha, name, arrival=True)
            shas.append(sha)
        keep_pair_reading(change, shop, row.id, kept, use=kind, files=shas)
    return row


def _kept(leaf: Leaf, name: str, document: Document) -> LeafKept:
    return LeafKept(document.model_dump(by_alias=True), leaf_bytes(leaf), painted(name), PX_PER_MM)
