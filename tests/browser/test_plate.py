"""The plate's page in a real browser: taps to a thickness, recording, a spectrum, modes that move."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from benches import DESK, PHONE, Bench
from looking import assert_good_page
from playwright.sync_api import Browser, Page, expect
from scipy.io import wavfile

from plate_taps import TYPED, leaf_wav
from seamlight.shop.readings import readings
from seamlight.shop.wood import new_pair

Window = Callable[..., Page]
CHOSEN = "input[name=recordings][multiple]"
OPEN_ALL = "for (const fold of document.querySelectorAll('details')) fold.open = true"


def filed(bench: Bench, **more: str) -> int:
    with bench.shop.change("owner") as change:
        return new_pair(change, **{"kind": "top", "species_common": "Sitka spruce", **more}).id  # type: ignore[arg-type]


def fill(page: Page, address: str, **more: str) -> None:
    """Open the page, choose the recording and type ruler and scale."""
    page.goto(address)
    page.set_input_files(CHOSEN, {"name": "six taps.wav", "mimeType": "audio/wav", "buffer": leaf_wav()})
    for name, value in {**TYPED, **more}.items():
        page.locator(f"form[enctype] [name={name}]").first.fill(value)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_recording_a_ruler_and_a_scale_give_three_numbers_and_a_thickness(
    bench: Bench, window: Window, script: bool
) -> None:
    page = window(PHONE, java_script_enabled=script)
    fill(page, f"{bench.address}/wood/pairs/{filed(bench)}/plate")
    page.get_by_role("button", name="Read the taps").click()
    numbers = page.locator(".three .number-value")
    expect(numbers).to_have_count(3)
    for number, (low, high) in zip(numbers.all(), ((10.6, 11.4), (0.79, 0.85), (0.73, 0.79)), strict=True):
        said = re.match(r"([\d.]+) ± [\d.]+ GPa", number.inner_text().replace("\xa0", " "))
        assert said is not None
        assert low < float(said[1]) < high
    expect(page.locator(".target")).to_contain_text(re.compile(r"2\.\d\d\smm"))
    expect(page.get_by_text("Before the machine.").first).to_be_visible()


def test_a_slip_in_a_size_is_said_at_its_field_and_the_recording_stays(bench: Bench, window: Window) -> None:
    pair_id = filed(bench)
    page = window(PHONE)
    fill(page, f"{bench.address}/wood/pairs/{pair_id}/plate", thickness="36")
    page.get_by_role("button", name="Read the taps").click()
    expect(page.locator("#thickness[aria-invalid=true]")).to_be_focused()
    expect(page.locator("#thickness-says")).to_contain_text("3.6")
    assert page.locator(CHOSEN).evaluate("(input) => input.files.length") == 1
    page.locator("#thickness").fill("3.6")
    page.get_by_role("button", name="Read the taps").click()
    expect(page.locator(".target")).to_be_visible()
    with bench.shop.read() as session:
        assert len(readings(session, pair_id=pair_id, verb="tap")) == 1


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (DESK, True)], ids=["phone, light", "desk, dark"])
def test_every_page_of_the_plate_is_accessible_fits_and_can_be_pressed(
    bench: Bench, window: Window, size: dict[str, int], dark: bool
) -> None:
    pair_id, blank = filed(bench), filed(bench, kind="brace stock")
    page = window(size, dark=dark)
    here = f"{bench.address}/wood/pairs/{pair_id}/plate"
    fill(page, here)
    page.get_by_role("button", name="Read the taps").click()
    expect(page.locator(".target")).to_be_visible()
    page.evaluate(OPEN_ALL)
    page.locator("#rows").fill("3.4 3.5 3.4\n3.5 3.7 3.5\n3.4 3.4 2.7")
    page.get_by_role("button", name="Draw the map").click()
    expect(page.locator(".map")).to_be_visible()
    shaped = "/bench/brace", f"/wood/pairs/{blank}/brace", f"/wood/pairs/{blank}/plate", "/bench/plate"
    for path in (f"/wood/pairs/{pair_id}/plate", *shaped, f"/wood/pairs/{pair_id}/plate/outline?outline=om"):
        page.goto(bench.address + path)
        expect(page.locator("h1")).to_have_count(1)
        page.evaluate(OPEN_ALL)
        assert_good_page(page)


def test_the_spectrum_is_looked_into_by_keys_buttons_and_pointer(bench: Bench, window: Window) -> None:
    page = window(DESK)
    fill(page, f"{bench.address}/wood/pairs/{filed(bench)}/plate")
    page.get_by_role("button", name="Read the taps").click()
    chart, says = page.locator(".spectrum"), page.locator(".chart-tools output")
    before = chart.locator("[data-line]").get_attribute("d")
    chart.focus()
    page.keyboard.press("+")
    closer = chart.locator("[data-line]").get_attribute("d")
    assert closer != before
    page.keyboard.press("Home")
    assert len(chart.locator("[data-line]").get_attribute("d") or "") == pytest.approx(
        len(before or ""), rel=0.05
    )
    page.get_by_role("button", name="Zoom in").click()
    assert chart.locator("[data-line]").get_attribute("d") == closer
    page.get_by_role("button", name="All").click()
    box = chart.locator(".lead").nth(1).bounding_box()
    assert box is not None
    page.mouse.move(box["x"], box["y"] + box["height"] - 2)
    expect(says).to_have_text(re.compile(r"74\.3\d Hz, along"))


def test_a_mode_of_the_outline_moves_only_while_it_is_pressed(bench: Bench, window: Window) -> None:
    page = window(DESK)
    here = f"{bench.address}/wood/pairs/{filed(bench)}/plate"
    fill(page, here)
    page.get_by_role("button", name="Read the taps").click()
    expect(page.locator(".target")).to_be_visible()
    page.goto(f"{here}/outline?outline=parlour")
    mode = page.locator("[data-mode='0']")
    picture = "(canvas) => canvas.toDataURL()"
    mode.focus()
    page.keyboard.down(" ")
    canvas = mode.locator("canvas")
    expect(canvas).to_be_visible()
    first = canvas.evaluate(picture)
    page.wait_for_function("([first]) => document.querySelector('canvas').toDataURL() !== first", arg=[first])
    page.keyboard.up(" ")
    expect(canvas).to_have_count(0)
    expect(mode.locator("svg")).to_be_visible()


def test_where_no_microphone_is_given_the_phones_own_recorder_is_offered(
    bench: Bench, window: Window
) -> None:
    page = window(PHONE)
    page.add_init_script("Object.defineProperty(navigator, 'mediaDevices', { value: undefined })")
    page.goto(f"{bench.address}/bench/plate")
    expect(page.get_by_label("Record with the phone's own recorder")).to_be_visible()
    expect(page.get_by_role("button", name="Record here")).to_be_hidden()


SOUNDING = """() => {
  navigator.mediaDevices.getUserMedia = async () => {
    const sound = new AudioContext();
    const tone = sound.createOscillator(), out = sound.createMediaStreamDestination();
    tone.frequency.value = 440;
    tone.connect(out);
    tone.start();
    return out.stream;
  };
}"""


def test_what_is_recorded_in_the_page_lies_among_its_files_without_loss(bench: Bench, window: Window) -> None:
    page = window(PHONE)
    page.goto(f"{bench.address}/bench/plate")
    page.evaluate(SOUNDING)
    page.get_by_role("button", name="Record here").click()
    page.wait_for_function("() => document.querySelector('[data-record-level]').value > 0.5")
    page.wait_for_timeout(600)
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("button", name="Leave out recorded 1.wav")).to_be_visible()
    recorded = page.locator(CHOSEN).evaluate(
        "async (input) => Array.from(new Uint8Array(await input.files[0].arrayBuffer()))"
    )
    rate, sound = wavfile.read(io.BytesIO(bytes(recorded)))
    assert sound.dtype == np.float32
    assert len(sound) > 0.4 * rate
    middle = sound[len(sound) // 3 : 2 * len(sound) // 3]
    pitch = np.fft.rfftfreq(len(middle), 1 / rate)[
        np.abs(np.fft.rfft(middle * np.hanning(len(middle)))).argmax()
    ]
    assert pitch == pytest.approx(440, abs=2 * rate / len(middle))
    page.get_by_role("button", name="Leave out recorded 1.wav").click()
    assert page.locator(CHOSEN).evaluate("(input) => input.files.length") == 0


def test_two_fingers_spread_on_glass_look_closer_into_the_spectrum(bench: Bench, window: Window) -> None:
    page = window(PHONE)
    fill(page, f"{bench.address}/wood/pairs/{filed(bench)}/plate")
    page.get_by_role("button", name="Read the taps").click()
    chart = page.locator(".spectrum")
    chart.scroll_into_view_if_needed()
    line, box = chart.locator("[data-line]"), chart.bounding_box()
    assert box is not None
    before, middle = line.get_attribute("d"), (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    glass = page.context.new_cdp_session(page)

    def touch(kind: str, half_px: float | None) -> None:
        fingers = [] if half_px is None else [(-half_px, 1), (half_px, 2)]
        points = [{"x": middle[0] + dx, "y": middle[1], "id": number} for dx, number in fingers]
        glass.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", 30)
    for half_px in (45, 60, 80, 100):
        touch("touchMove", half_px)
    touch("touchEnd", None)
    closer = line.get_attribute("d")
    assert closer != before
    touch("touchStart", 110)
    for half_px in (80, 55, 30, 20):
        touch("touchMove", half_px)
    touch("touchEnd", None)
    expect(line).not_to_have_attribute("d", closer or "")


def test_from_recording_in_the_page_to_three_numbers(bench: Bench, chromium: Browser, tmp_path: Path) -> None:
    """Chromium's own stand-in for a microphone plays six taps."""
    played = tmp_path / "taps.wav"
    played.write_bytes(leaf_wav())
    hearing = chromium.browser_type.launch(
        executable_path="/usr/bin/chromium",
        args=[
            "--no-sandbox",
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-audio-capture={played}",
        ],
    )
    try:
        page = hearing.new_context(viewport={"width": 390, "height": 844}).new_page()
        page.goto(f"{bench.address}/wood/pairs/{filed(bench)}/plate")
        page.get_by_role("button", name="Record here").click()
        page.wait_for_function("() => document.querySelector('[data-record-level]').value > 0.02")
        page.wait_for_timeout(7500)
        page.get_by_role("button", name="Stop").click()
        expect(page.get_by_role("button", name="Leave out recorded 1.wav")).to_be_visible()
        for name, value in TYPED.items():
            page.locator(f"form[enctype] [name={name}]").first.fill(value)
        page.get_by_role("button", name="Read the taps").click()
        numbers = page.locator(".three .number-value")
        expect(numbers).to_have_count(3)
        for number, (low, high) in zip(
            numbers.all(), ((10.6, 11.4), (0.79, 0.85), (0.73, 0.79)), strict=True
        ):
            said = re.match(r"([\d.]+) ± [\d.]+ GPa", number.inner_text().replace("\xa0", " "))
            assert said is not None
            assert low < float(said[1]) < high
    finally:
        hearing.close()
