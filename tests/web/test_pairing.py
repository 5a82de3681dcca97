"""One-time links, devices, and how wrong links slow down."""

from __future__ import annotations

import re
from collections.abc import Callable

from asking import PHONE, Browser, Clock
from fastapi import FastAPI
from sqlalchemy import select

from seamlight.shop import devices
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Device, Link


def new_link(owner: Browser) -> str:
    """The path of a link as the page shows it."""
    page = owner.press("/shop/devices/link")
    assert page.status_code == 200
    found = re.search(r"http://192\.168\.7\.2:8765(/pair-with/[0-9a-z-]+)", page.text)
    assert found
    return found[1]


def test_a_link_lets_one_device_in_once(owner: Browser, stranger: Browser, app: FastAPI, shop: Shop) -> None:
    path = new_link(owner)
    assert stranger.get(path).status_code == 200
    assert stranger.get(path).status_code == 200  # looking does not use it up
    answer = stranger.press(path, name="bench phone")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"
    assert stranger.get("/wood").status_code == 200
    assert "bench phone" in owner.get("/shop/devices").text
    late = Browser(app, "192.168.7.22", "192.168.7.2:8765")
    refused = late.press(path, name="other")
    assert refused.status_code == 403
    assert "has been used" in refused.text
    assert late.get("/").status_code == 401


def test_a_link_can_be_typed_in_capitals_without_hyphens(owner: Browser, stranger: Browser) -> None:
    path = new_link(owner)
    typed = "/pair-with/" + path.split("/")[-1].replace("-", "").upper()
    assert stranger.press(typed, name="phone").status_code == 303


def test_a_link_ends_after_ten_minutes(owner: Browser, stranger: Browser, clock: Clock) -> None:
    path = new_link(owner)
    clock.wait(minutes=9, seconds=59)
    assert stranger.get(path).status_code == 200
    clock.wait(seconds=1)
    late = stranger.get(path)
    assert late.status_code == 403
    assert "time is over" in late.text
    assert stranger.press(path, name="phone").status_code == 403


def test_a_device_without_a_name_is_asked_again(owner: Browser, stranger: Browser) -> None:
    path = new_link(owner)
    again = stranger.press(path, name="  ")
    assert again.status_code == 422
    assert 'aria-invalid="true"' in again.text
    assert stranger.press(path, name="phone").status_code == 303


def test_a_revoked_device_is_out_at_once(owner: Browser, paired: Callable[..., Browser], shop: Shop) -> None:
    phone = paired("lost phone")
    assert phone.get("/wood").status_code == 200
    with shop.read() as session:
        device_id = session.scalars(select(Device.id)).one()
    assert owner.press(f"/shop/devices/{device_id}/revoke").status_code == 303
    assert phone.get("/wood").status_code == 401
    assert "lost phone" not in owner.get("/shop/devices").text.split("<main")[1].split("Let in</h2>")[1]


def test_a_device_takes_itself_off(paired: Callable[..., Browser]) -> None:
    phone = paired()
    assert phone.press("/shop/leave").status_code == 303
    assert phone.get("/").status_code == 401


def test_a_forged_or_borrowed_cookie_opens_nothing(
    app: FastAPI, stranger: Browser, paired: Callable[..., Browser], shop: Shop
) -> None:
    sealed = paired().cookies["seamlight_device"]
    token, signature = sealed.rsplit(".", 1)
    other = ("A" if signature[0] != "A" else "B") + signature[1:]
    for forged in (token, f"{token}.{other}", f"x{sealed}", "", "." + signature):
        stranger.cookies.set("seamlight_device", forged)
        assert stranger.get("/").status_code == 401
    # A value sealed for another use is no device's.
    stranger.cookies.set("seamlight_device", app.state.seals.seal("form", token))
    assert stranger.get("/").status_code == 401


def test_the_shop_keeps_hashes_only(owner: Browser, paired: Callable[..., Browser], shop: Shop) -> None:
    phone = paired()
    path = new_link(owner)
    device_token = phone.cookies["seamlight_device"].rsplit(".", 1)[0]
    with shop.read() as session:
        kept = [*session.scalars(select(Device.token_hash)), *session.scalars(select(Link.token_hash))]
    assert all(re.fullmatch("[0-9a-f]{64}", row) for row in kept)
    raw = (shop.folder / "shop.db").read_bytes() + (shop.folder / "shop.db-wal").read_bytes()
    assert device_token.encode() not in raw
    assert path.split("/")[-1].replace("-", "").encode() not in raw


def wrong(browser: Browser, number: int) -> int:
    """Try a link that never was."""
    return browser.get(f"/pair-with/{'z' * 10}{number:06d}").status_code


def test_five_wrong_links_slow_down(owner: Browser, stranger: Browser, clock: Clock) -> None:
    path = new_link(owner)
    assert [wrong(stranger, n) for n in range(5)] == [403] * 5
    slowed = stranger.get("/pair-with/" + "z" * 16)
    assert slowed.status_code == 429
    assert slowed.headers["retry-after"] == "31"
    assert "Wait" in slowed.text
    assert stranger.get(path).status_code == 429  # the right one waits as well
    assert stranger.press(path, name="x").status_code == 429
    clock.wait(seconds=29)
    assert stranger.get(path).status_code == 429
    clock.wait(seconds=1)
    assert stranger.get(path).status_code == 200
    assert wrong(stranger, 6) == 403
    clock.wait(seconds=59)  # twice as long now
    assert stranger.get(path).status_code == 429
    clock.wait(seconds=1)
    assert stranger.press(path, name="phone").status_code == 303


def test_waiting_ends_within_the_hour_and_others_are_not_held_up(
    owner: Browser, stranger: Browser, app: FastAPI, clock: Clock
) -> None:
    for n in range(5):
        wrong(stranger, n)
    other = Browser(app, "192.168.7.99", "192.168.7.2:8765")
    assert other.get(new_link(owner)).status_code == 200
    clock.wait(hours=1, seconds=1)
    assert stranger.get(new_link(owner)).status_code == 200


def test_many_addresses_are_slowed_together(app: FastAPI, owner: Browser) -> None:
    for n in range(50):
        assert wrong(Browser(app, f"192.168.8.{n}", "192.168.7.2:8765"), n) == 403
    fresh = Browser(app, "192.168.9.1", "192.168.7.2:8765")
    assert fresh.get(new_link(owner)).status_code == 429


def test_waits_double_up_to_half_an_hour(shop: Shop, clock: Clock) -> None:
    waits = []
    for _ in range(14):
        with shop.change("x") as change:
            devices.note_wrong_try(change, PHONE)
        with shop.read() as session:
            wait = devices.must_wait(session, PHONE, clock()).total_seconds()
        waits.append(wait)
    assert waits == [0, 0, 0, 0, 30, 60, 120, 240, 480, 960, 1800, 1800, 1800, 1800]


def test_a_server_for_this_computer_says_how_to_share(tmp_path, clock: Clock) -> None:  # type: ignore[no-untyped-def]
    from seamlight.shop.opening import open_shop
    from seamlight.web.app import make_app

    alone = Browser(make_app(open_shop(tmp_path / "alone", create=True, clock=clock)))
    page = alone.get("/shop/devices").text
    assert "seamlight serve --share" in page
    assert "/shop/devices/link" not in page
