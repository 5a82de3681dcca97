"""What stands beside a pair's picture: runout, two lights, how it is laid out, weights over time, papers."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from asking import Browser, Clock
from fastapi import FastAPI
from filed_pair import file_pair
from PIL import Image

from seamlight.layout.opening import LayoutSettings
from seamlight.mistake import Mistake
from seamlight.shop.choices import choice
from seamlight.shop.grading import readings_beside
from seamlight.shop.jobs import jobs
from seamlight.shop.laying_out import settings_for
from seamlight.shop.photos import newest_of
from seamlight.shop.runout import parse_runout
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import order_for
from seamlight.shop.two_tone import kept_tone
from seamlight.web.laid_with import settings_typed, typed_settings
from seamlight.web.work import Worker


@pytest.fixture
def pair(shop: Shop) -> Pair:
    """A top of two leaves, laid out for a parlour."""
    return file_pair(shop)


@pytest.mark.parametrize(
    ("typed", "degrees"), [("1.5", 1.5), ("1,5°", 1.5), ("1:28", 2.0454), ("1 in 28", 2.0454), ("0", 0.0)]
)
def test_a_runout_is_typed_as_degrees_or_a_slope(typed: str, degrees: float) -> None:
    assert parse_runout(typed) == pytest.approx(degrees, abs=1e-4)


@pytest.mark.parametrize("typed", ["", "steep", "45", "1:0", "-1", "2:28", "1:1"])
def test_what_is_no_runout_is_refused(typed: str) -> None:
    with pytest.raises(Mistake):
        parse_runout(typed)


def test_a_typed_runout_counts_in_the_grade_until_it_is_taken_back(
    owner: Browser, shop: Shop, pair: Pair
) -> None:
    here = f"/wood/pairs/{pair.id}"
    before = owner.get(here).text
    assert owner.press(f"{here}/runout", runout="1:10").status_code == 303
    steep = owner.get(here).text
    assert "1:10" in steep
    assert grade_of(steep) != grade_of(before)
    with shop.read() as session:
        assert readings_beside(session, pair.id)[pair.id].runout_deg == pytest.approx(5.71, abs=0.01)
    owner.press(f"{here}/runout/back")
    assert grade_of(owner.get(here).text) == grade_of(before)


def grade_of(page: str) -> str:
    return page.partition("<summary>Grade")[2].partition("</summary>")[0]


def test_a_runout_that_is_none_is_said_beside_its_field(owner: Browser, pair: Pair) -> None:
    answer = owner.press(f"/wood/pairs/{pair.id}/runout", runout="steep")
    assert answer.status_code == 422
    assert "&#39;steep&#39; is no runout" in answer.text
    assert 'value="steep"' in answer.text


def lit(left: int, right: int) -> bytes:
    """An opened pair on a dark bench, the halves as light as said."""
    rng = np.random.default_rng(4)
    rgb = np.full((700, 620, 3), 20, np.uint8)
    for at, level in ((40, left), (312, right)):
        grain = level + rng.normal(0, 3, (600, 266, 1)) + np.zeros((1, 1, 3))
        rgb[50:650, at : at + 266] = np.clip(grain, 0, 255).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(rgb).save(held, "PNG")
    return held.getvalue()


def test_two_lights_are_compared_in_the_background_and_counted(
    owner: Browser, shop: Shop, pair: Pair
) -> None:
    here = f"/wood/pairs/{pair.id}"
    assert "Add the pair lit from end 1 and from end 2" in owner.get(here).text
    add(owner, here, "tone_1", lit(170, 150))
    assert "Add the pair lit from end 2" in owner.get(here).text
    with shop.read() as session:
        assert jobs(session) == []
    add(owner, here, "tone_2", lit(150, 170))
    waiting = owner.get(here).text
    assert "Both lights are being compared" in waiting
    assert owner.get(f"/api/pairs/{pair.id}/reading").json()["live"] is True
    do_the_work(shop)
    with shop.read() as session:
        document = kept_tone(session, pair.id)
        assert document is not None
        assert document.cause == "runout"
        assert readings_beside(session, pair.id)[pair.id].contrast_pct == document.contrast_pct
    assert "it is runout" in owner.get(here).text
    assert owner.get(f"/api/pairs/{pair.id}/reading").json() == {
        "live": False,
        "state": "done",
        "says": "runout",
    }


def add(owner: Browser, here: str, role: str, data: bytes) -> None:
    files = {"files": ("light.png", data, "image/png")}
    assert owner.press(f"{here}/photos", files=files, photo_role=role).status_code == 303


def do_the_work(shop: Shop) -> None:
    worker = Worker(shop)
    worker.side.run = lambda call, *given, stop: call(*given)  # type: ignore[method-assign]
    while (job := worker._next()) is not None:
        worker._do(job)


def test_how_a_pair_is_laid_out_is_kept_judged_and_searched(owner: Browser, shop: Shop, pair: Pair) -> None:
    here = f"/wood/pairs/{pair.id}"
    owner.press(f"{here}/choose", outline="parlour", number="1", version="0")
    with shop.read() as session:
        before = choice(session, pair.id)
    assert before is not None
    said = {"trim": "5", "end_trim": "10 mm", "joint": "1/64", "match": "book", "wedge": "5", "version": "1"}
    assert owner.press(f"{here}/settings", **said).status_code == 303
    with shop.read() as session:
        kept = settings_for(session, pair.id, "top")
        chosen = choice(session, pair.id)
        assert order_for(shop, session, pair.id).place == kept
        assert [job.kind for job in jobs(session)] == ["read"]
    assert kept == LayoutSettings("top", "book", 5.0, 10.0, 0.396875, wedge_angle_deg=5.0)
    assert chosen is not None
    assert chosen.settings["trim_mm"] == 5.0
    assert chosen.placing == before.placing
    # two more to trim beside the outline, so much less to spare there
    assert chosen.document["spare_mm"] == pytest.approx(before.document["spare_mm"] - 2.0, abs=0.01)
    page = owner.get(here).text
    assert "5.0 mm trim, book-matched" in page
    assert "was not searched on this pair yet" in page  # the old search was another


def test_a_second_device_is_told_of_the_choice_before_settings_change_it(
    owner: Browser, shop: Shop, pair: Pair
) -> None:
    here = f"/wood/pairs/{pair.id}"
    owner.press(f"{here}/choose", outline="parlour", number="1", version="0")
    owner.press(f"{here}/choose", outline="parlour", number="2", version="1")
    late = owner.press(f"{here}/settings", trim="5", version="1")
    assert late.status_code == 409
    with shop.read() as session:
        assert settings_for(session, pair.id, "top") == LayoutSettings()


@pytest.mark.parametrize(
    ("field", "typed"), [("trim", "wide"), ("end_trim", "900"), ("wedge", "slim"), ("wedge", "60")]
)
def test_settings_that_cannot_be_are_said_beside_their_field(
    owner: Browser, shop: Shop, pair: Pair, field: str, typed: str
) -> None:
    answer = owner.press(f"/wood/pairs/{pair.id}/settings", **{field: typed})
    assert answer.status_code == 422
    assert f'id="{field}"' in answer.text.partition("aria-invalid")[0].rpartition("<div")[2]
    with shop.read() as session:
        assert settings_for(session, pair.id, "top") == LayoutSettings()


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_settings_sent_back_as_shown_stay_to_the_last_bit(unit: str) -> None:
    now = LayoutSettings(trim_mm=3.3, end_trim_mm=6.05, joint_mm=1.0)
    assert settings_typed(typed_settings(now, unit), now, unit) == now  # type: ignore[arg-type]
    wedge = settings_typed({**typed_settings(now, unit), "wedge": "4,5"}, now, unit)  # type: ignore[arg-type]
    assert wedge == replace(now, wedge_angle_deg=4.5)


def test_weights_over_time_are_a_curve_to_look_at_and_to_take_away(
    owner: Browser, pair: Pair, clock: Clock
) -> None:
    here = f"/wood/pairs/{pair.id}"
    assert owner.get(f"{here}/weights.svg").status_code == 404
    owner.press(f"{here}/weigh", weighed_leaf="both", grams="400")
    assert "weight-chart" not in owner.get(here).text
    clock.wait(days=7)
    owner.press(f"{here}/weigh", weighed_leaf="both", grams="396")
    page = owner.get(here).text
    assert "Both leaves: still loses 1.0 % a week" in page
    clock.wait(days=7)
    owner.press(f"{here}/weigh", weighed_leaf="both", grams="395.8")
    assert "Both leaves: steady, 0.1 % a week" in owner.get(here).text
    svg, png = owner.get(f"{here}/weights.svg"), owner.get(f"{here}/weights.png")
    assert svg.text.startswith("<?xml")
    assert svg.headers["content-disposition"].startswith("attachment")
    assert Image.open(io.BytesIO(png.content)).size[0] > 1000


def test_a_label_of_any_letters_names_files(app: FastAPI, owner: Browser, shop: Shop) -> None:
    odd = file_pair(shop, label='木 "1"; x=é')
    for form in ("picture.png", "marking.pdf"):
        answer = owner.get(f"/wood/pairs/{odd.id}/{form}")
        assert answer.status_code == 200
        said = answer.headers["content-disposition"]
        assert said.count('"') == 2
        assert "filename*=UTF-8''%E6%9C%A8" in said


def test_a_paper_of_any_kind_is_saved_never_shown_and_can_be_taken_away(
    owner: Browser, shop: Shop, pair: Pair
) -> None:
    here = f"/wood/pairs/{pair.id}"
    files = {"files": ("bill.html", b"<script>alert(1)</script>", "text/html")}
    assert owner.press(f"{here}/photos", files=files, photo_role="paper").status_code == 303
    with shop.read() as session:
        paper = newest_of(session, pair.id, "paper")
    assert paper is not None
    sent = owner.get(f"/files/{paper.file_sha256}")
    assert sent.headers["content-type"] == "application/octet-stream"
    assert sent.headers["content-disposition"].startswith("attachment")
    assert f"/photos/{paper.id}/away" in owner.get(here).text
    owner.press(f"{here}/photos/{paper.id}/away")
    assert "bill.html" not in owner.get(here).text.partition("History")[0]
