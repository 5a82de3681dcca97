"""Before jointing, gluing and after the clamps, from the page of a pair's joint."""

from __future__ import annotations

import io
import re

import pytest
from asking import Browser, Clock
from filed_pair import file_pair
from pypdf import PdfReader

from seamlight.shop.air import newest_air, note_air
from seamlight.shop.clamps import in_clamps
from seamlight.shop.glues import SETTING_KEY
from seamlight.shop.readings import readings
from seamlight.shop.seam_after import AFTER
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.shop.wood import new_pair, pair
from seamlight.shop.zone import ZONE

CLOSED = "0, 0; 140, 0; 275, 0; 410, 0; 550, 0".replace("; ", "\n")


@pytest.fixture
def pair_id(shop: Shop) -> int:
    with shop.change("owner") as change:
        return new_pair(change, kind="top", species_common="western redcedar", thickness_mm=4.0).id


@pytest.fixture
def here(pair_id: int) -> str:
    return f"/wood/pairs/{pair_id}/seam"


def test_before_says_what_to_do_and_keeps_each_reading_with_its_date(
    owner: Browser, shop: Shop, clock: Clock, pair_id: int, here: str
) -> None:
    page = owner.get(here).text
    assert "Weigh both leaves" in page
    typed = {"cup_a": "0 0.5 0", "twist_a": "0.1", "cup_b": "0.1", "twist_b": "0 0 0 0.2", "grams_a": "160"}
    assert owner.press(f"{here}/before", **typed, grams_b="158.4").status_code == 303
    page = owner.get(here).text
    assert "Leaf A is cupped by 0.5 mm, more than 0.3 mm: sticker it" in page
    clock.wait(days=7)
    owner.press(f"{here}/before", cup_a="0.1", grams_a="157.0", grams_b="158.4")
    page = owner.get(here).text
    assert "cupped" not in page
    assert "Leaf A still loses 1.9 % a week" in page
    with shop.read() as session:
        rows = readings(session, pair_id=pair_id, verb="before")
    assert [row.at for row in rows] == [clock.now.replace(day=12), clock.now]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({}, "nothing was typed"),
        ({"cup_a": "0.1 0.2"}, "two gaps say no cup"),
        ({"twist_b": "0 0 0"}, "four corners"),
        ({"mc_a": "wet"}, "no figure"),
        ({"mc_a": "70"}, "no wood"),
        ({"grams_a": "-3"}, "cannot be"),
    ],
)
def test_what_cannot_be_is_one_line_and_nothing_is_kept(
    owner: Browser, shop: Shop, pair_id: int, here: str, typed: dict[str, str], says: str
) -> None:
    answer = owner.press(f"{here}/before", **typed)
    assert answer.status_code == 422
    assert says in answer.text
    with shop.read() as session:
        assert readings(session, pair_id=pair_id) == []


def test_gluing_stores_the_air_of_the_moment_and_the_clock_runs_on_today(
    owner: Browser, shop: Shop, pair_id: int, here: str
) -> None:
    owner.press(f"{here}/readings", readings=CLOSED)
    page = owner.get(here).text
    assert "Joining with yellow PVA" in page
    assert "If it goes wrong" in page
    answer = owner.press(f"{here}/glue", glue="pva", rh="46")
    assert answer.status_code == 422
    assert "the temperature was not read" in answer.text
    answer = owner.press(f"{here}/glue", glue="pva", temp="68 F", rh="46")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"
    with shop.read() as session:
        (row,) = in_clamps(session)
        air = newest_air(session)
        assert pair(session, pair_id).stage == "joined"
    assert (row.pair_id, row.temp_c, row.rh_pct) == (pair_id, pytest.approx(20.0), 46.0)
    assert air is not None
    assert air.rh_pct == 46.0
    assert "in the clamps" in owner.get("/").text.lower()
    page = owner.get(here).text
    assert re.search("at 20(\N{NO-BREAK SPACE}|&nbsp;)°C and 46 %", page)
    assert "May come out" in page
    assert "Squeeze-out: scrape it off" in page
    assert owner.press(f"{here}/glue", glue="pva", temp="20", rh="46").status_code == 422


