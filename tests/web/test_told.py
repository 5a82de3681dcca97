"""What the page says of changes in between and of the history: plain words, and only what changed."""

from __future__ import annotations

import html
import re

from asking import Browser
from filed_pair import file_pair

from seamlight.shop import builds
from seamlight.shop.history import history
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.web.told import told_names, told_rows


def main_text(page: str) -> str:
    """The words of a page."""
    main = re.search(r"<main.*</main>", page, re.S)
    assert main
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", main[0])).split())


def edited(owner: Browser, build_id: int, **changed: str) -> int:
    """Send an instrument's form back as it was shown, but for what is changed; the status."""
    page = owner.get(f"/builds/{build_id}/edit").text
    sent = dict(re.findall(r'<input[^>]* name="(\w+)"[^>]* value="([^"]*)"', page))
    ticks = re.findall(r'<input type="checkbox"[^>]* name="(\w+)"[^>]* checked', page)
    for name in re.findall(r'<input type="checkbox"[^>]* name="(\w+)"', page):
        sent.pop(name, None)
    sent |= dict.fromkeys(ticks, "yes") | {k: html.unescape(v) for k, v in sent.items() if k not in ticks}
    return owner.press(f"/builds/{build_id}/edit", **(sent | changed)).status_code


def test_notes_alone_change_notes_alone(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        builds.new_build(change, label="plain")
        builds.new_build(change, label="wishing", kind_wishes={"top": {"woods": ["spruce"], "spare_mm": 2.2}})
    for unit in ("mm", "inch"):
        with shop.change("owner") as change:
            keep_setting(change, "unit", unit)
        for number in (1, 2):
            assert edited(owner, number, notes=f"bevel, {unit}") == 303
            with shop.read() as session:
                line = history(session, "build", number)[0]
                assert (line.before or {}).keys() == (line.after or {}).keys() == {"notes"}


def test_a_conflict_is_told_in_words(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        builds.new_build(change, label="first")
    with shop.change("desk") as change:
        wished = {
            "top": {"woods": ["spruce", "cedar"], "least_grade": "First", "spare_mm": 2.0},
            "back": None,
        }
        builds.edit_build(change, 1, {"kind_wishes": wished, "outline": {"name": "parlour"}})
    answer = owner.press("/builds/1/edit", label="mine", version="1", top_wanted="yes")
    assert answer.status_code == 409
    said = main_text(answer.text)
    assert "top: spruce or cedar, First or better, 2.0 mm to spare; back: none wanted" in said
    assert "wood wished" in said
    assert "outline nothing parlour" in said
    assert "{" not in said
    assert "kind wishes" not in said


def test_a_setting_set_meanwhile_shows_both(owner: Browser, shop: Shop) -> None:
    owner.press("/shop/settings", shop_name="The Barn")
    answer = owner.press("/shop/settings", shop_name="The Shed", shop_name_version="0")
    assert answer.status_code == 409
    said = main_text(answer.text)
    assert "The Barn" in said
    assert "The Shed" in said


def test_a_grade_kept_meanwhile_shows_what_differs(owner: Browser, shop: Shop) -> None:
    def form(**changed: str) -> dict[str, str]:
        page = owner.get("/shop/grades").text
        return dict(re.findall(r'name="([\w-]+)" value="([^"]*)"', page)) | changed

    assert owner.press("/shop/grades", **form(**{"top-0-lines_per_inch": "21"})).status_code == 303
    mine = form(**{"top-0-lines_per_inch": "22"})
    assert owner.press("/shop/grades", **form(**{"top-0-lines_per_inch": "19"})).status_code == 303
    answer = owner.press("/shop/grades", **mine)
    assert answer.status_code == 409
    theirs = main_text(answer.text).partition("What you typed")[0]
    assert "top, 1, lines per inch" in theirs
    assert "21 19" in theirs
    assert "back" not in theirs


def test_names_that_follow_from_others_are_not_told() -> None:
    assert told_names(["label", "label_key", "kind_wishes"]) == ["label", "wood wished"]
    rows = told_rows({"price_minor": 8550, "currency": "EUR"}, {"price_minor": None}, ["price_minor"], "mm")
    assert rows == [("price", "85.50 EUR", "nothing")]


def test_the_history_of_a_pair_names_no_key(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop, label="first")
    owner.press(f"/wood/pairs/{pair.id}/edit", label="second", kind="top", version=str(pair.version))
    said = main_text(owner.get(f"/wood/pairs/{pair.id}").text)
    assert "label key" not in said
    assert "species key" not in said
