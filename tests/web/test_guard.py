"""Who is let through: host, origin, token, size; and the headers behind every answer."""

from __future__ import annotations

from pathlib import Path

import pytest
from asking import HERE, PHONE, Browser
from fastapi import FastAPI

from seamlight.shop.opening import open_shop
from seamlight.shop.shop import Shop
from seamlight.web.app import make_app
from seamlight.web.guard import host_is_ours
from seamlight.web.serving import Limits, Serving

PLACES = ("/", "/wood", "/builds", "/classes", "/shop")


@pytest.mark.parametrize("path", PLACES)
def test_an_empty_place_says_what_to_do_first(owner: Browser, path: str) -> None:
    page = owner.get(path)
    assert page.status_code == 200
    assert page.text.count("<h1") == 1
    assert 'aria-current="page"' in page.text


@pytest.mark.parametrize(
    "path", [*PLACES, "/nothing", "/api/nothing", "/static/seamlight.css", "/api/openapi.json"]
)
def test_every_answer_carries_the_strict_headers(owner: Browser, path: str) -> None:
    headers = owner.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http:" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert "frame-ancestors 'none'" in policy
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"


def test_a_fault_is_a_readable_page_with_the_same_headers(app: FastAPI) -> None:
    @app.get("/broken", include_in_schema=False)
    def broken() -> None:
        raise RuntimeError("secret inside")

    browser = Browser(app, raise_server_exceptions=False)
    page = browser.get("/broken")
    assert page.status_code == 500
    assert "A fault of the program" in page.text
    assert "secret inside" not in page.text
    assert "default-src 'none'" in page.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("host", "share", "ours"),
    [
        ("127.0.0.1:8765", False, True),
        ("localhost", False, True),
        ("[::1]:8765", False, True),
        ("evil.example", False, False),
        ("evil.example:8765", True, False),
        ("127.0.0.1.evil.example", True, False),
        ("192.168.7.2:8765", False, False),
        ("192.168.7.2:8765", True, True),
        ("bench.local:8765", True, True),
        ("bench.local:8765", False, False),
        ("", True, False),
        ("[::1", True, False),
    ],
)
def test_only_our_own_names_are_answered(host: str, share: bool, ours: bool) -> None:
    assert host_is_ours(host, Serving(share=share, names=frozenset({"bench.local"}))) is ours


def test_a_rebound_name_is_refused(app: FastAPI) -> None:
    page = Browser(app, HERE, "evil.example:8765").get("/")
    assert page.status_code == 400


def test_another_device_gets_nothing_unpaired(stranger: Browser) -> None:
    for path in (*PLACES, "/api/docs", "/api/openapi.json", "/api/csrf", "/files/" + "0" * 64):
        assert stranger.get(path).status_code == 401, path
    assert "the shop does not know this device" in stranger.get("/").text.lower()
    assert stranger.get("/api/x").json()["status"] == 401
    assert stranger.get("/static/seamlight.css").status_code == 200


def test_a_go_between_on_this_computer_is_not_this_computer(app: FastAPI) -> None:
    for name in ("Forwarded", "X-Forwarded-For", "X-Real-IP", "Via"):
        assert Browser(app).get("/", headers={name: "203.0.113.5"}).status_code == 401


def test_the_owner_is_this_computer_only(app: FastAPI) -> None:
    assert Browser(app, PHONE, "127.0.0.1:8765").get("/").status_code == 401
    assert Browser(app, "::1", "[::1]:8765").get("/").status_code == 200


CHANGES = ("/shop/air", "/shop/settings", "/classes", "/shop/devices/link")


@pytest.mark.parametrize("path", CHANGES)
def test_a_change_without_its_token_is_refused(owner: Browser, shop: Shop, path: str) -> None:
    assert owner.post(path, data={"rh": "45", "name": "x"}).status_code == 403
    owner.token()
    assert owner.post(path, data={"csrf": "0" * 64, "rh": "45", "name": "x"}).status_code == 403
    assert owner.post(path, data={"rh": "45", "name": "x"}, headers={"X-CSRF": b"\xe9"}).status_code == 403


