"""Grades and glue times as pages: the shop's own figures, kept and refused."""

import re

import pytest
from asking import Browser

from laid_pairs import laid_pair
from seamlight.shop.clamps import shop_glues
from seamlight.shop.glues import OWN, glue_of
from seamlight.shop.grade_rules import STARTING_RULES
from seamlight.shop.grading import keep_rules, shop_rules
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.web.glue_pages import parse_minutes, shown_minutes


def typed(page: str) -> dict[str, str]:
    """Every field of the grades' form as the page shows it."""
    form = page[page.index('action="/shop/grades"') : page.index("Keep, and grade")]
    found = {}
    for field in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]*)"', field), re.search(r'value="([^"]*)"', field)
        if name and ("checkbox" not in field or " checked" in field):
            found[name[1]] = value[1] if value else ""
    del found["csrf"]
    return found


def test_the_form_shown_is_the_form_kept(owner: Browser, shop: Shop) -> None:
    fields = typed(owner.get("/shop/grades").text)
    assert fields["top-0-lines_per_inch"] == "20"
    assert owner.press("/shop/grades", **fields).status_code == 303
    with shop.read() as session:
        assert shop_rules(session) == STARTING_RULES


def test_in_inches_too(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        keep_setting(change, "unit", "inch")
    fields = typed(owner.get("/shop/grades").text)
    assert fields["top-2-flaw_edge_mm"] == "25/64 in"
    owner.press("/shop/grades", **fields)
    with shop.read() as session:
        assert shop_rules(session).top[2].flaw_edge_mm == pytest.approx(9.92, abs=0.01)


def test_a_changed_threshold_grades_the_rack_anew_with_reasons(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        laid_pair(change, parlour=6.0)
    fields = typed(owner.get("/shop/grades").text)
    assert "Everything that was read reaches Master." in owner.get("/shop/grades/rack").text
    owner.press("/shop/grades", **{**fields, "top-0-lines_per_inch": "25", "top-0-name": "Finest"})
    page = owner.get("/shop/grades/rack").text
    assert "22 lines per inch (1.15 mm apart); Finest asks 25 or more." in page
    assert "But for this it would be Finest." in page
    assert "Not read, so it could still be held back by: runout, two-tone." in page


def test_a_grade_is_added_and_one_left_out(owner: Browser, shop: Shop) -> None:
    fields = typed(owner.get("/shop/grades").text)
    owner.press("/shop/grades", **{**fields, "top-3-name": "Third", "top-3-cracks": "yes"})
    with shop.read() as session:
        assert [step.name for step in shop_rules(session).top] == ["Master", "First", "Second", "Third"]
    fields = typed(owner.get("/shop/grades").text)
    assert fields["top-3-cracks"] == "yes"
    owner.press("/shop/grades", **{**fields, "top-1-name": ""})
    with shop.read() as session:
        assert [step.name for step in shop_rules(session).top] == ["Master", "Second", "Third"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"top-1-lines_per_inch": "30"}, "First asks more than Master"),
        ({"top-1-lines_per_inch": "many"}, "is no number"),
        ({"top-1-ring_to_face_deg": "100"}, "less than or equal to 90"),
        ({"top-0-flaw_open_mm": "big"}, "is not a length"),
        ({"back-0-name": "", "back-1-name": ""}, "no grade for a back has a name"),
        ({"top-1-name": "Master"}, "the same name"),
    ],
)
def test_rules_that_make_no_sense_are_refused_and_stay_typed(
    owner: Browser, shop: Shop, change: dict[str, str], words: str
) -> None:
    fields = typed(owner.get("/shop/grades").text)
    answer = owner.press("/shop/grades", **{**fields, **change})
    assert answer.status_code == 422
    assert words in answer.text
    assert typed(answer.text)["top-0-lines_per_inch"] == "20"
    with shop.read() as session:
        assert shop_rules(session) == STARTING_RULES


def test_two_devices_do_not_overwrite_each_other(owner: Browser, shop: Shop) -> None:
    fields = typed(owner.get("/shop/grades").text)
    with shop.change("phone") as change:
        keep_rules(change, STARTING_RULES)
    answer = owner.press("/shop/grades", **{**fields, "below": "Firewood"})
    assert answer.status_code == 409
    assert "set otherwise meanwhile" in answer.text


def test_the_starting_values_come_back(owner: Browser, shop: Shop) -> None:
    fields = typed(owner.get("/shop/grades").text)
    owner.press("/shop/grades", **{**fields, "below": "Firewood"})
    owner.press("/shop/grades/start")
    with shop.read() as session:
        assert shop_rules(session) == STARTING_RULES


GLUE = {
    "key": "pva",
    "name": "Yellow PVA",
    "clamp-least": "1 h",
    "clamp-usual": "2 h",
    "work-least": "24 h",
    "work-usual": "",
    "rest-least": "3 days",
    "rest-usual": "14 d",
}


def test_own_glue_times_are_kept_and_given_up(owner: Browser, shop: Shop) -> None:
    assert "from memory" in owner.get("/shop/glue").text
    assert owner.press("/shop/glue", version="0", **GLUE).status_code == 303
    with shop.read() as session:
        glue = glue_of("pva", shop_glues(session))
    assert (glue.clamp.usual_min, glue.work.usual_min, glue.rest.usual_min) == (120, 1440, 20160)
    assert (glue.clamp.standing, glue.least_temp_c) == (OWN, 10.0)
    assert "Give up our own figures" in owner.get("/shop/glue").text
    owner.press("/shop/glue/pva/forget")
    with shop.read() as session:
        assert glue_of("pva", shop_glues(session)).clamp.usual_min == 60


def test_a_glue_of_ones_own(owner: Browser, shop: Shop) -> None:
    owner.press("/shop/glue", version="0", **{**GLUE, "key": "", "name": "Rabbit-skin glue"})
    with shop.read() as session:
        assert glue_of("rabbit skin glue", shop_glues(session)).name == "Rabbit-skin glue"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"clamp-least": "soon"}, "is no time"),
        ({"clamp-usual": "30 min"}, "usual time is below the least"),
        ({"work-least": "10 min"}, "planed before it leaves the clamps"),
        ({"name": " "}, "a glue has a name"),
        ({"rest-usual": "99999 days"}, "no time to wait"),
        ({"clamp-least": "0"}, "no time to wait"),
    ],
)
def test_glue_times_that_cannot_be(owner: Browser, shop: Shop, change: dict[str, str], words: str) -> None:
    answer = owner.press("/shop/glue", **{**GLUE, **change})
    assert answer.status_code == 422
    assert words in answer.text
    with shop.read() as session:
        assert glue_of("pva", shop_glues(session)).clamp.usual_min == 60


@pytest.mark.parametrize("minutes", [5, 45, 60, 90, 1440, 2160, 4320, 10080, 100])
def test_a_time_shown_is_a_time_read(minutes: float) -> None:
    assert parse_minutes(shown_minutes(minutes), where="") == pytest.approx(minutes)
