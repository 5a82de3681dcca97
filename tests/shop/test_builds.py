"""Wanted instruments, and the wood given to them."""

from pathlib import Path

import pytest

from laid_pairs import laid_pair, shop_in
from seamlight.mistake import Mistake
from seamlight.shop.builds import (
    ToGive,
    accept,
    all_given,
    bring_back_build,
    builds,
    delete_build,
    edit_build,
    give,
    given_to,
    lock,
    new_build,
    take_back,
    wishes_of,
)
from seamlight.shop.change import Conflict
from seamlight.shop.history import history
from seamlight.shop.stages import move
from seamlight.shop.wood import delete_pair, new_pair


def test_made_edited_deleted_brought_back(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            row = new_build(
                change,
                label="  Anna's   parlour ",
                outline={"name": "parlour"},
                kind_wishes={"top": {"woods": ["Sitka spruce"], "least_grade": "First"}},
            )
            assert row.label == "Anna's parlour"
        with shop.change("owner") as change:
            edit_build(change, row.id, {"notes": "left-handed"}, expected_version=1)
        with pytest.raises(Conflict), shop.change("phone") as change:
            edit_build(change, row.id, {"notes": "right-handed"}, expected_version=1)
        with shop.read() as session:
            (found,) = builds(session)
            assert found.notes == "left-handed"
            top = wishes_of(found).top
            assert top is not None
            assert top.woods == ("Sitka spruce",)
        with shop.change("owner") as change:
            delete_build(change, row.id)
        with shop.read() as session:
            assert builds(session) == []
        with shop.change("owner") as change:
            bring_back_build(change, row.id)
            assert history(change.session, "build", row.id)[0].what == "brought back"


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"label": "   "}, "1 to 60 letters"),
        ({"label": "a", "kind_wishes": {"top": {"spare_mm": -1}}}, "greater than or equal to 0"),
        ({"label": "a", "kind_wishes": {"neck": {}}}, "not permitted"),
        ({"label": "a", "outline": {"path": "/etc"}}, "a name or a file"),
        ({"label": "a", "colour": "red"}, "has no colour"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, values: dict[str, object], words: str) -> None:
    with shop_in(tmp_path) as (shop, _), pytest.raises(Mistake, match=words), shop.change("owner") as change:
        new_build(change, **values)  # type: ignore[arg-type]


def test_wood_is_given_taken_back_and_never_given_twice(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            one, two = (new_build(change, label=name).id for name in ("one", "two"))
            t1, t2 = (new_pair(change, kind="top").id for _ in range(2))
            b1 = new_pair(change, kind="back").id
            give(change, ToGive(one, "top", t1, "it fits"))
            with pytest.raises(Mistake, match="T1 is given to one"):
                give(change, ToGive(two, "top", t1))
            with pytest.raises(Mistake, match="B1 is no top"):
                give(change, ToGive(two, "top", b1))
            give(change, ToGive(one, "top", t2))
            give(change, ToGive(two, "top", t1))
            move(change, [b1], "used")
            with pytest.raises(Mistake, match="used up"):
                give(change, ToGive(two, "back", b1))
        with shop.read() as session:
            assert {row.build_id: row.pair_id for row in all_given(session)} == {one: t2, two: t1}
            assert history(session, "build", one)[0].what == "wood given"


def test_a_lock_holds_until_it_is_opened(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        one = new_build(change, label="one").id
        t1, t2 = (new_pair(change, kind="top").id for _ in range(2))
        with pytest.raises(Mistake, match="no wood was given"):
            lock(change, one, "top", True)
        give(change, ToGive(one, "top", t1))
        lock(change, one, "top", True)
        for act in (
            lambda: take_back(change, one, "top"),
            lambda: give(change, ToGive(one, "top", t2)),
        ):
            with pytest.raises(Mistake, match="is locked"):
                act()
        lock(change, one, "top", False)
        take_back(change, one, "top")
        assert given_to(change.session, one) == {}


def test_a_whole_plan_is_taken_over_and_locks_stay(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        one, two, three = (new_build(change, label=name).id for name in ("one", "two", "three"))
        t1, t2, t3 = (laid_pair(change).id for _ in range(3))
        give(change, ToGive(one, "top", t1))
        lock(change, one, "top", True)
        give(change, ToGive(two, "top", t2))
        accept(change, [ToGive(one, "top", t1), ToGive(two, "top", t3), ToGive(three, "top", t2)])
        rows = {row.build_id: (row.pair_id, row.locked) for row in all_given(change.session)}
        assert rows == {one: (t1, True), two: (t3, False), three: (t2, False)}
        accept(change, [ToGive(three, "top", t3)])
        rows = {row.build_id: (row.pair_id, row.locked) for row in all_given(change.session)}
        assert rows == {one: (t1, True), three: (t3, False)}


def test_deleting_an_instrument_or_a_pair_frees_the_other(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        one, two = (new_build(change, label=name).id for name in ("one", "two"))
        t1, t2 = (new_pair(change, kind="top").id for _ in range(2))
        give(change, ToGive(one, "top", t1), locked=True)
        delete_build(change, one)
        give(change, ToGive(two, "top", t1), locked=True)
        delete_pair(change, t1)
        give(change, ToGive(two, "top", t2))
        assert [(row.build_id, row.pair_id) for row in all_given(change.session)] == [(two, t2)]
