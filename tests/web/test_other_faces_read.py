"""Four faces of a rendered pair scanned, kept in a shop and read: each other face under its own leaf."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from asking import Browser
from PIL import Image
from shapely import Point
from test_pair_page import work

from seamlight.demo import phone, saw, wood
from seamlight.demo.truth import FaceTruth
from seamlight.shop.file_rows import add_row
from seamlight.shop.pair_wood import flat_picture, pair_wood
from seamlight.shop.photos import add_photo, newest_of
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Job, Pair
from seamlight.shop.taking_in import files_of, keep_pair_reading, order_for
from seamlight.shop.wood import new_pair
from seamlight.web.pair_pictures import read_and_draw

DPI = 100.0
FACES = {"a": ("a", "sawn"), "b": ("b", "sawn"), "other_a": ("a", "other"), "other_b": ("b", "other")}


@pytest.fixture
def sawn() -> saw.SawnPair:
    """Two leaves with knots that run through askew, so that the faces differ."""
    return saw.saw_pair(wood.grow_log(17, "Engelmann spruce", knots=3), 17, holes=1)


@pytest.fixture
def truths(sawn: saw.SawnPair) -> dict[str, FaceTruth]:
    leaves = {"a": sawn.a, "b": sawn.b}
    return {
        role: saw.face(leaves[leaf], side, DPI / 25.4)  # type: ignore[arg-type]
        for role, (leaf, side) in FACES.items()
    }


@pytest.fixture
def pair(shop: Shop, truths: dict[str, FaceTruth], tmp_path: Path) -> Pair:
    """The pair, its four scans kept, read and laid out for a parlour."""
    with shop.change("owner") as change:
        row = new_pair(change, kind="top", scale_spec=f"{DPI:g}dpi", thickness_mm=4.5)
        for number, (role, face) in enumerate(truths.items()):
            path = tmp_path / f"{role}.png"
            phone.scan(face, number, dpi=DPI).save(path)
            sha = shop.files.keep(path, "image/png")
            wide, high = Image.open(path).size
            add_row(change, sha, "image/png", path.stat().st_size, width_px=wide, height_px=high)
            add_photo(change, row.id, sha, role, arrival=True)
    with shop.read() as session:
        order = order_for(shop, session, row.id, ["parlour"])
    kept, _ = read_and_draw(order)
    with shop.change("background") as change:
        keep_pair_reading(change, shop, row.id, kept, use="top", files=files_of(order), place=order.place)
    return row


def test_four_scanned_faces(
    owner: Browser, shop: Shop, pair: Pair, sawn: saw.SawnPair, truths: dict[str, FaceTruth]
) -> None:
    with shop.read() as session:
        kept = pair_wood(shop, session, pair.id)
    assert kept is not None
    assert kept.others == {"a", "b"}
    for name, leaf, own in (("a", sawn.a, kept.a), ("b", sawn.b, kept.b)):
        other = truths[f"other_{name}"]
        # every hole and knot of the other face is found where it lies, seen through the leaf
        found = [Point(np.asarray(flaw.outline_mm).mean(axis=0)) for flaw in own.other_flaws]
        true = [flaw for flaw in other.flaws if flaw.kind in ("hole", "knot")]
        assert true
        for flaw in true:
            ring = np.column_stack(leaf.from_billet("sawn", *leaf.to_billet("other", *flaw.outline_mm.T)))
            middle = Point(ring.mean(axis=0))
            assert min(middle.distance(one) for one in found) < 2.5
        # and so does its whole picture, pixel on pixel
        picture = Image.open(io.BytesIO(flat_picture(shop, pair.id, f"other_{name}").read_bytes()))
        assert likeness(np.asarray(picture.convert("L"), float), mirrored_grey(other)) > 0.8
    shown = {one["placing"]["show_face"] for one in work(owner, pair.id)["openings"]}
    assert shown == {"sawn", "other"}
    # taken away, it is to be read without
    with shop.read() as session:
        photo = newest_of(session, pair.id, "other_b")
    assert photo is not None
    owner.press(f"/wood/pairs/{pair.id}/photos/{photo.id}/away")
    with shop.read() as session:
        assert session.query(Job).filter(Job.kind == "read", Job.subject_id == pair.id).count() == 1
        assert order_for(shop, session, pair.id).photographs.other_b is None


def mirrored_grey(face: FaceTruth) -> np.ndarray:
    return np.asarray(Image.fromarray(face.rgb[:, ::-1]).convert("L"), float)


def likeness(one: np.ndarray, other: np.ndarray) -> float:
    """Correlation of what both show away from their edges, at one millimetre; a hair of slide allowed."""
    size = (190, 500)
    small, whole = (
        np.asarray(Image.fromarray(grey.astype(np.uint8)).resize(size, Image.Resampling.BOX), float)
        for grey in (one, other)
    )
    middle = whole[20:-20, 20:-20]
    return max(
        float(
            np.corrcoef(
                middle.ravel(),
                small[
                    20 + down : small.shape[0] - 20 + down, 20 + right : small.shape[1] - 20 + right
                ].ravel(),
            )[0, 1]
        )
        for down in (-1, 0, 1)
        for right in (-1, 0, 1)
    )
