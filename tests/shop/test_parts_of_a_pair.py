"""What belongs to a pair: photographs, weights, planed wood, readings, the choice, flaws; undoing them."""

from __future__ import annotations

import pytest
from keeping import Clock, filed, keep, pair_with_photos, reading, upload

from seamlight.mistake import Mistake
from seamlight.shop import Conflict, Shop
from seamlight.shop.arrivals import arrival, arrivals, drop, file_to_pair, put_back, take_in
from seamlight.shop.check import check
from seamlight.shop.choices import choice, choices, drop_choice, keep_choice
from seamlight.shop.flaw_edits import flaw_edits, keep_flaw_edits
from seamlight.shop.history import history, undo
from seamlight.shop.photos import add_photo, give_back, newest_of, photos, take_away
from seamlight.shop.readings import bring_back_reading, delete_reading, keep_reading, newest, readings
from seamlight.shop.tally import plane, planed_so_far, weigh, weights


def last_line(shop: Shop, pair_id: int) -> int:
    with shop.read() as session:
        return history(session, "pair", pair_id)[0].id


def test_the_same_upload_twice_is_one(shop: Shop) -> None:
    first, again = upload(shop, "k1", b"leaf"), upload(shop, "k1", b"leaf")
    assert first == again
    other = upload(shop, "k2", b"leaf")
    assert other != first
    with pytest.raises(Mistake, match="another picture"):
        upload(shop, "k1", b"another leaf")
    with shop.read() as session:
        assert [row.upload_key for row in arrivals(session)] == ["k1", "k2"]
    found = check(shop)
    assert found.sound
    assert found.counts["files"] == 1


