"""Wanted instruments and matching, as pages: made, edited, matched, taken over, locked."""

import re

from asking import Browser

from laid_pairs import laid_pair
from seamlight.shop.builds import all_given, builds, edit_build, new_build, wishes_of
from seamlight.shop.history import history
from seamlight.shop.jobs import jobs
from seamlight.shop.readings import keep_reading
from seamlight.shop.shop import Shop
from seamlight.shop.wood import edit_pair

ONLY_TOP = {"top": {"woods": ["Sitka spruce"]}, "back": None}


def wanted(shop: Shop, label: str, wishes: object = ONLY_TOP, outline: str | None = "parlour") -> int:
    with shop.change("owner") as change:
        named = {"name": outline} if outline else None
        return new_build(change, label=label, outline=named, kind_wishes=wishes).id


def pairs(shop: Shop, *spare_mm: float) -> list[int]:
    with shop.change("owner") as change:
        return [laid_pair(change, parlour=spare).id for spare in spare_mm]


def given(shop: Shop) -> dict[int, tuple[int, bool]]:
    with shop.read() as session:
        return {row.build_id: (row.pair_id, row.locked) for row in all_given(session)}


def press_as_shown(owner: Browser, build: int, what: str, **fields: str):
    """Press a button of an instrument's page as it is now."""
    seen = re.search(r'name="version" value="(\d+)"', owner.get(f"/builds/{build}").text)
    assert seen
    return owner.press(f"/builds/{build}/{what}", version=seen[1], **fields)


def shown_plan(page: str, which: int = 0) -> str:
    return re.findall(r'name="plan" value="([^"]*)"', page)[which]


def test_an_instrument_is_added_and_edited(owner: Browser, shop: Shop) -> None:
    assert "No instrument is wanted yet" in owner.get("/builds").text
    answer = owner.press(
        "/builds/new",
        label="Anna's parlour",
        for_whom="Anna",
        outline="parlour",
        want_by="2027-03-01",
        top_wanted="yes",
        top_woods="Sitka spruce,  western redcedar,",
        top_grade="First",
        top_spare="1/8 in",
    )
    assert answer.headers["location"] == "/builds/1"
    with shop.read() as session:
        (row,) = builds(session)
        wishes = wishes_of(row)
    assert wishes.back is None
    assert wishes.top is not None
    assert wishes.top.woods == ("Sitka spruce", "western redcedar")
    assert (wishes.top.least_grade, round(wishes.top.spare_mm, 3)) == ("First", 3.175)
    form = owner.get("/builds/1/edit").text
    assert 'value="Sitka spruce, western redcedar"' in form
    assert 'value="3.2 mm"' in form
    assert owner.press("/builds/1/edit", label="Ben's", version="1", back_wanted="yes").status_code == 303
    answer = owner.press("/builds/1/edit", label="Cleo's", version="1")
    assert answer.status_code == 409
    assert "Cleo" in answer.text
    assert "Ben&#39;s" in owner.get("/builds/1").text


def test_what_cannot_be_is_said_beside_its_field(owner: Browser, shop: Shop) -> None:
    for fields, words in (
        ({"label": "  "}, "1 to 60 letters"),
        ({"label": "x", "want_by": "soon"}, "no day"),
        ({"label": "x", "want_by": "9999-12-31"}, "cannot be"),
        ({"label": "x", "top_wanted": "yes", "top_spare": "wide"}, "is not a length"),
        ({"label": "x", "top_wanted": "yes", "top_spare": "5 ft"}, "more room than any set has"),
        ({"label": "x", "top_wanted": "yes", "top_woods": ",".join("abcdefghijklmn")}, "more than 12 woods"),
    ):
        answer = owner.press("/builds/new", **fields)
        assert answer.status_code == 422
        assert words in answer.text
    with shop.read() as session:
        assert builds(session) == []


def test_no_such_instrument(owner: Browser) -> None:
    for path in ("/builds/7", "/builds/7/edit", "/builds/x"):
        assert owner.get(path).status_code == 404


def test_a_matching_is_shown_with_reasons_and_taken_over(owner: Browser, shop: Shop) -> None:
    one, two = wanted(shop, "one"), wanted(shop, "two")
    t1, t2 = pairs(shop, 6.0, 2.0)
    page = owner.get("/builds/match").text
    assert "2 of 2 wishes are filled" in page
    assert "Fits the parlour with 6.0 mm to spare beside, 10.0 at the ends." in page
    assert "Graded Master inside this outline." in page
    assert "The next best" in page
    assert owner.press("/builds/match", plan=shown_plan(page)).status_code == 303
    assert given(shop) == {one: (t1, False), two: (t2, False)}
    page = owner.get("/builds/match").text
    assert "The wood is given out like this already." in page
    assert "It has this wood now." in page


def test_the_second_best_can_be_taken(owner: Browser, shop: Shop) -> None:
    one = wanted(shop, "one")
    pairs(shop, 6.0, 5.0)
    page = owner.get("/builds/match").text
    best, second = shown_plan(page), shown_plan(page, 1)
    assert best != second
    owner.press("/builds/match", plan=second)
    assert given(shop) == {one: (int(second.rsplit(":", 1)[1]), False)}


