"""A joint shot on a phone: from the upload to the advice, its ends marked by hand, the forms."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from benches import DESK, PHONE, Bench
from looking import assert_good_page
from PIL import Image
from playwright.sync_api import Page, expect

from seamlight.demo.seam_light import CandledJoint, Candling, film_joint, photograph_joint, write_film
from seamlight.photo import Picture
from seamlight.seam import read_light
from seamlight.shop.readings import readings
from seamlight.shop.seam_bench import joint_readings
from seamlight.shop.wood import new_pair

LENGTH = 300.0
S = np.linspace(0.0, 1.0, 601)
SHIMS = 0.05 + 0.1 * S
HOLLOW = SHIMS + 0.15 * (1 - (2 * S - 1) ** 2)
VIEW = Candling(px_per_mm=4.0, across_mm=50.0, slant_deg=1.2)


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A hollow, and two joints in one picture, in which no one seam can be found."""
    folder = tmp_path_factory.mktemp("joints")
    shots = {"hollow": CandledJoint(HOLLOW, LENGTH), "two": CandledJoint(HOLLOW, LENGTH, extra_at_mm=12.0)}
    paths = {name: folder / f"{name}.jpg" for name in shots}
    for name, joint in shots.items():
        Image.fromarray(photograph_joint(joint, VIEW, 11).rgb).save(paths[name], quality=95)
    return paths


@pytest.fixture
def address(bench: Bench) -> str:
    """The page of a new pair's joint."""
    with bench.shop.change("owner") as change:
        number = new_pair(change, kind="top", species_common="western redcedar", thickness_mm=4.0).id
    return f"{bench.address}/wood/pairs/{number}/seam"


def test_a_picture_on_the_phone_becomes_advice_and_the_next_lies_over_it(
    bench: Bench, address: str, window: Callable[..., Page], pictures: dict[str, Path]
) -> None:
    page = window(PHONE)
    page.goto(address)
    assert_good_page(page)
    for number in (1, 2):
        page.set_input_files("#photos", str(pictures["hollow"]))
        page.get_by_label("Length of the joint").fill("300")
        page.get_by_label("Shims at neck and tail").fill("0.05 0.15")
        page.get_by_role("button", name="Read the light").click()
        expect(page.locator(".seam-history li")).to_have_count(2 if number == 2 else 0)
        expect(page.locator(".seam-verdict")).to_contain_text("hollow, widest 0.1")
        expect(page.locator(".seam-shown img")).to_be_visible()
        assert_good_page(page)
    expect(page.locator(".line-before")).to_have_count(1)
    expect(page.get_by_label("Shims at neck and tail")).to_have_value("0.05 0.15")
    with bench.shop.read() as session:
        assert len(readings(session, verb="seam")) == 2
    for size in (PHONE, DESK):
        dark = window(size, dark=True)
        dark.goto(address)
        assert_good_page(dark)


def test_where_two_seams_are_seen_the_right_one_is_marked_by_finger_and_keys(
    bench: Bench, address: str, window: Callable[..., Page], pictures: dict[str, Path]
) -> None:
    page = window(PHONE)
    page.goto(address)
    page.set_input_files("#photos", str(pictures["two"]))
    page.get_by_label("Length of the joint").fill("300")
    page.get_by_label("Shims at neck and tail").fill("0.05 0.15")
    page.get_by_role("button", name="Read the light").click()
    expect(page.locator("[data-seam-wrong]")).to_contain_text("two lines of light are in the picture")
    with bench.shop.read() as session:
        assert readings(session) == []

    shown = page.locator(".ends-picture svg")
    expect(shown).to_be_visible()  # the picture stayed chosen, its fold opened by itself
    assert_good_page(page)
    shot = photograph_joint(CandledJoint(HOLLOW, LENGTH), VIEW, 11)
    high, wide = shot.rgb.shape[:2]
    box = shown.bounding_box()
    assert box is not None
    for x, y in shot.ends_px:
        shown.click(position={"x": x / wide * box["width"], "y": y / high * box["height"]})
    field = page.get_by_label("Both ends in the picture")
    marked = [float(part) for part in field.input_value().replace(",", " ").split()]
    assert marked == pytest.approx(np.ravel(shot.ends_px), abs=2 * wide / box["width"])
    tail = page.get_by_role("button", name="tail end")
    tail.focus()
    page.keyboard.press("Shift+ArrowRight")
    assert float(field.input_value().split()[1].split(",")[0]) == pytest.approx(marked[2] + 1, abs=0.6)
    page.get_by_role("button", name="Read the light").click()
    expect(page.locator(".seam-verdict")).to_contain_text("hollow")
    with bench.shop.read() as session:
        (row,) = readings(session, verb="seam")
        assert joint_readings(session, row.pair_id or 0)[0].document.shape == "hollow"


