"""A leaf photographed anew may lie otherwise: what was said and chosen before is not moved to it."""

from __future__ import annotations

import html
from typing import Any

import numpy as np
import pytest
from asking import Browser
from filed_pair import WIDE, file_pair, ring

from seamlight.grain.flaw import Flaw
from seamlight.shop.file_rows import add_row
from seamlight.shop.flaw_edits import flaw_edits
from seamlight.shop.flaws_meant import as_meant, boxes_of
from seamlight.shop.history import history, undo
from seamlight.shop.photos import add_photo
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import order_for

KNOT = [[60.0, 60.0], [70.0, 60.0], [70.0, 80.0], [60.0, 80.0]]


@pytest.fixture
def pair(shop: Shop) -> Pair:
    return file_pair(shop)


def photographed_anew(shop: Shop, pair: Pair) -> str:
    """A new picture of leaf A, read: the documents of before, from another file."""
    with shop.read() as session:
        old = [row for row in readings(session, pair_id=pair.id) if row.verb in ("read", "layout")]
    sha = shop.files.keep(b"another picture of leaf A", "image/jpeg")
    with shop.change("phone") as change:
        add_row(change, sha, "image/jpeg", 25)
        add_photo(change, pair.id, sha, "a")
        for row in old:
            files = [sha, *row.files[1:]]
            keep_reading(change, row.verb, row.document, pair_id=pair.id, files=files, says=row.says)
    return sha


def work(owner: Browser, pair: Pair) -> dict[str, Any]:
    return owner.get(f"/api/pairs/{pair.id}/work").json()


def say(owner: Browser, pair: Pair, edits: dict[str, Any], version: int = 0) -> int:
    path = f"/api/pairs/{pair.id}/flaws/a?outline=parlour"
    header = {"x-csrf": owner.token()}
    answer = owner.put(path, json={"edits": edits, "version": version}, headers=header)
    assert answer.status_code == 200, answer.text
    return int(answer.json()["version"])


def kinds(owner: Browser, pair: Pair) -> list[str]:
    return [flaw["kind"] for flaw in work(owner, pair)["flaws"]["a"]["flaws"]]


def test_what_was_said_of_the_old_picture_is_not_moved_to_the_new(
    owner: Browser, shop: Shop, pair: Pair
) -> None:
    found = kinds(owner, pair)
    version = say(owner, pair, {"drop": [0], "add": [{"kind": "crack", "outline_mm": KNOT}]})
    assert kinds(owner, pair) == [*found[1:], "crack"]
    with shop.read() as session:
        assert set(order_for(shop, session, pair.id).edits or {}) == {"a"}
    photographed_anew(shop, pair)
    assert kinds(owner, pair) == found
    with shop.read() as session:
        assert order_for(shop, session, pair.id).edits is None
    page = html.unescape(owner.get(f"/wood/pairs/{pair.id}").text)
    assert "What was said about the flaws of leaf A was said on the picture" in page
    assert "Look again" in page
    say(owner, pair, {"add": [{"kind": "crack", "outline_mm": KNOT}]}, version)
    assert kinds(owner, pair) == [*found, "crack"]
    assert "was said on the picture" not in owner.get(f"/wood/pairs/{pair.id}").text


def test_undoing_binds_to_the_picture_it_was_said_on(owner: Browser, shop: Shop, pair: Pair) -> None:
    found = kinds(owner, pair)
    version = say(owner, pair, {"drop": [0]})
    photographed_anew(shop, pair)
    say(owner, pair, {"add": [{"kind": "crack", "outline_mm": KNOT}]}, version)
    with shop.change("owner") as change:
        line = next(one for one in history(change.session, "pair", pair.id) if one.what == "flaws said")
        undo(change, line.id)
    assert kinds(owner, pair) == found
    with shop.read() as session:
        assert flaw_edits(session, pair.id)["a"].edits == {"drop": [0]}


def test_a_choice_made_on_the_old_picture_is_told_and_not_laid(
    owner: Browser, shop: Shop, pair: Pair
) -> None:
    here = f"/wood/pairs/{pair.id}"
    best = work(owner, pair)["judged"]["placing"]
    moved = best | {"shift_mm": best["shift_mm"] + 3.0}
    header = {"x-csrf": owner.token()}
    asked = {"outline": "parlour", "placing": moved, "version": 0}
    assert owner.put(f"/api/pairs/{pair.id}/choice", json=asked, headers=header).status_code == 200
    assert work(owner, pair)["chosen"] is True
    photographed_anew(shop, pair)
    now = work(owner, pair)
    assert (now["chosen"], now["version"]) == (False, 1)
    assert now["judged"]["placing"] == best
    assert "The choice was made on the picture" in owner.get(here).text
    again = asked | {"version": 1}
    assert owner.put(f"/api/pairs/{pair.id}/choice", json=again, headers=header).status_code == 200
    assert work(owner, pair)["chosen"] is True
    assert "The choice was made on" not in owner.get(here).text


def flaw(x: float, y: float) -> Flaw:
    return Flaw("knot", ring(x, y, 4.0), 0.9)


def test_a_dropped_flaw_is_the_one_that_was_meant() -> None:
    one, other, third = flaw(40, 100), flaw(90, 200), flaw(WIDE - 30, 300)
    edits = {"drop": [1], "replace": {"2": {"kind": "crack"}}}
    boxes = boxes_of(edits, [one, other, third])
    assert set(boxes) == {"1", "2"}
    assert as_meant(edits, boxes, [one, other, third]) == edits
    found_otherwise = [third, flaw(10, 400), one, flaw(90.5, 200.5)]
    assert as_meant(edits, boxes, found_otherwise) == {"drop": [3], "replace": {"0": {"kind": "crack"}}}
    assert as_meant(edits, boxes, [one]) == {}
    assert as_meant(edits, None, [one, other]) == {"drop": [1]}
    assert as_meant({"add": [1]}, None, []) == {"add": [1]}


def test_boxes_lie_round_their_flaws() -> None:
    (box,) = boxes_of({"drop": [0]}, [flaw(40, 100)]).values()
    assert np.allclose(box, [36, 96, 44, 104], atol=0.01)