def test_another_askers_token_is_refused(app: FastAPI, owner: Browser, paired) -> None:  # type: ignore[no-untyped-def]
    phone = paired()
    token = phone.token()
    # The cookie of the phone's forms, in the owner's browser.
    owner.cookies.set("seamlight_form", phone.cookies["seamlight_form"])
    assert owner.post("/shop/air", data={"csrf": token, "rh": "45"}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site", "Origin": "http://127.0.0.1:8765"},
    ],
)
def test_a_change_from_another_site_is_refused_even_with_the_token(
    owner: Browser, headers: dict[str, str]
) -> None:
    token = owner.token()
    answer = owner.post("/shop/air", data={"csrf": token, "rh": "45"}, headers=headers)
    assert answer.status_code == 403
    assert "Nothing was noted yet" in owner.get("/shop/air").text


def test_a_change_from_our_own_page_is_taken(owner: Browser) -> None:
    headers = {"Origin": "http://127.0.0.1:8765", "Sec-Fetch-Site": "same-origin"}
    answer = owner.post("/shop/air", data={"csrf": owner.token(), "rh": "45"}, headers=headers)
    assert answer.status_code == 303


def test_another_site_may_link_here_but_take_nothing(owner: Browser) -> None:
    across = {"Sec-Fetch-Site": "cross-site"}
    assert owner.get("/", headers=across | {"Sec-Fetch-Mode": "navigate"}).status_code == 200
    assert owner.get("/", headers=across | {"Sec-Fetch-Mode": "no-cors"}).status_code == 403


@pytest.fixture
def small(tmp_path: Path) -> Browser:
    """A server with narrow limits."""
    limits = Limits(form_bytes=2000, upload_bytes=20_000, file_bytes=5000, files=3)
    return Browser(make_app(open_shop(tmp_path / "small", create=True), settings=Serving(limits=limits)))


def test_too_large_a_body_is_refused(small: Browser) -> None:
    answer = small.press("/shop/air", note="x" * 3000)
    assert answer.status_code == 413
    assert "Too much at once" in answer.text


def test_a_body_that_hides_its_length_is_cut_off(small: Browser) -> None:
    token = small.token()

    def endless():  # type: ignore[no-untyped-def]
        for _ in range(100):
            yield b"note=" + b"x" * 200 + b"&"

    headers = {"X-CSRF": token, "Content-Type": "application/x-www-form-urlencoded"}
    assert small.post("/shop/air", content=endless(), headers=headers).status_code == 413


def test_too_many_and_too_large_files_are_refused(small: Browser) -> None:
    many = [("photo", (f"{n}.jpg", b"x", "image/jpeg")) for n in range(4)]
    answer = small.press("/shop/air", files=many)
    assert answer.status_code == 413
    assert "at most 3 files" in answer.text
    large = [("photo", ("a.jpg", b"x" * 6000, "image/jpeg"))]
    assert small.press("/shop/air", files=large).status_code == 413


def test_the_secret_is_the_owners_alone(app: FastAPI, shop: Shop) -> None:
    path = shop.folder / "pages.secret"
    assert path.stat().st_mode & 0o077 == 0
    first = path.read_bytes()
    make_app(shop)
    assert path.read_bytes() == first


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(app: FastAPI, shop: Shop, paired) -> None:  # type: ignore[no-untyped-def]
    from seamlight.shop.devices import make_link

    with shop.change("owner") as change:
        token, _ = make_link(change)
    browser = Browser(app, PHONE, "192.168.7.2:8765")
    answer = browser.press(f"/pair-with/{token}", name="phone")
    cookies = answer.headers.get_list("set-cookie")
    assert any(cookie.startswith("seamlight_device=") for cookie in cookies)
    for cookie in cookies:
        assert "httponly" in cookie.lower(), cookie
        assert "samesite=strict" in cookie.lower(), cookie