def test_an_arrival_is_filed_once_and_dropped_ones_come_back(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    photo = filed(shop, "k1", b"end grain", number, "end_a")
    with shop.read() as session:
        assert photos(session, number)[-1].id == photo
        assert photos(session, number)[-1].arrival is True
        filed_arrival = arrivals(session, "filed")[0]
        assert filed_arrival.pair_id == number
    with pytest.raises(Mistake, match="filed already"), shop.change("owner") as change:
        file_to_pair(change, filed_arrival.id, number, "end_b")
    dropped = upload(shop, "k2", b"a thumb")
    with shop.change("owner") as change:
        drop(change, dropped)
    with shop.change("owner") as change:
        put_back(change, dropped)
    with shop.read() as session:
        assert arrival(session, dropped).state == "new"


def test_a_row_never_comes_before_its_file(shop: Shop) -> None:
    with pytest.raises(Mistake, match="is not kept"), shop.change("owner") as change:
        take_in_unkept(change)
    with pytest.raises(Mistake, match="no such file"), shop.change("owner") as change:
        keep_reading(change, "tap", {}, pair_id=pair_with(change), files=["0" * 64])


def take_in_unkept(change) -> None:  # type: ignore[no-untyped-def]
    from seamlight.shop import add_row

    add_row(change, "0" * 64, "image/jpeg", 3)
    take_in(change, "0" * 64, "k")


def pair_with(change) -> int:  # type: ignore[no-untyped-def]
    from seamlight.shop.wood import new_pair

    return new_pair(change, kind="top").id


def test_photographs_are_taken_away_and_given_back(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    with shop.change("owner") as change:
        later = add_photo(change, number, keep(shop, change, b"today"), "a", note="months later")
    with shop.read() as session:
        found = newest_of(session, number, "a")
        assert found is not None
        assert found.id == later.id
    with shop.change("owner") as change:
        take_away(change, later.id)
    with shop.read() as session:
        assert [row.role for row in photos(session, number)] == ["a", "b"]
    with shop.change("owner") as change:
        undo(change, last_line_in(change, number))
    with shop.read() as session:
        assert [row.role for row in photos(session, number)] == ["a", "b", "a"]
    with shop.change("owner") as change:
        take_away(change, later.id)
        give_back(change, later.id)
    with pytest.raises(Mistake, match="nothing a picture can show"), shop.change("owner") as change:
        add_photo(change, number, later.file_sha256, "portrait")


def last_line_in(change, pair_id: int) -> int:  # type: ignore[no-untyped-def]
    return history(change.session, "pair", pair_id)[0].id


def test_the_tally_of_planed_wood_and_weights_over_time(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    with shop.change("owner") as change:
        plane(change, number, "both", 0.4)
        plane(change, number, "a", 0.25, note="two strokes")
        plane(change, number, "a", -0.05, note="noted too much")
        weigh(change, number, "both", 612.0)
        weigh(change, number, "both", 604.5)
    with shop.read() as session:
        assert planed_so_far(session, number) == {"a": 0.6, "b": 0.4}
        assert [row.grams for row in weights(session, number)] == [612.0, 604.5]
    with pytest.raises(Mistake, match=r"mm: -0\.5 cannot be"), shop.change("owner") as change:
        plane(change, number, "b", -0.5)
    with pytest.raises(Mistake, match="cannot be"), shop.change("owner") as change:
        weigh(change, number, "a", float("nan"))


def test_the_newest_reading_counts_and_all_are_kept(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    with shop.read() as session:
        sha = photos(session, number)[0].file_sha256
    for lines in (14.0, 19.0):
        with shop.change("owner") as change:
            keep_reading(
                change,
                "read",
                reading(lines=lines),
                pair_id=number,
                files=[sha],
                says={"leaf": "a"},
                rh_pct=44,
            )
    with shop.read() as session:
        found = newest(session, "read", pair_id=number, leaf="a")
        assert found is not None
        assert found.document == reading(lines=19.0)
        assert found.files == [sha]
        assert newest(session, "read", pair_id=number, leaf="b") is None
    with shop.change("owner") as change:
        delete_reading(change, found.id)
    with shop.read() as session:
        older = newest(session, "read", pair_id=number)
        assert older is not None
        assert older.document == reading(lines=14.0)
    with shop.change("owner") as change:
        bring_back_reading(change, found.id)
    with shop.read() as session:
        assert len(readings(session, pair_id=number)) == 2
    with pytest.raises(Mistake, match="to a pair or to a build"), shop.change("owner") as change:
        keep_reading(change, "read", {})


def a_choice(edge: str) -> dict[str, dict[str, object]]:
    return {"outline": {"name": "om"}, "opening": {"joint_edge": edge}, "document": {"spare_mm": 4.0}}


def test_a_choice_is_changed_dropped_and_undone(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    with shop.change("phone") as change:
        keep_choice(change, number, **a_choice("left"), expected_version=0)
    with pytest.raises(Conflict, match="chosen"), shop.change("desk") as change:
        keep_choice(change, number, **a_choice("right"), expected_version=0)
    with shop.change("desk") as change:
        keep_choice(change, number, **a_choice("right"), placing={"slide_mm": 2.5}, expected_version=1)
    with shop.change("desk") as change:
        undo(change, last_line(shop, number))
    with shop.read() as session:
        found = choice(session, number)
        assert found is not None
        assert (found.opening, found.placing, found.version) == ({"joint_edge": "left"}, None, 3)
        assert (found.outline, found.document) == ({"name": "om"}, {"spare_mm": 4.0})
        told = history(session, "pair", number)[1]
        assert told.before == {"opening": {"joint_edge": "left"}, "placing": None}
    with shop.change("desk") as change:
        drop_choice(change, number)
    with shop.read() as session:
        assert choice(session, number) is None
        assert choices(session) == {}
    with shop.change("desk") as change:
        undo(change, last_line(shop, number))
    with shop.read() as session:
        assert choices(session)[number].opening == {"joint_edge": "left"}
    assert check(shop).findings == []


def test_what_was_said_about_flaws_wins_and_is_undone(shop: Shop, clock: Clock) -> None:
    number = pair_with_photos(shop, "T1")
    for drops in ([], [1], [1, 2]):
        with shop.change("owner") as change:
            keep_flaw_edits(change, number, "a", {"drop": drops})
    with pytest.raises(Conflict, match="leaf A"), shop.change("desk") as change:
        keep_flaw_edits(change, number, "a", {}, expected_version=1)
    with shop.change("owner") as change:
        undo(change, last_line(shop, number))
    with shop.read() as session:
        assert flaw_edits(session, number)["a"].edits == {"drop": [1]}
        assert "b" not in flaw_edits(session, number)
