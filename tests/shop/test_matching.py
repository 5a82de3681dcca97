"""The shop's own rack matched to its own instruments."""

from datetime import date
from pathlib import Path

from laid_pairs import laid_pair, shop_in
from seamlight.shop.builds import ToGive, accept, all_given, give, new_build
from seamlight.shop.match_short import shopping_list
from seamlight.shop.matching import match_shop, to_give
from seamlight.shop.stages import move
from seamlight.shop.wood import edit_pair

ANY = {"top": {}, "back": None}


def test_a_rack_is_matched_and_the_matching_taken_over(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            spruce = {"top": {"woods": ["Sitka spruce"]}, "back": None}
            either = {"top": {"woods": ["Sitka spruce", "cedar"]}, "back": None}
            one = new_build(change, label="one", outline={"name": "parlour"}, kind_wishes=either).id
            two = new_build(change, label="two", outline={"name": "parlour"}, kind_wishes=spruce).id
            new_build(change, label="no outline yet")
            sitka = laid_pair(change, parlour=6.0).id
            cedar = laid_pair(change, wood="cedar", parlour=6.0).id
            laid_pair(change, parlour=-2.0)
            laid_pair(change, kind="back", parlour=6.0)
        with shop.read() as session:
            found = match_shop(session)
        assert {g.wish.build_id: g.offer.pair_id for g in found.best.given} == {one: cedar, two: sitka}
        assert found.shortages == ()
        with shop.change("owner") as change:
            accept(change, to_give(found.best))
        with shop.read() as session:
            rows = {row.build_id: row for row in all_given(session)}
            assert {key: row.pair_id for key, row in rows.items()} == {one: cedar, two: sitka}
            assert "Fits the parlour with 6.0 mm to spare beside, 10.0 at the ends." in (rows[one].why or "")
            again = match_shop(session)
            assert [g.offer.pair_id for g in again.best.given] == [g.offer.pair_id for g in found.best.given]


def test_begun_wood_stays_and_used_wood_asks_no_more(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        late = new_build(change, label="late", outline={"name": "parlour"}, kind_wishes=ANY).id
        done = new_build(change, label="done", outline={"name": "parlour"}, kind_wishes=ANY).id
        soon = new_build(
            change,
            label="soon",
            outline={"name": "parlour"},
            kind_wishes=ANY,
            want_by=date(2026, 12, 1),
        ).id
        begun, used = (laid_pair(change, parlour=6.0).id for _ in range(2))
        give(change, ToGive(late, "top", begun))
        give(change, ToGive(done, "top", used))
        move(change, [begun], "jointed")
        move(change, [used], "used")
        found = match_shop(change.session)
        assert [(g.wish.build_id, g.offer.pair_id, g.reasons[0]) for g in found.best.given] == [
            (late, begun, "Already jointed for it.")
        ]
        assert [short.wish.build_id for short in found.shortages] == [soon]
        accept(change, to_give(found.best))
        assert {row.build_id for row in all_given(change.session)} == {late, done}


# Half the lower bout, 3 mm trim, 3 mm jointing; the body's length and 12 mm: common practice, no source.
LEAVES = {
    "parlour": (175, 476),
    "small concert": (178, 498),
    "concert": (186, 510),
    "auditorium": (197, 504),
    "dreadnought": (205, 520),
    "large auditorium": (209, 520),
    "jumbo": (222, 542),
    "classical": (191, 500),
}


def test_the_least_leaf_for_each_size(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        for name in LEAVES:
            new_build(change, label=name, outline={"name": name}, kind_wishes=ANY)
        found = match_shop(change.session)
    assert {short.wish.outline: short.wish.leaf_mm for short in found.shortages} == LEAVES


def test_what_to_buy_is_said_by_measures(tmp_path: Path) -> None:
    """A dreadnought of 508 by 397 mm asks for leaves of 205 by 520 mm: common practice, no source."""
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        wishes = {"top": {"woods": ["Sitka spruce"], "least_grade": "first"}, "back": None}
        new_build(change, label="one", outline={"name": "dreadnought"}, kind_wishes=wishes)
        laid_pair(change, parlour=6.0)
        found = match_shop(change.session)
        assert found.shortages[0].near == ("T1 has not been laid out for it yet.",)
        assert shopping_list(found.shortages) == (
            "1 × top set of Sitka spruce, leaves at least 205 mm wide and 520 mm long, First or better",
        )


def test_a_drawing_of_ones_own_is_measured_by_a_layout_of_it(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        wishes = {"top": {"woods": ["cedar"]}, "back": None}
        new_build(change, label="one", outline={"name": "our shape"}, kind_wishes=wishes)
        assert "leaves" not in shopping_list(match_shop(change.session).shortages)[0]
        laid_pair(change, our_shape=6.0)
        (buy,) = shopping_list(match_shop(change.session).shortages)
        assert "leaves at least 178 mm wide and 488 mm long" in buy


def test_a_reserved_pair_goes_to_whom_it_is_reserved_for(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        new_build(change, label="one", outline={"name": "parlour"}, kind_wishes=ANY)
        two = new_build(change, label="two", for_whom="Anna", outline={"name": "parlour"}, kind_wishes=ANY).id
        pair = laid_pair(change, parlour=6.0)
        edit_pair(change, pair.id, {"reserved_for": "anna"})
        found = match_shop(change.session)
        assert [(g.wish.build_id, g.offer.pair_id) for g in found.best.given] == [(two, pair.id)]
