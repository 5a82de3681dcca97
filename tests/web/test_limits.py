"""How much may be written and drawn: more is refused in one line beside its field, and nothing is cut."""

from __future__ import annotations

import pytest
from asking import Browser
from filed_pair import LONG, WIDE, file_pair

from seamlight.mistake import Mistake
from seamlight.shop.classes import add_students, new_class, students
from seamlight.shop.flaw_edits import flaw_edits
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.shop import Shop
from seamlight.shop.wood import LONGEST, edit_pair

KNOT = [[20.0, 20.0], [26.0, 20.0], [26.0, 26.0]]


@pytest.mark.parametrize(
    "field",
    ["supplier", "lies_at", "reserved_for", "notes", "species", "botanical", "price", "kind", "label"],
)
def test_a_book_is_no_field_of_a_piece_of_wood(owner: Browser, shop: Shop, field: str) -> None:
    for letters in (5000, 150_000):
        answer = owner.press("/wood/new", **{"kind": "top", field: "w" * letters})
        assert answer.status_code == 422
        assert "Something went wrong" not in answer.text
    with shop.read() as session:
        assert rack(session, RackQuery()).total == 0


def test_no_field_takes_a_library(owner: Browser) -> None:
    assert owner.press("/wood/new", kind="top", supplier="w" * 1_000_000).status_code == 413
    assert owner.press("/classes", name="w" * 1_000_000).status_code == 413


def test_every_text_of_a_pair_has_its_bound(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    for field, most in LONGEST.items():
        with shop.change("owner") as change:
            edit_pair(change, pair.id, {field: "w" * most})
        with (
            pytest.raises(Mistake, match=f"{field}: .* letters are too many"),
            shop.change("owner") as change,
        ):
            edit_pair(change, pair.id, {field: "w" * (most + 1)})


def say(owner: Browser, number: int, edits: object):
    body = {"edits": edits, "version": 0}
    headers = {"x-csrf": owner.token()}
    return owner.put(f"/api/pairs/{number}/flaws/a?outline=parlour", json=body, headers=headers)


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        ({"add": [{"kind": "knot", "outline_mm": [[1e9, 0], [1e9, 9], [1e9 + 9, 9]]}]}, "off the leaf"),
        (
            {"add": [{"kind": "knot", "outline_mm": [[WIDE + 5, 0], [WIDE + 5, 9], [WIDE + 9, 9]]}]},
            "off the leaf",
        ),
        ({"add": [{"kind": "knot", "outline_mm": [[10, 10], [1e6, 20], [10, LONG]]}]}, "off the leaf"),
        ({"replace": {"0": {"outline_mm": [[-99, -9], [-90, -9], [-90, -5]]}}}, "off the leaf"),
        ({"add": [{"kind": "knot", "outline_mm": KNOT}] * 3000}, "3,000 flaws are more than a leaf has"),
        ({"drop": [0] * 3000}, "more than a leaf has"),
        ({"add": [{"kind": "knot", "outline_mm": KNOT * 1000}]}, "has 3,000 points"),
    ],
)
def test_flaws_that_no_leaf_has_are_refused(owner: Browser, shop: Shop, edits: object, words: str) -> None:
    pair = file_pair(shop)
    answer = say(owner, pair.id, edits)
    assert answer.status_code == 422
    assert words in answer.json()["what"]
    with shop.read() as session:
        assert flaw_edits(session, pair.id) == {}


def test_a_flaw_may_run_over_the_edge(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    edge = [[WIDE - 5, 40.0], [WIDE + 30, 40.0], [WIDE + 30, 60.0]]
    assert say(owner, pair.id, {"add": [{"kind": "wane", "outline_mm": edge}]}).status_code == 200


def test_a_flaw_typed_far_off_is_refused_on_the_page(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    sent = {
        "flaw_leaf": "a",
        "flaw_kind": "knot",
        "from_end1": "1000 m",
        "from_left": "5",
        "long": "5",
        "wide": "5",
    }
    answer = owner.press(f"/wood/pairs/{pair.id}/flaws/add", **sent)
    assert answer.status_code == 422
    with shop.read() as session:
        assert flaw_edits(session, pair.id) == {}


def test_a_class_takes_so_many_names_at_once(shop: Shop) -> None:
    with shop.change("owner") as change:
        number = new_class(change, "first").id
        add_students(change, number, "\n".join(f"student {n}" for n in range(60)))
    with pytest.raises(Mistake, match=r"3,000 names are too many at once"), shop.change("owner") as change:
        add_students(change, number, "\n".join(f"student {n}" for n in range(3000)))
    with shop.read() as session:
        assert len(students(session, number)) == 60


def test_a_figure_of_a_hundred_thousand_letters_is_told_at_once(owner: Browser) -> None:
    for field in ("temp", "rh"):
        answer = owner.press("/shop/air", **{field: "1" + " " * 100_000 + "x"})
        assert answer.status_code == 422
