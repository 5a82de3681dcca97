"""A read and laid-out pair put into a shop without photographs: plain leaves with one knot, painted flat."""

from __future__ import annotations

from dataclasses import replace
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
from seamlight.shop.laying_out import keep_settings_for
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


OTHER_KNOT = (60.0, 330.0)  # in leaf A's frame: seen through the leaf


@cache
def leaf_a_with_other_face() -> Leaf:
    """The same, its other face photographed too: a knot there that does not come through."""
    return replace(leaf_a(), other_flaws=(Flaw("knot", ring(*OTHER_KNOT, 5.0), 0.95),))


@cache
def painted(name: str) -> bytes:
    """The leaf's flat picture; of other faces, which are darker and redder, as seen through the leaf."""
    high, wide = round(LONG * PX_PER_MM), round(WIDE * PX_PER_MM)
    shade = 1 - 0.2 * (np.arange(wide) % 5 == 0)
    other, leaf = name.startswith("other_"), name[-1]
    colour = np.array([190, 110, 70] if other else [200, 160, 110])
    rgb = np.tile((colour * shade[:, None])[None], (high, 1, 1)).astype(np.uint8)
    x, y = OTHER_KNOT if other else (WIDE - 40.0, 178.0)
    x = x if leaf == "a" else WIDE - x
    rows, columns = np.ogrid[:high, :wide]
    rgb[(columns - x * PX_PER_MM) ** 2 + (rows - y * PX_PER_MM) ** 2 < (4 * PX_PER_MM) ** 2] = 60
    return jpeg(rgb)


@cache
def laid(outline: str, use: str, lone: bool, others: bool = False, match: str = "book") -> Layout:
    a = leaf_a_with_other_face() if others else leaf_a()
    b, registration = (None, None) if lone else (mirrored(a), REGISTRATION)
    settings = LayoutSettings(use=use, match=match)  # type: ignore[arg-type]
    return lay_out(a, b, registration, named(outline), settings, other_faces=others, smaller=())


def reading_of(leaf: Leaf, name: str) -> Reading:
    assert leaf.field is not None
    flat = kept_flat(painted(name), PX_PER_MM, leaf)
    spacing = Thirds(1.8, 1.5, 1.3)
    return Reading(flat, leaf.field, 0.0, 0.1, spacing, None, leaf.flaws)


def file_pair(
    shop: Shop,
    *,
    outline: str = "parlour",
    kind: str = "top",
    lone: bool = False,
    label: str | None = None,
    others: bool = False,
    match: str = "book",
) -> Pair:
    """A pair that was photographed, read and laid out for one outline; `others`: its other faces too."""
    layout = laid(outline, kind, lone, others, match)
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
        faces = ("a",) if lone else ("a", "b")
        for name in (*faces, *(f"other_{leaf}" for leaf in faces if others)):
            data = painted(name)
            sha = shop.files.keep(data, "image/jpeg")
            size = Image.open(__import__("io").BytesIO(data)).size
            add_row(change, sha, "image/jpeg", len(data), width_px=size[0], height_px=size[1])
            add_photo(change, row.id, sha, name, arrival=True)
            shas.append(sha)
        keep_pair_reading(change, shop, row.id, kept, use=kind, files=shas, place=layout.settings)
        if match != "book":
            keep_settings_for(change, row.id, layout.settings)
    return row


def _kept(leaf: Leaf, name: str, document: Document) -> LeafKept:
    other = painted(f"other_{name}") if leaf.other_flaws else None
    return LeafKept(document.model_dump(by_alias=True), leaf_bytes(leaf), painted(name), PX_PER_MM, other)