def test_what_is_taken_over_is_what_was_shown(owner: Browser, shop: Shop) -> None:
    wanted(shop, "one")
    (t1,) = pairs(shop, 6.0)
    plan = shown_plan(owner.get("/builds/match").text)
    with shop.change("phone") as change:
        edit_pair(change, t1, {"reserved_for": "Ben"})
    answer = owner.press("/builds/match", plan=plan)
    assert answer.status_code == 422
    assert "changed since this matching was shown" in answer.text
    assert given(shop) == {}


def test_shortage_says_what_to_buy_and_lays_out_what_was_not(owner: Browser, shop: Shop) -> None:
    wanted(shop, "one", outline="dreadnought")
    wanted(shop, "two", outline=None)
    (t1,) = pairs(shop, 6.0)
    with shop.change("owner") as change:
        keep_reading(change, "read", {"leaf": {}}, pair_id=t1, says={"leaf": "a"})
    page = owner.get("/builds/match").text
    assert "T1 has not been laid out for it yet." in page
    assert "1 × top set of Sitka spruce, leaves at least 205 mm wide and 520 mm long" in page
    assert "two has no outline yet" in page
    assert "Lay out 1 for the dreadnought" in page
    answer = owner.press("/builds/match/lay-out", outline="dreadnought")
    assert answer.status_code == 303
    with shop.read() as session:
        assert jobs(session) == []  # it has no photograph that could be read


def test_given_by_hand_is_locked_and_matching_leaves_it(owner: Browser, shop: Shop) -> None:
    one = wanted(shop, "one")
    t1, t2 = pairs(shop, 6.0, 1.0)
    assert "Give it by hand" in owner.get(f"/builds/{one}").text
    assert press_as_shown(owner, one, "top/give", pair=str(t2)).status_code == 303
    assert given(shop) == {one: (t2, True)}
    page = owner.get("/builds/match").text
    assert "Locked by hand." in page
    assert press_as_shown(owner, one, "top/take-back").status_code == 422
    assert press_as_shown(owner, one, "top/unlock").status_code == 303
    assert "Fits the parlour with 6.0 mm" in owner.get("/builds/match").text
    assert press_as_shown(owner, one, "top/lock").status_code == 303
    assert given(shop)[one] == (t2, True)
    assert press_as_shown(owner, one, "top/burn").status_code == 404
    assert owner.press(f"/builds/{one}/neck/lock", version="1").status_code in (404, 422)
    assert "wood given: top T2" in owner.get(f"/builds/{one}").text
    assert t1 not in dict(given(shop).values())


def test_what_another_device_did_meanwhile_is_told_and_not_undone(owner: Browser, shop: Shop) -> None:
    one = wanted(shop, "one")
    t1, t2 = pairs(shop, 6.0, 5.0)
    for version in ({}, {"version": "0"}, {"version": "9" * 25}):
        for what in ("top/give", "top/take-back", "top/lock", "top/unlock", "delete"):
            answer = owner.press(f"/builds/{one}/{what}", pair=str(t1), **version)
            assert answer.status_code == (409 if version else 422), what
    assert owner.press(f"/builds/{one}/edit", label="mine").status_code == 409
    assert press_as_shown(owner, one, "top/give", pair=str(t1)).status_code == 303
    answer = owner.press(f"/builds/{one}/top/give", pair=str(t2), version="1")
    assert answer.status_code == 409
    assert "wood given" in answer.text
    for what in ("top/unlock", "top/take-back", "delete"):
        assert owner.press(f"/builds/{one}/{what}", version="1").status_code == 409
    assert given(shop) == {one: (t1, True)}


def test_wood_given_to_an_instrument_is_not_undone_as_if_the_instrument_were_new(
    owner: Browser, shop: Shop
) -> None:
    one = wanted(shop, "one")
    (t1,) = pairs(shop, 6.0)
    press_as_shown(owner, one, "top/give", pair=str(t1))
    with shop.read() as session:
        (line,) = [row.id for row in history(session, "build", one) if row.what == "wood given"]
        assert len(builds(session)) == 1
    answer = owner.press(f"/wood/pairs/{t1}/undo", line=str(line))
    assert answer.status_code == 422
    with shop.read() as session:
        assert len(builds(session)) == 1


def test_texts_longer_than_any_instrument_needs_are_refused_not_cut(owner: Browser, shop: Shop) -> None:
    for field, longest in (("for_whom", 80), ("notes", 4000), ("outline", 80), ("top_woods", 60)):
        fields = {"label": "x", "top_wanted": "yes", field: "w" * (longest + 1)}
        answer = owner.press("/builds/new", **fields)
        assert answer.status_code == 422, field
    with shop.read() as session:
        assert builds(session) == []


def test_a_deleted_instrument_frees_its_wood(owner: Browser, shop: Shop) -> None:
    one = wanted(shop, "one")
    (t1,) = pairs(shop, 6.0)
    press_as_shown(owner, one, "top/give", pair=str(t1))
    assert press_as_shown(owner, one, "delete").headers["location"] == "/builds"
    assert given(shop) == {}
    assert owner.get(f"/builds/{one}").status_code == 404


def test_an_older_instrument_without_wishes_is_shown(owner: Browser, shop: Shop) -> None:
    one = wanted(shop, "one", None, None)
    with shop.change("owner") as change:
        edit_build(change, one, {"notes": "<b>not bold</b>"})
    page = owner.get(f"/builds/{one}").text
    assert "&lt;b&gt;" in page
    assert "any wood that suits" in page
