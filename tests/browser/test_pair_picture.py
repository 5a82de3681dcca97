"""The pair's picture under a finger, a mouse and a keyboard, in a real browser."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from benches import DESK, PHONE, Bench
from looking import assert_good_page
from playwright.sync_api import Page, expect

from seamlight.shop.choices import choice, keep_choice
from seamlight.shop.flaw_edits import flaw_edits
from seamlight.shop.tables import Choice, Pair

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "web"))
from filed_pair import LONG, WIDE, file_pair

MOST_APART_MM = 0.02  # of the quick figure and the exact one


@pytest.fixture
def pair(bench: Bench) -> Pair:
    """A top of two leaves, laid out for a parlour."""
    return file_pair(bench.shop)


def at_work(page: Page, bench: Bench, pair: Pair) -> Page:
    page.goto(f"{bench.address}/wood/pairs/{pair.id}")
    page.locator(".desk.alive").wait_for()
    return page


def spare(page: Page) -> float:
    """The room to spare as the page says it."""
    said = page.locator("[data-told=spare] b").inner_text()
    return float(said.replace("\N{MINUS SIGN}", "-").removesuffix("mm"))


def drag(page: Page, start: tuple[float, float], by: tuple[float, float], steps: int = 8) -> None:
    """From a place of the picture (shares of its width and height) by so many px."""
    box = page.locator("svg.desk-picture").bounding_box()
    assert box is not None
    x, y = box["x"] + start[0] * box["width"], box["y"] + start[1] * box["height"]
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, steps + 1):
        page.mouse.move(x + by[0] * step / steps, y + by[1] * step / steps)
    page.mouse.up()


def exact(page: Page) -> None:
    """Wait until the shop's own figure has taken the place of the quick one."""
    expect(page.locator("[data-told=verdict]")).to_have_attribute("data-rough", "no")


def kept(page: Page, bench: Bench, pair: Pair) -> Choice:
    """The choice, once the page says that it is kept."""
    expect(page.locator("[data-told=busy]")).to_have_text("Kept.")
    with bench.shop.read() as session:
        found = choice(session, pair.id)
    assert found is not None
    return found


def tool(page: Page, name: str) -> None:
    page.locator(f"label:has(input[name=tool][value={name}])").click()


