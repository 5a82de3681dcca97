"""Openings with the other faces showing, kept in a shop: their pictures and their flaws."""

from __future__ import annotations

import io
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from asking import Browser
from filed_pair import OTHER_KNOT, WIDE, file_pair, leaf_a, painted
from PIL import Image
from test_pair_page import asks, judge, work

from seamlight.shop.flaw_edits import flaw_edits
from seamlight.shop.history import history
from seamlight.shop.pair_wood import pair_wood
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import order_for

SAWN, OTHER = (200, 160, 110), (190, 110, 70)  # what the fixture's faces are painted


@pytest.fixture
def pair(shop: Shop) -> Pair:
    """A top whose four faces were photographed."""
    return file_pair(shop, others=True)


def found(owner: Browser, pair: Pair, face: str) -> dict[str, Any]:
    """The first opening with that face showing."""
    openings = work(owner, pair.id)["openings"]
    return next(one for one in openings if one["placing"]["show_face"] == face)


def median_of(picture: bytes, side: str) -> tuple[float, ...]:
    """The usual colour of the wood of one half, a third of the way out."""
    rgb = np.asarray(Image.open(io.BytesIO(picture)).convert("RGB"), float)
    wide = rgb.shape[1]
    at = round(wide * (0.32 if side == "left" else 0.68))
    part = rgb[rgb.shape[0] // 2 - 40 : rgb.shape[0] // 2 + 40, at - 12 : at + 12]
    return tuple(float(v) for v in np.median(part.reshape(-1, 3), axis=0))


def near(one: tuple[float, ...], other: tuple[int, ...]) -> bool:
    return max(abs(a - b) for a, b in zip(one, other, strict=True)) < 25


def test_the_other_faces_pictures_are_kept_and_named(owner: Browser, pair: Pair) -> None:
    pictures = work(owner, pair.id)["pictures"]
    assert set(pictures) == {"a", "b", "other_a", "other_b"}
    assert owner.get(pictures["other_a"]).content == painted("other_a")


@pytest.mark.parametrize(("face", "colour"), [("sawn", SAWN), ("other", OTHER)])
def test_an_opening_is_drawn_with_the_face_that_shows(
    owner: Browser, pair: Pair, face: str, colour: tuple[int, ...]
) -> None:
    base, number = f"/wood/pairs/{pair.id}", found(owner, pair, face)["number"]
    small = owner.get(f"{base}/opening-{number}.jpg?outline=parlour").content
    assert near(median_of(small, "left"), colour)
    assert near(median_of(small, "right"), colour)
    owner.press(f"{base}/choose", outline="parlour", number=str(number), version="0")
    large = owner.get(f"{base}/picture.png").content
    assert near(median_of(large, "left"), colour)
    assert near(median_of(large, "right"), colour)
    assert owner.get(f"{base}/marking.pdf").content.startswith(b"%PDF-")


def test_a_drawing_tells_the_face_that_shows_from_the_other(owner: Browser, pair: Pair) -> None:
    base, number = f"/wood/pairs/{pair.id}", found(owner, pair, "other")["number"]
    owner.press(f"{base}/choose", outline="parlour", number=str(number), version="0")
    drawn = ElementTree.fromstring(owner.get(f"{base}/picture.svg").text)
    kinds = [one.get("class") for one in drawn.iter("{http://www.w3.org/2000/svg}g")]
    assert (kinds.count("flaw"), kinds.count("hidden-flaw")) == (2, 2)
    dashed = next(one for one in drawn.iter() if one.get("class") == "hidden-flaw")
    assert dashed[0].get("stroke-dasharray")


def test_flaws_of_the_other_face_are_said_and_count(owner: Browser, shop: Shop, pair: Pair) -> None:
    before = work(owner, pair.id)
    assert [(one["other_face"], one["found"]) for one in before["flaws"]["a"]["flaws"]] == [
        (False, 0),
        (True, 0),
    ]
    placing = found(owner, pair, "other")["placing"]
    address = f"/api/pairs/{pair.id}/flaws/other_a?outline=parlour"
    wane = {"kind": "wane", "outline_mm": [[0, 0], [WIDE, 0], [WIDE, 60], [0, 60]]}
    was = judge(owner, pair.id, placing)["opening"]
    kept = asks(owner, "PUT", address, {"edits": {"add": [wane], "drop": [0]}, "version": 0})
    assert kept.status_code == 200, kept.text
    told = kept.json()["flaws"]
    assert [(one["kind"], one["other_face"], one["added"]) for one in told["flaws"]] == [
        ("knot", False, None),
        ("wane", True, 0),
    ]
    assert (told["version"], told["other"]["version"]) == (0, 1)
    now = judge(owner, pair.id, placing)["opening"]
    assert now["end_spare_mm"] < was["end_spare_mm"] - 30
    with shop.read() as session:
        assert flaw_edits(session, pair.id)["other_a"].edits == {"add": [wane], "drop": [0]}
        assert order_for(shop, session, pair.id).edits == {"other_a": {"add": [wane], "drop": [0]}}
        line = next(one for one in history(session, "pair", pair.id) if one.what == "flaws said")
    assert owner.press(f"/wood/pairs/{pair.id}/undo", line=str(line.id)).status_code == 303
    assert judge(owner, pair.id, placing)["opening"]["end_spare_mm"] == was["end_spare_mm"]


def test_flaws_of_the_other_face_are_said_by_plain_forms(owner: Browser, pair: Pair) -> None:
    base = f"/wood/pairs/{pair.id}"
    page = owner.get(base).text
    assert "leaf A, other face" in page
    fields = {"flaw_kind": "crack", "from_end1": "300", "from_left": "40", "long": "30", "wide": "2"}
    assert owner.press(f"{base}/flaws/add", flaw_leaf="other_b", **fields).status_code == 303
    said = work(owner, pair.id)["flaws"]["b"]
    assert [(one["kind"], one["other_face"]) for one in said["flaws"]][-1] == ("crack", True)
    version = str(said["other"]["version"])
    dropped = owner.press(f"{base}/flaws/drop", leaf="other_b", found="0", version=version)
    assert dropped.status_code == 303
    assert [one["kind"] for one in work(owner, pair.id)["flaws"]["b"]["flaws"]] == ["knot", "crack"]


def test_a_face_that_was_not_photographed_takes_no_flaws(owner: Browser, shop: Shop) -> None:
    plain = file_pair(shop)
    crack = {"kind": "crack", "outline_mm": [[60, 300], [64, 300], [64, 340]]}
    address = f"/api/pairs/{plain.id}/flaws/other_a?outline=parlour"
    answer = asks(owner, "PUT", address, {"edits": {"add": [crack]}, "version": 0})
    assert answer.status_code == 422
    assert "was not photographed" in answer.json()["what"]
    assert (
        "other face"
        not in owner.get(f"/wood/pairs/{plain.id}")
        .text.partition("<datalist")[0]
        .partition('name="flaw_leaf"')[2]
        .partition("</select>")[0]
    )


def test_slip_matched_b_shows_its_other_face(owner: Browser, shop: Shop) -> None:
    """A's sawn face beside B's other face: B is slid over, not turned like a page."""
    slip = file_pair(shop, others=True, match="slip")
    base, one = f"/wood/pairs/{slip.id}", found(owner, slip, "sawn")
    a_is = judge(owner, slip.id, one["placing"])["opening"]["a_is"]
    drawn = owner.get(f"{base}/opening-{one['number']}.jpg?outline=parlour").content
    assert near(median_of(drawn, a_is), SAWN)
    assert near(median_of(drawn, "right" if a_is == "left" else "left"), OTHER)


def test_what_is_loaded_has_both_faces_as_they_were_kept(shop: Shop, pair: Pair) -> None:
    with shop.read() as session:
        wood = pair_wood(shop, session, pair.id)
    assert wood is not None
    assert wood.others == {"a", "b"}
    assert len(wood.a.flaws) == len(leaf_a().flaws)
    middle = wood.a.other_flaws[0].outline_mm.mean(axis=0)
    assert middle == pytest.approx(OTHER_KNOT, abs=0.01)
    mirrored = wood.b.other_flaws[0].outline_mm.mean(axis=0)
    assert mirrored == pytest.approx((WIDE - OTHER_KNOT[0], OTHER_KNOT[1]), abs=0.01)