def test_feeling_gluing_and_the_look_afterwards_on_the_phone(
    address: str, window: Callable[..., Page]
) -> None:
    page = window(PHONE)
    page.goto(address)
    page.get_by_text("Type straightedge and feeler readings").click()
    page.get_by_label("Readings").fill("0, 0\n150, 0\n300, 0")
    page.get_by_role("button", name="Judge them").click()
    expect(page.locator(".seam-verdict")).to_contain_text("Glue: closed")
    page.evaluate("for (const fold of document.querySelectorAll('details.fold')) fold.open = true")
    assert_good_page(page)
    page.get_by_label("Front face at place 1").fill("0.1")
    for place in range(2, 6):
        page.get_by_label(f"Front face at place {place}").fill("0")
    page.get_by_role("button", name="Judge both faces").click()
    expect(page.locator(".line-before")).to_have_count(1)
    page.evaluate("for (const fold of document.querySelectorAll('details.fold')) fold.open = true")
    page.get_by_role("button", name="Take it away").first.click()
    page.get_by_label("Temperature now").fill("20")
    page.get_by_label("Humidity now").fill("45")
    page.get_by_role("button", name="Glue is on").click()
    expect(page.locator(".said")).to_contain_text("20 °C and 45 % noted")
    page.goto(address)
    expect(page.get_by_role("heading", name="In the clamps")).to_be_visible()
    page.get_by_text("Write what you measured on the joined plate").click()
    page.get_by_label("Centre line off the seam, neck end").fill("0")
    page.get_by_label("Centre line off the seam, tail end").fill("1.2")
    page.get_by_role("button", name="fit the outline again").click()
    expect(page.get_by_text("the centre line is 1.2 mm off the seam")).to_be_visible()
    assert_good_page(page)


def test_each_picture_and_a_films_first_frame_are_marked_with_the_middle(
    address: str, window: Callable[..., Page], pictures: dict[str, Path], tmp_path: Path
) -> None:
    page = window(PHONE)
    page.goto(address)
    page.get_by_text("Mark its ends or its middle").click()
    page.set_input_files("#photos", [str(pictures["hollow"]), str(pictures["two"])])
    blocks = page.locator(".marks-picture")
    expect(blocks).to_have_count(2)
    second = blocks.nth(1).locator(".ends-picture svg")
    expect(second).to_be_visible()
    second.scroll_into_view_if_needed()
    for x in (20, 300):
        second.click(position={"x": x, "y": 15})
    ends = page.get_by_label("Both ends in the picture")
    assert re.fullmatch(r"-; \d+,\d+ \d+,\d+", ends.input_value())
    blocks.nth(0).get_by_role("button", name="Mark its middle too").click()
    blocks.nth(0).locator(".ends-picture svg").click(position={"x": 150, "y": 15})
    middle = page.get_by_label("Its middle in the picture")
    assert re.fullmatch(r"\d+,\d+", middle.input_value())
    assert ends.input_value().startswith("-; ")
    assert_good_page(page)
    blocks.nth(0).get_by_role("button", name="Leave the middle out").click()
    blocks.nth(1).get_by_role("button", name="Take the marks away").click()
    assert (ends.input_value(), middle.input_value()) == ("", "")

    film = tmp_path / "joint.mp4"
    frames = film_joint(CandledJoint(HOLLOW, LENGTH, extra_at_mm=12.0), VIEW, 11, np.linspace(-3.0, 3.0, 5))
    write_film(film, frames)
    page.set_input_files("#photos", str(film))
    expect(blocks).to_have_count(1)
    expect(blocks.get_by_text("The film's first frame")).to_be_visible()
    shown = blocks.locator(".ends-picture svg")
    expect(shown).to_be_visible()
    high, wide = frames[0].shape[:2]
    box = shown.bounding_box()
    assert box is not None
    assert box["width"] / box["height"] == pytest.approx(wide / high, rel=0.02)
    first = Picture(film_joint(CandledJoint(HOLLOW, LENGTH), VIEW, 11, [-3.0])[0], name="first")
    for x, y in read_light([first], LENGTH).ends_px:
        shown.click(position={"x": x / wide * box["width"], "y": y / high * box["height"]})
    page.get_by_label("Length of the joint").fill("300")
    page.get_by_role("button", name="Read the light").click()
    expect(page.locator(".seam-verdict")).to_contain_text("A few strokes")


def test_a_joint_without_a_pair_is_read_again_and_again(
    bench: Bench, window: Callable[..., Page], pictures: dict[str, Path]
) -> None:
    page = window(PHONE)
    page.goto(f"{bench.address}/bench/seam")
    for _ in range(2):
        page.set_input_files("#photos", str(pictures["hollow"]))
        page.get_by_label("Length of the joint").first.fill("300")
        page.get_by_label("Shims at neck and tail").fill("0.05 0.15")
        page.get_by_label("Felt on both faces, if you did").fill(
            "0, 0, 0\n100, 0.13, 0.13\n200, 0.13, 0.13\n300, 0, 0"
        )
        page.get_by_role("button", name="Read the light").click()
        expect(page.locator(".seam-shown img")).to_be_visible()
        expect(page.locator(".seam-verdict")).to_contain_text("both faces are open alike")
        assert_good_page(page)
        page.evaluate("document.querySelector('.seam-verdict').remove()")  # the next answer brings its own
    with bench.shop.read() as session:
        assert readings(session) == []
