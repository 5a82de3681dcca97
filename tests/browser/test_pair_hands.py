"""The pair's picture under a real finger (touch), a mouse and a keyboard, each doing all of it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import pytest
from benches import DESK, PHONE, Bench
from looking import assert_good_page
from playwright.sync_api import CDPSession, Page, Route, expect
from test_pair_picture import at_work, exact, kept, spare, tool

from seamlight.shop.choices import choice
from seamlight.shop.flaw_edits import flaw_edits
from seamlight.shop.tables import Pair

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "web"))
from filed_pair import file_pair

Window = Callable[..., Page]
Place = tuple[float, float]


@pytest.fixture
def pair(bench: Bench) -> Pair:
    """A top whose four faces were photographed, laid out for a parlour."""
    return file_pair(bench.shop, others=True)


class Finger:
    """One finger on the screen, as the browser gets it from a touch screen."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.session: CDPSession = page.context.new_cdp_session(page)

    def say(self, kind: str, place: Place | None = None) -> None:
        points = [] if place is None else [{"x": place[0], "y": place[1]}]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def down(self, place: Place) -> None:
        self.say("touchStart", place)

    def move(self, place: Place) -> None:
        self.say("touchMove", place)

    def up(self) -> None:
        self.say("touchEnd")


class Mouse:
    """The same, with a mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def down(self, place: Place) -> None:
        self.page.mouse.move(*place)
        self.page.mouse.down()

    def move(self, place: Place) -> None:
        self.page.mouse.move(*place)

    def up(self) -> None:
        self.page.mouse.up()


Hand = Finger | Mouse


def drawn(hand: Hand, places: Sequence[Place]) -> None:
    hand.down(places[0])
    for place in places[1:]:
        hand.move(place)
    hand.up()


def on(page: Page, share: Place) -> Place:
    """A place of the picture by its shares of width and height."""
    box = page.locator("svg.desk-picture").bounding_box()
    assert box is not None
    return box["x"] + share[0] * box["width"], box["y"] + share[1] * box["height"]


def line(start: Place, by: Place, steps: int = 6) -> list[Place]:
    return [(start[0] + by[0] * n / steps, start[1] + by[1] * n / steps) for n in range(steps + 1)]


def round_of(middle: Place, wide: float, high: float) -> list[Place]:
    turns = [n * pi / 12 for n in range(25)]
    return [(middle[0] + wide * cos(turn), middle[1] + high * sin(turn)) for turn in turns]


def placed(page: Page, bench: Bench, pair: Pair, before: dict[str, Any] | None) -> dict[str, Any]:
    """Where the choice lies, once it is kept and is not where it was."""
    for _ in range(200):
        with bench.shop.read() as session:
            row = choice(session, pair.id)
            if row is not None and row.placing is not None and row.placing != before:
                return dict(row.placing)
        page.wait_for_timeout(50)
    raise AssertionError("it was not kept")


def edits(bench: Bench, pair: Pair) -> dict[str, Any]:
    with bench.shop.read() as session:
        return {face: row.edits for face, row in flaw_edits(session, pair.id).items()}


@pytest.fixture(params=["finger", "mouse"])
def handed(request: pytest.FixtureRequest, window: Window, bench: Bench, pair: Pair) -> tuple[Page, Hand]:
    """The page and what works on it: a phone with a finger, a desk with a mouse."""
    if request.param == "finger":
        page = at_work(window(PHONE, is_mobile=True), bench, pair)
        return page, Finger(page)
    page = at_work(window(DESK), bench, pair)
    return page, Mouse(page)


def test_joint_outline_and_leaf_move_and_are_undone(
    handed: tuple[Page, Hand], bench: Bench, pair: Pair
) -> None:
    page, hand = handed
    exact(page)
    start, seen = spare(page), []
    for name, where, by in (
        ("joint", (0.75, 0.4), (7.0, 0.0)),
        ("outline", (0.7, 0.6), (0.0, 9.0)),
        ("leaf", (0.3, 0.5), (0.0, 8.0)),
    ):
        tool(page, name)
        before = page.evaluate("document.querySelector('.template').getAttribute('transform')")
        places = line(on(page, where), by)
        hand.down(places[0])
        for place in places[1:]:
            hand.move(place)
        # it follows while the finger is still down
        page.wait_for_function(
            "(was) => document.querySelector('.template').getAttribute('transform') !== was"
            " || document.querySelectorAll('.template')[1].getAttribute('transform') !== was",
            arg=before,
        )
        told = page.locator("[data-told=verdict]")
        assert told.get_attribute("data-rough") in ("yes", "no")
        hand.up()
        exact(page)
        seen.append(placed(page, bench, pair, seen[-1] if seen else None))
    joint, outline, leaf = seen
    assert joint["shift_mm"] != outline["shift_mm"]
    assert joint["offset_mm"] == outline["offset_mm"] == leaf["offset_mm"]
    assert leaf["slide_mm"] != outline["slide_mm"] == joint["slide_mm"]
    for _ in range(3):
        page.get_by_role("button", name="Undo").click()
    exact(page)
    assert spare(page) == pytest.approx(start, abs=0.06)
    page.get_by_role("button", name="Redo").click()
    exact(page)
    page.get_by_role("button", name="Back to the best").click()
    exact(page)
    assert spare(page) == pytest.approx(start, abs=0.06)


def test_the_joint_is_tilted_by_its_end(handed: tuple[Page, Hand], bench: Bench, pair: Pair) -> None:
    page, hand = handed
    grip = page.locator(".template[data-leaf=a] .grip").first.bounding_box()
    assert grip is not None
    place = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    middle = on(page, (0.5, 0.5))[0]
    drawn(hand, line(place, (-8.0 if place[0] < middle else 8.0, 0.0)))
    placing = kept(page, bench, pair).placing
    assert placing is not None
    assert abs(placing["tilt_deg"]) > 0.3


def test_a_flaw_of_the_other_face_is_drawn_reshaped_and_removed(
    handed: tuple[Page, Hand], bench: Bench, pair: Pair
) -> None:
    page, hand = handed
    page.locator(".ways > li", has_text="other faces showing").first.locator("button").click()
    exact(page)
    kept(page, bench, pair)
    tool(page, "flaws")
    expect(page.locator("[data-told=faces]")).to_contain_text("other faces show")
    names = page.locator(".leaf-name text").evaluate_all(
        "(all) => all.map((one) => [one.textContent, one.getAttribute('x')])"
    )
    left = next(name[0] for name, x in names if float(x) < 0)
    expect(page.locator("[data-told=side-left]")).to_have_text(f"leaf {left}, bass side")
    assert "other_a" in (page.locator(".leaf[data-leaf=a] image").get_attribute("href") or "")
    room = page.locator("[data-told=ends] b")
    was = room.text_content()
    page.locator("select[name=draw-kind]").select_option("wane")
    middle = on(page, (0.56, 0.03))  # over the neck end of the wood
    drawn(hand, round_of(middle, 26.0, 20.0))
    expect(room).not_to_have_text(was or "")
    exact(page)
    (face,) = edits(bench, pair)
    assert face in ("other_a", "other_b")
    count = page.locator(f".leaf[data-leaf={face[-1]}] .flaw")
    expect(count).to_have_count(3)
    drawn(hand, [middle, middle])
    picked = page.locator("[data-told=picked]")
    expect(picked).to_contain_text(f"Wane of leaf {face[-1].upper()}, other face")
    corner = page.locator(".corner").first.bounding_box()
    assert corner is not None
    at = corner["x"] + corner["width"] / 2, corner["y"] + corner["height"] / 2
    ring = edits(bench, pair)[face]["add"][0]["outline_mm"]
    drawn(hand, line(at, (12.0, 4.0)))
    expect(picked).to_be_hidden()
    assert edits(bench, pair)[face]["add"][0]["outline_mm"] != ring
    drawn(hand, [middle, middle])
    page.get_by_role("button", name="Remove it").click()
    expect(count).to_have_count(2)
    expect(room).to_have_text(was or "")
    page.get_by_role("button", name="Undo").click()
    expect(count).to_have_count(3)
    # laid open: what lies in a closed fold is measured where it is not
    page.evaluate("document.querySelectorAll('details.fold').forEach((fold) => { fold.open = true; })")
    assert_good_page(page)


def test_flaws_by_the_keyboard_alone(window: Window, bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    page.locator("input[name=tool][value=joint]").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(page.locator("input[name=tool][value=flaws]")).to_be_checked()
    page.locator("svg.desk-picture").focus()
    page.keyboard.press("Enter")
    picked = page.locator("[data-told=picked]")
    expect(picked).to_contain_text("of leaf A")
    ring = edits(bench, pair)["a"]["add"][0]["outline_mm"]
    for key in ("Shift+ArrowRight", "ArrowDown", "+", "c", "ArrowUp"):
        page.keyboard.press(key)
    expect(page.locator(".corner.held")).to_have_count(1)
    for _ in range(100):  # what was changed by keys is kept a moment after the last
        if edits(bench, pair)["a"]["add"][0]["outline_mm"] != ring:
            break
        page.wait_for_timeout(50)
    now = edits(bench, pair)["a"]["add"][0]["outline_mm"]
    assert now != ring
    expect(picked).to_be_visible()
    page.keyboard.press("Delete")
    expect(picked).to_be_hidden()
    assert edits(bench, pair)["a"] == {}
    page.keyboard.press("Control+z")
    expect(page.locator(".leaf[data-leaf=a] .flaw")).to_have_count(3)
    page.keyboard.press("n")
    expect(picked).to_contain_text("Knot of leaf A")
    page.keyboard.press("Escape")
    expect(picked).to_be_hidden()


def test_joint_and_outline_by_the_keyboard_alone(window: Window, bench: Bench, pair: Pair) -> None:
    page = at_work(window(DESK), bench, pair)
    exact(page)
    start = spare(page)
    page.locator("svg.desk-picture").focus()
    for key in ("ArrowLeft", "ArrowLeft", "Shift+ArrowUp", "]"):
        page.keyboard.press(key)
    exact(page)
    placing = kept(page, bench, pair).placing
    assert placing is not None
    assert abs(placing["tilt_deg"]) > 0.04
    for _ in range(4):
        page.keyboard.press("Control+z")
    exact(page)
    assert spare(page) == pytest.approx(start, abs=0.06)


def test_a_low_window_moves_the_joint_as_far_as_the_mouse(window: Window, bench: Bench, pair: Pair) -> None:
    """Where the picture stands in a wider window, a millimetre under the mouse is still a millimetre."""
    page = at_work(window({"width": 1280, "height": 560}), bench, pair)
    exact(page)
    mm_per_px = page.evaluate("1 / document.querySelector('svg.desk-picture').getScreenCTM().a")
    was = kept_or_best(page, pair)
    drawn(Mouse(page), line(on(page, (0.6, 0.4)), (6.0, 0.0)))
    now = kept(page, bench, pair).placing
    assert now is not None
    assert abs(now["offset_mm"] - was["offset_mm"]) == pytest.approx(6.0 * mm_per_px, rel=0.05)


def test_on_a_phone_the_picture_and_its_figure_stay_at_hand(window: Window, bench: Bench, pair: Pair) -> None:
    page = at_work(window(PHONE, is_mobile=True), bench, pair)
    strip = page.locator("[data-told=strip]")
    expect(strip).to_be_in_viewport()
    page.locator("#openings").evaluate("(one) => one.scrollIntoView({ block: 'end' })")
    expect(strip).to_be_in_viewport()
    expect(page.locator("svg.desk-picture")).to_be_in_viewport(ratio=0.9)
    row = page.locator(".ways")
    assert row.evaluate("(one) => one.scrollWidth > 2 * one.clientWidth")
    assert row.evaluate("(one) => one.clientHeight") < 0.36 * PHONE["height"]
    assert page.evaluate("document.documentElement.scrollHeight") < 3.5 * PHONE["height"]
    page.get_by_role("link", name="History").click()
    expect(page.locator("details.fold:has(#history)")).to_have_attribute("open", "")


def kept_or_best(page: Page, pair: Pair) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(
        f"fetch('/api/pairs/{pair.id}/work').then((one) => one.json()).then((one) => one.judged.placing)"
    )
    return found


def test_a_sheet_asked_for_at_once_is_of_the_last_move(window: Callable[..., Page], bench: Bench) -> None:
    page = at_work(window(DESK), bench, file_pair(bench.shop))
    exact(page)
    order: list[str] = []

    def slowly(route: Route) -> None:
        page.wait_for_timeout(400)
        route.continue_()

    page.route("**/choice", slowly)
    page.on("requestfinished", lambda asked: order.append("kept") if asked.method == "PUT" else None)
    page.on("request", lambda asked: order.append("sheet") if "marking.pdf" in asked.url else None)
    picture = page.locator("svg.desk-picture")
    picture.focus()
    picture.press("ArrowRight")
    page.wait_for_timeout(700)  # the choice is on its way
    picture.press("ArrowRight")
    expect(page.locator("[data-told=busy]")).to_have_text("")
    with page.expect_request("**/marking.pdf*"):
        page.locator("a[href*='marking.pdf']").first.click()
    assert order == ["kept", "kept", "sheet"]