def test_the_shops_own_figures_and_an_oily_woods_caution(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        number = new_pair(change, kind="back", species_common="Indian rosewood", thickness_mm=4.0).id
        note_air(change, 12.0, 46.0)
        spans = {
            "clamp": {"least_min": 90, "usual_min": 180},
            "work": {"least_min": 1440, "usual_min": 1440},
            "rest": {"least_min": 4320, "usual_min": 10080},
        }
        own = {"key": "pva", "name": "our PVA", "least_temp_c": 15, **spans}
        keep_setting(change, SETTING_KEY, [own])
    here = f"/wood/pairs/{number}/seam"
    owner.press(f"{here}/readings", readings=CLOSED)
    page = owner.get(here).text
    assert "Joining with our PVA" in page
    assert "90 to 180" in page
    assert "wipe them with acetone" in page
    assert re.search(r"verdict-short.*12 °C", page, re.DOTALL), "12 C suits the glue's sheet, not this shop"
    assert "Joining with epoxy" in owner.get(f"{here}?glue=epoxy").text
    assert owner.get(f"{here}?angle=60").status_code in (400, 422)


def test_an_oily_wood_that_the_tables_do_not_have_is_warned_of(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        number = new_pair(change, kind="back", species_common="cocobolo", thickness_mm=4.0).id
    here = f"/wood/pairs/{number}/seam"
    owner.press(f"{here}/readings", readings=CLOSED)
    assert "wipe them with acetone" in owner.get(here).text


def test_wood_that_is_too_wet_for_the_glue_is_said_where_glue_is_put_on(owner: Browser, here: str) -> None:
    owner.press(f"{here}/readings", readings=CLOSED)
    owner.press(f"{here}/before", mc_a="8", mc_b="8.5")
    assert "by meter" not in owner.get(here).text
    owner.press(f"{here}/before", mc_a="10,5", mc_b="10.5")
    assert (
        "Leaf A was at 10.5 % by meter, yellow PVA wants 6 to 9 %: let it dry first" in owner.get(here).text
    )
    owner.press(f"{here}/before", mc_a="14", mc_b="14")
    assert "Leaf A is at 14.0 %, over 12 %" in owner.get(here).text


def test_after_the_clamps_the_outline_is_fitted_again(owner: Browser, shop: Shop, here: str) -> None:
    rows = {"along": ["0", "100", "460"], "left": ["190", "190", "190"], "right": ["190", "150", "190"]}
    answer = owner.press(
        f"{here}/after", step="0.2", thick_now="3.4", thick_want="2.8", centre_neck="0", centre_tail="-0.2",
        outline="parlour", **rows,
    )  # fmt: skip
    assert answer.status_code == 303, answer.text
    with shop.read() as session:
        (row,) = readings(session, verb=AFTER)
    assert row.document["step"]["ok"] is True
    assert row.document["centre"]["tail_off_mm"] == -0.2
    assert row.document["fit"]["outline"] == "parlour"
    page = owner.get(here).text
    assert "yes: the step comes off with the rest" in page
    assert "on the seam at both ends" in page


def test_a_shop_in_inches_is_told_in_inches_before_and_after(owner: Browser, shop: Shop, here: str) -> None:
    with shop.change("owner") as change:
        keep_setting(change, "unit", "inch")
    owner.press(f"{here}/before", cup_a="0.02", twist_a="0")
    rows = {"along": ["0", "4", "18"], "left": ["7.5", "7.5", "7.5"], "right": ["7.5", "5", "7.5"]}
    answer = owner.press(
        f"{here}/after", step="0.04", thick_now="1/8", thick_want="0.11", centre_neck="0", centre_tail="1/8",
        outline="parlour", **rows,
    )  # fmt: skip
    assert answer.status_code == 303, answer.text
    page = owner.get(here).text
    assert "cupped by 1/64 in (0.020)" in page
    for line in ("Step at the seam: no", "Centre line: the centre line is 1/8 in", "half is short by"):
        assert line in page
    told = re.findall(r"(?:cupped|Step at the seam:|the centre line is|short by|was checked)[^<]*", page)
    assert len(told) >= 5
    assert not [line for line in told if " mm" in line]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"step": "0.2"}, "is needed to judge the step"),
        ({"centre_neck": "0.1"}, "one end alone"),
        ({"along": ["0", "400"], "left": ["190", ""], "right": ["190", "190"]}, "row 2 is not complete"),
        ({"along": ["400", "0"], "left": ["190", "190"], "right": ["190", "190"]}, "two places"),
    ],
)
def test_half_a_measurement_is_asked_for(
    owner: Browser, shop: Shop, here: str, typed: dict[str, object], says: str
) -> None:
    answer = owner.press(f"{here}/after", **typed)
    assert answer.status_code == 422
    assert says in answer.text
    with shop.read() as session:
        assert readings(session, verb=AFTER) == []


def test_the_line_to_saw_for_wedges_is_drawn_on_the_marking_sheet_of_the_shops_day(
    owner: Browser, shop: Shop, clock: Clock
) -> None:
    number = file_pair(shop).id
    with shop.change("owner") as change:
        keep_setting(change, ZONE, "Pacific/Kiritimati")
    clock.wait(hours=2)  # 11:30 on the 12th in UTC
    answer = owner.get(f"/wood/pairs/{number}/seam/wedges.pdf?angle=5")
    assert answer.status_code == 200
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    assert "line to saw for the wedges" in words
    assert "2026-03-13" in words


@pytest.mark.parametrize("form", ["png", "svg"])
def test_where_the_clamps_stand_is_drawn_and_taken_away(owner: Browser, here: str, form: str) -> None:
    assert owner.get(f"{here}/clamps.{form}").status_code == 404
    owner.press(f"{here}/readings", readings=CLOSED)
    page = owner.get(here).text
    assert "clamp-plan" in page
    assert re.search(r"\d clamps, 1\d\d, \d+ mm from the neck end, by turns under and over", page)
    answer = owner.get(f"{here}/clamps.{form}?glue=epoxy")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == {"png": "image/png", "svg": "image/svg+xml"}[form]