def test_a_drag_changes_the_spare_figure(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    exact(page)
    before = spare(page)
    left = page.locator(".desk-sides span").first.inner_text()
    inward = 1 if left.startswith("leaf B") else -1  # leaf A's half is the right one, or the left
    drag(page, (0.75 if inward > 0 else 0.25, 0.4), (inward * 6.0, 0))
    exact(page)
    after = spare(page)
    assert 0.5 < before - after < 8
    found = kept(page, bench, pair)
    assert found.document["spare_mm"] == pytest.approx(after, abs=0.06)
    page.reload()
    page.locator(".desk.alive").wait_for()
    exact(page)
    assert spare(page) == pytest.approx(after, abs=0.06)
    page.get_by_role("button", name="Undo").click()
    exact(page)
    assert spare(page) == pytest.approx(before, abs=0.06)
    page.keyboard.press("Control+Shift+z")
    exact(page)
    assert spare(page) == pytest.approx(after, abs=0.06)
    page.get_by_role("button", name="Back to the best").click()
    exact(page)
    assert spare(page) == pytest.approx(before, abs=0.06)


def test_the_joint_is_tilted_by_its_end(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    box = page.locator("svg.desk-picture").bounding_box()
    grip = page.locator(".template[data-leaf=a] .grip").first.bounding_box()
    assert box is not None
    assert grip is not None
    place = (
        (grip["x"] + grip["width"] / 2 - box["x"]) / box["width"],
        (grip["y"] + grip["height"] / 2 - box["y"]) / box["height"],
    )
    outward = -1 if place[0] < 0.5 else 1
    drag(page, place, (outward * 8.0, 0))
    found = kept(page, bench, pair)
    assert found.placing is not None
    assert abs(found.placing["tilt_deg"]) > 0.3
    planed = found.document["leaves"]["a"]["planing_mm"]
    assert abs(planed["end1"] - planed["end2"]) > 2


def test_the_quick_figure_is_the_exact_one(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    rng = np.random.default_rng(5)
    placings = []
    for one in _work(page, pair)["openings"]:
        for _ in range(4):
            placings.append(
                {
                    **one["placing"],
                    "tilt_deg": float(rng.normal(0, 0.1)),
                    "offset_mm": one["placing"]["offset_mm"] + float(rng.uniform(1, 14)),
                    "shift_mm": one["placing"]["shift_mm"] + float(rng.normal(0, 6)),
                    "slide_mm": float(rng.normal(1, 3)),
                }
            )
    told = page.evaluate(
        """async ([pair, placings]) => {
          const { quick } = await import("/static/pair/judge.js");
          const { ask } = await import("/static/ask.js");
          const { facts } = await ask(`/api/pairs/${pair}/work?outline=parlour`);
          const told = [];
          for (const placing of placings) {
            const json = { outline: "parlour", placing };
            const { opening } = await ask(`/api/pairs/${pair}/judge`, { method: "POST", json });
            const { spare, endSpare, fits, flaws, leaves } = quick(facts, placing);
            told.push({ spare, endSpare, fits, flaws, planed: leaves.map((l) => l.planed.most), opening });
          }
          return told;
        }""",
        [pair.id, placings],
    )
    for one in told:
        opening = one["opening"]
        assert one["spare"] == pytest.approx(opening["spare_mm"], abs=MOST_APART_MM)
        assert one["endSpare"] == pytest.approx(opening["end_spare_mm"], abs=MOST_APART_MM)
        assert one["fits"] == opening["fits"]
        for quick, leaf in zip(one["planed"], "ab", strict=True):
            assert quick == pytest.approx(opening["leaves"][leaf]["planing_mm"]["most"], abs=MOST_APART_MM)
        here = {(flaw["leaf"], flaw["index"], flaw["zone"]) for flaw in one["flaws"]}
        assert here == {(flaw["leaf"], flaw["flaw"], flaw["zone"]) for flaw in opening["flaws_inside"]}
    assert {one["fits"] for one in told} == {True, False}


def test_a_flaw_is_drawn_reshaped_and_taken_back(
    window: Callable[..., Page], bench: Bench, pair: Pair
) -> None:
    page = at_work(window(PHONE), bench, pair)
    tool(page, "flaws")
    page.locator("select[name=draw-kind]").select_option("crack")
    box = page.locator("svg.desk-picture").bounding_box()
    assert box is not None
    x, y = box["x"] + 0.78 * box["width"], box["y"] + 0.55 * box["height"]
    page.mouse.move(x + 12, y)
    page.mouse.down()
    for step in range(25):
        page.mouse.move(x + 12 * cos(step * pi / 12), y + 16 * sin(step * pi / 12))
    page.mouse.up()
    lines = page.locator("[data-told=flaws]")
    expect(lines).to_contain_text(re.compile("Crack of leaf [AB] lies in the open"))
    (leaf,) = _edits(bench, pair)
    (crack,) = _edits(bench, pair)[leaf]["add"]
    across = np.ptp(np.array(crack["outline_mm"])[:, 0])
    page.mouse.click(x, y)
    expect(page.locator("[data-told=picked]")).to_be_visible()
    corner = page.locator(".corner").first.bounding_box()
    assert corner is not None
    page.mouse.move(corner["x"] + 5, corner["y"] + 5)
    page.mouse.down()
    page.mouse.move(corner["x"] + 25, corner["y"] + 5, steps=4)
    page.mouse.up()
    page.wait_for_function("() => document.querySelector('[data-told=picked]').hidden")
    reshaped = _edits(bench, pair)[leaf]["add"][0]["outline_mm"]
    assert np.ptp(np.array(reshaped)[:, 0]) != pytest.approx(across, abs=1)
    for _ in range(2):
        page.get_by_role("button", name="Undo").click()
        page.wait_for_timeout(300)
    expect(lines).not_to_contain_text("Crack")
    assert _edits(bench, pair)[leaf] == {}
    page.get_by_role("button", name="Redo").click()
    expect(lines).to_contain_text("Crack")


def test_a_found_flaw_is_taken_away(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    tool(page, "flaws")
    flaw = page.locator(".leaf[data-leaf=a] .flaw").first.bounding_box()
    assert flaw is not None
    page.mouse.click(flaw["x"] + flaw["width"] / 2, flaw["y"] + flaw["height"] / 2)
    page.get_by_role("button", name="Remove it").click()
    expect(page.locator(".leaf[data-leaf=a] .flaw")).to_have_count(0)
    assert _edits(bench, pair) == {"a": {"drop": [0]}}


def test_the_outline_is_moved_until_the_knot_falls_in_the_soundhole(
    window: Callable[..., Page], bench: Bench, pair: Pair
) -> None:
    page = at_work(window(PHONE), bench, pair)
    lines = page.locator("[data-told=flaws]")
    _choose_with_the_knot_at_the_joint(page, pair)
    expect(lines).to_contain_text("leaf A falls in the soundhole")
    tool(page, "outline")
    # out of it by the finger ...
    up = _knot_leaves(page, pair)
    drag(page, (0.7, 0.5), (0, up))
    expect(lines).not_to_contain_text("leaf A falls in the soundhole")
    exact(page)
    # ... and back into it by the keyboard
    page.locator("svg.desk-picture").focus()
    key = "Shift+ArrowDown" if up < 0 else "Shift+ArrowUp"
    for _ in range(30):
        if "leaf A falls in the soundhole" in (lines.text_content() or ""):
            break
        page.keyboard.press(key)
    expect(lines).to_contain_text("Knot of leaf A falls in the soundhole and is cut out")
    expect(page.locator("[data-told=strip]")).to_contain_text("in the soundhole")
    exact(page)
    found = kept(page, bench, pair)
    zones = {(one["leaf"], one["zone"]) for one in found.document["flaws_inside"]}
    assert ("a", "soundhole") in zones


def test_leaf_b_slides_and_arrows_nudge(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    lying = _work(page, pair)["judged"]["placing"]
    tool(page, "leaf")
    drag(page, (0.3, 0.5), (0, 10.0))
    moved = kept(page, bench, pair).placing
    assert moved is not None
    assert abs(moved["slide_mm"] - lying["slide_mm"]) > 2
    assert moved["offset_mm"] == lying["offset_mm"]
    page.locator("summary", has_text="small steps").click()
    page.get_by_role("button", name="Joint line: in").click()
    inward = page.locator("input[name=inward]")
    expect(inward).to_have_value("0.50 mm")
    exact(page)
    before = spare(page)
    inward.fill("1/16 in")
    inward.press("Enter")
    expect(inward).to_have_value("1.59 mm")
    exact(page)
    assert spare(page) == pytest.approx(before - 25.4 / 16 + 0.5, abs=0.11)
    inward.fill("a bit")
    inward.press("Enter")
    expect(page.locator("[data-told=trouble]")).to_contain_text("a bit is no figure")


def test_the_later_device_is_told(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    other = _work(page, pair)["openings"][2]
    with bench.shop.change("the phone") as change:
        keep_choice(
            change,
            pair.id,
            outline={"name": "parlour"},
            opening={"joint_edge": "left"},
            document={"spare_mm": 1.0},
            placing=other["placing"],
            expected_version=0,
        )
    drag(page, (0.75, 0.4), (5.0, 0))
    told = page.locator("[data-told=conflict]")
    expect(told).to_contain_text("the phone changed it")
    with bench.shop.read() as session:
        theirs = choice(session, pair.id)
    assert theirs is not None
    assert theirs.placing == other["placing"]
    mine = page.locator("[data-told=spare] b").inner_text()
    page.get_by_role("button", name="Keep mine instead").click()
    found = kept(page, bench, pair)
    assert found.version == 2
    assert f"{found.document['spare_mm']:.1f} mm" == mine.replace("\N{MINUS SIGN}", "-")


def test_a_move_without_a_connection_is_sent_later(
    window: Callable[..., Page], bench: Bench, pair: Pair
) -> None:
    page = at_work(window(DESK), bench, pair)
    page.context.set_offline(True)
    drag(page, (0.75, 0.4), (5.0, 0))
    expect(page.locator("[data-told=trouble]")).to_contain_text("No connection to the shop")
    with bench.shop.read() as session:
        assert choice(session, pair.id) is None
    page.context.set_offline(False)
    found = kept(page, bench, pair)
    assert found.placing is not None


def test_another_outline_is_tried_on(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    page.get_by_label("Try another outline").select_option("classical")
    found = kept(page, bench, pair)
    assert found.outline == {"name": "classical"}
    exact(page)
    expect(page.locator("[data-outline-name]").first).to_have_text("classical")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("[data-outline-name]").first).to_have_text("parlour")


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (DESK, True)])
def test_the_page_is_good(
    window: Callable[..., Page], bench: Bench, pair: Pair, size: dict[str, int], dark: bool
) -> None:
    page = at_work(window(size, dark=dark), bench, pair)
    exact(page)
    for fold in page.locator("details.fold > summary").all():
        fold.click()
    assert_good_page(page)
    tool(page, "flaws")
    assert_good_page(page)


def test_without_scripts_it_chooses_and_shows(window: Callable[..., Page], bench: Bench, pair: Pair) -> None:
    page = window(PHONE, java_script_enabled=False)
    page.goto(f"{bench.address}/wood/pairs/{pair.id}")
    assert page.locator(".desk-window img").is_visible()
    page.locator("summary", has_text="small steps").click()
    assert page.get_by_label("Joint line", exact=True).is_visible()
    page.get_by_role("button", name="Choose this one").nth(1).click()
    expect(page.locator(".said")).to_contain_text("Opening 2 is chosen")
    with bench.shop.read() as session:
        assert choice(session, pair.id) is not None


def _work(page: Page, pair: Pair) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(
        page.evaluate(f"async () => (await fetch('/api/pairs/{pair.id}/work')).text()")
    )
    return found


def _choose_with_the_knot_at_the_joint(page: Page, pair: Pair) -> None:
    """The knot lies near leaf A's right edge, a third down from end 1."""
    for one in _work(page, pair)["openings"]:
        if (one["placing"]["joint_edge"], one["placing"]["neck_end"]) == ("right", 1):
            page.locator(f"form[data-number='{one['number']}'] button").click()
            return
    raise AssertionError("no such opening")


def _edits(bench: Bench, pair: Pair) -> dict[str, Any]:
    with bench.shop.read() as session:
        return {leaf: row.edits for leaf, row in flaw_edits(session, pair.id).items()}


def _knot_leaves(page: Page, pair: Pair) -> float:
    """px up or down that take leaf A's knot surely out of the soundhole, along the nearer way."""
    facts = _work(page, pair)["facts"]
    assert facts["zones"]["soundhole_mm"] == 100
    box = page.locator("svg.desk-picture").bounding_box()
    assert box is not None
    per_mm = box["height"] / (LONG + 20)
    assert box["width"] / per_mm > 2 * WIDE
    return 75 * per_mm
