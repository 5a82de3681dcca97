"""Classes and students; a class link sees one student's instrument and nothing else."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Callable, Iterator

import pytest
from asking import Browser
from fastapi import FastAPI
from sqlalchemy import select

import seamlight.web
from seamlight.shop import builds, photos, wood
from seamlight.shop.classes import add_students, builds_of
from seamlight.shop.devices import make_link
from seamlight.shop.file_rows import add_row
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Reading, Student
from seamlight.shop.taking_in import rack_key

Paired = Callable[..., Browser]


@pytest.fixture
def ada(owner: Browser, shop: Shop) -> int:
    """Ada, student 1 of class 1, with the instrument 1; Ben is student 2 with the instrument 2."""
    owner.press("/classes", name="Spring", starts_on="2026-04-01")
    owner.press("/classes/1/students", names="Ada\nBen\n")
    with shop.change("owner") as change:
        for label in ("first", "second"):
            builds.new_build(change, label=label)
    owner.press("/students/1/builds", build_id="1")
    owner.press("/students/2/builds", build_id="2")
    return 1


def test_a_class_is_made_with_its_students(owner: Browser, ada: int) -> None:
    assert "Spring" in owner.get("/classes").text
    page = owner.get("/classes/1").text
    assert "Ada" in page
    assert "first" in page
    assert "Ben" in page


def test_an_empty_class_says_what_to_do(owner: Browser) -> None:
    assert "No class yet" in owner.get("/classes").text
    owner.press("/classes", name="Spring")
    assert "Nobody is in this class yet" in owner.get("/classes/1").text
    assert owner.press("/classes", name=" ").status_code == 422
    assert owner.press("/classes", name="x", starts_on="soon").status_code == 422
    assert owner.press("/classes/1/students", names="  ").status_code == 422


def test_a_class_link_shows_one_students_page(paired: Paired, ada: int) -> None:
    phone = paired(student_id=ada)
    assert phone.get("/").headers["location"] == "/students/1"
    page = phone.get("/students/1").text
    assert "first" in page
    for other in ("second", "Ben", "/classes/1", "/wood", "Make a class link", "<nav"):
        assert other not in page


def test_a_class_link_is_refused_everywhere_else(
    app: FastAPI, owner: Browser, paired: Paired, ada: int, shop: Shop
) -> None:
    phone = paired(student_id=ada)
    elsewhere = [
        "/wood",
        "/builds",
        "/builds/1",
        "/classes",
        "/classes/1",
        "/students/2",
        "/students/10",
        "/shop",
    ]
    elsewhere += ["/shop/devices", "/shop/backup", "/api/docs", "/api/openapi.json", "/api/csrf", "/nothing"]
    elsewhere += ["/students/1x", "/wood/take-in", "/made/x", "/students/2/builds/2/readings", "/students/"]
    for path in elsewhere:
        page = phone.get(path)
        assert page.status_code == 403, path
        if not path.startswith("/api"):
            assert "A class link opens one student" in page.text
            assert 'href="/students/1"' in page.text
    token = phone.token()
    for path in ("/shop/air", "/classes", "/students/2/builds/2/readings", "/shop/devices/link", "/wood"):
        assert phone.post(path, data={"csrf": token, "rh": "45", "name": "x"}).status_code == 403, path


def every_route() -> Iterator[tuple[str, str]]:
    """Method and path of every route of every place, also of those that a class link may open."""
    for module in pkgutil.iter_modules(seamlight.web.__path__):
        router = getattr(importlib.import_module(f"seamlight.web.{module.name}"), "router", None)
        for route in getattr(router, "routes", ()):
            # A router within a router has none; it is a module's own and comes by itself.
            for method in getattr(route, "methods", ()):
                yield method, route.path


def test_every_route_of_the_house_is_closed_to_a_class_link(paired: Paired, ada: int) -> None:
    phone = paired(student_id=ada)
    token = phone.token()
    routes = list(every_route())
    assert len(routes) > 30
    for method, path in routes:
        # The number of another student's things, and no student's.
        asked = re.sub(r"\{[^}]*\}", "2", path)
        if path.startswith(("/pair-with/", "/files/")) or path in ("/", "/away.js"):
            continue
        answer = phone.request(method, asked, headers={"X-CSRF": token})
        assert answer.status_code == 403, (method, asked)


def test_what_is_the_teachers_on_a_students_page_is_refused(paired: Paired, ada: int, shop: Shop) -> None:
    phone = paired(student_id=ada)
    for path, fields in {
        "/students/1/name": {"name": "Eve"},
        "/students/1/builds": {"build_id": "2"},
        "/students/1/builds/1/take": {},
        "/students/1/link": {},
        "/students/1/delete": {},
        "/classes/1/delete": {},
    }.items():
        assert phone.press(path, **fields).status_code == 403, path
    with shop.read() as session:
        assert session.get_one(Student, 1).name == "Ada"
        assert [build.id for build in builds_of(session, 1)] == [1]


def test_both_readings_stand_side_by_side_each_with_its_name(
    owner: Browser, paired: Paired, ada: int, shop: Shop
) -> None:
    phone = paired(student_id=ada)
    path = "/students/1/builds/1/readings"
    assert phone.press(path, what="top thickness", value="2.9", place="Bridge").status_code == 303
    assert owner.press(path, what="top thickness", value='0.11"', place="bridge").status_code == 303
    assert phone.press(path, what="lines per inch", value="21").status_code == 303
    page = phone.get("/students/1").text
    assert "2.90" in page
    assert "2.79" in page
    assert "0.11" in page  # apart
    assert "owner" in page
    assert "not yet" in page
    with shop.read() as session:
        rows = session.scalars(select(Reading).order_by(Reading.id)).all()
    assert [(row.by, row.student_id, row.build_id) for row in rows] == [
        ("Ada", 1, 1),
        ("owner", None, 1),
        ("Ada", 1, 1),
    ]
    assert rows[1].document["value"] == pytest.approx(0.11 * 25.4, abs=1e-4)


def test_who_had_the_instrument_before_keeps_their_name(
    owner: Browser, paired: Paired, ada: int, shop: Shop
) -> None:
    path = "/students/1/builds/1/readings"
    adas = paired(student_id=ada)
    adas.press(path, what="top thickness", value="2.9", place="bridge")
    owner.press(path, what="top thickness", value="2.7", place="bridge")
    adas.press(path, what="top thickness", value="3.1", place="waist")
    owner.press("/students/1/builds/1/take")
    with shop.change("owner") as change:
        (ben,) = add_students(change, 1, "Ben, who has it now")
    owner.press(f"/students/{ben.id}/builds", build_id="1")
    seen = {"owner": owner.get(f"/students/{ben.id}").text}
    seen["Ben"] = paired(student_id=ben.id).get(f"/students/{ben.id}").text
    for page in seen.values():
        row = re.search(r"<tr><th[^>]*>Top thickness<br><span[^>]*>bridge.*?</tr>", page, re.S)
        assert row
        cells = re.findall(r"<td[^>]*>(.*?)</td>", row[0], re.S)
        assert "not yet" in cells[0]
        assert "2.70" in cells[1]
        assert cells[2] == "–"
    assert re.search(r"2\.90.*?Ada.*?had it before", seen["owner"], re.S)
    assert "3.10" in seen["owner"]
    for gone in ("2.90", "3.10", "Ada"):
        assert gone not in seen["Ben"]


def test_a_student_measures_their_own_instrument_only(paired: Paired, ada: int, shop: Shop) -> None:
    phone = paired(student_id=ada)
    answer = phone.press("/students/1/builds/2/readings", what="top thickness", value="2.9")
    assert answer.status_code == 404
    with shop.read() as session:
        assert session.scalars(select(Reading)).all() == []


@pytest.mark.parametrize(
    "typed", [{"what": "colour", "value": "3"}, {"what": "top thickness", "value": "thin"}]
)
def test_a_figure_that_is_none_is_said_beside_its_field(
    owner: Browser, ada: int, typed: dict[str, str]
) -> None:
    again = owner.press("/students/1/builds/1/readings", place="kept place", **typed)
    assert again.status_code == 422
    assert "kept place" in again.text


def test_a_student_sees_the_pictures_of_their_own_wood_only(
    owner: Browser, paired: Paired, ada: int, shop: Shop
) -> None:
    shas = []
    for number in (1, 2):
        data = f"picture {number}".encode()
        sha = shop.files.keep(data, "image/png")
        shas.append(sha)
        with shop.change("owner") as change:
            add_row(change, sha, "image/png", len(data))
            pair = wood.new_pair(change, kind="top")
            photos.add_photo(change, pair.id, sha, "a")
    with shop.change("owner") as change:
        builds.give(change, builds.ToGive(build_id=1, part="top", pair_id=1, why="chosen"))
    phone = paired(student_id=ada)
    assert f"/files/{shas[0]}" in phone.get("/students/1").text
    assert phone.get(f"/files/{shas[0]}").status_code == 200
    assert phone.get(f"/files/{shas[1]}").status_code == 404
    assert phone.get(f"/files/{'0' * 64}").status_code == 404
    for number in (1, 2):
        shop.made.keep(rack_key(number), b"made")
    assert "/students/1/pairs/1/picture" in phone.get("/students/1").text
    assert phone.get("/students/1/pairs/1/picture").content == b"made"
    assert phone.get("/students/1/pairs/2/picture").status_code == 404
    assert phone.get("/students/2/pairs/2/picture").status_code == 403


def test_a_taken_back_instrument_is_out_of_sight(owner: Browser, paired: Paired, ada: int) -> None:
    phone = paired(student_id=ada)
    assert owner.press("/students/1/builds/1/take").status_code == 303
    assert "has not given you an instrument" in phone.get("/students/1").text
    assert owner.press("/students/1/builds", build_id="2").status_code == 422  # it is Ben's


def test_a_class_link_in_the_shops_own_browser_is_a_students(app: FastAPI, paired: Paired, ada: int) -> None:
    """Who tries the link on the shop's own computer sees what the student sees."""
    phone = paired(student_id=ada)
    here = Browser(app)
    here.cookies.set("seamlight_device", phone.cookies["seamlight_device"])
    assert here.get("/wood").status_code == 403


def test_a_deleted_students_link_opens_nothing_until_they_are_back(
    owner: Browser, paired: Paired, ada: int
) -> None:
    phone = paired(student_id=ada)
    assert phone.get("/students/1").status_code == 200
    assert owner.press("/students/1/delete", version="1").headers["location"] == "/classes/1"
    assert phone.get("/students/1").status_code == 401
    assert phone.get("/").status_code == 401
    assert owner.get("/students/1").status_code == 404
    assert "Ada" not in owner.get("/classes/1").text.replace("Ada is deleted", "")
    assert "its student was deleted" in owner.get("/shop/devices").text
    page = owner.get("/shop/deleted").text
    assert "<strong>Ada</strong> (student)" in page
    assert owner.press("/shop/deleted/student/1").headers["location"] == "/students/1"
    assert phone.get("/students/1").status_code == 200
    assert "first" in phone.get("/students/1").text


def test_a_link_made_before_is_refused_once_the_student_is_deleted(
    app: FastAPI, owner: Browser, stranger: Browser, ada: int, shop: Shop
) -> None:
    with shop.change("owner") as change:
        token, _ = make_link(change, student_id=ada)
    owner.press("/students/1/delete")
    assert "no longer in a class" in stranger.get(f"/pair-with/{token}").text
    refused = stranger.press(f"/pair-with/{token}")
    assert refused.status_code == 403
    assert "no longer in a class" in refused.text
    assert stranger.get("/students/1").status_code == 401


def test_a_deleted_class_closes_its_students_pages(owner: Browser, paired: Paired, ada: int) -> None:
    phone = paired(student_id=ada)
    assert owner.press("/classes/1/delete", version="1").status_code == 303
    assert "No class yet" in owner.get("/classes").text
    assert owner.get("/classes/1").status_code == 404
    assert owner.get("/students/1").status_code == 404
    assert phone.get("/students/1").status_code == 401
    assert "<strong>Spring</strong> (class)" in owner.get("/shop/deleted").text
    assert owner.press("/shop/deleted/class/1").headers["location"] == "/classes/1"
    assert phone.get("/students/1").status_code == 200


def test_the_shops_own_computer_is_never_locked_out_by_a_deleted_student(
    app: FastAPI, owner: Browser, paired: Paired, ada: int
) -> None:
    phone = paired(student_id=ada)
    here = Browser(app)
    here.cookies.set("seamlight_device", phone.cookies["seamlight_device"])
    assert here.get("/wood").status_code == 403
    owner.press("/students/1/delete")
    assert here.get("/wood").status_code == 200


def test_of_two_who_change_a_class_or_a_student_the_later_is_told(owner: Browser, ada: int) -> None:
    assert owner.press("/classes/1", name="Summer", version="1").status_code == 303
    assert owner.press("/students/1/name", name="Ada L.", version="1").status_code == 303
    for path, fields in {
        "/classes/1": {"name": "Autumn"},
        "/classes/1/delete": {},
        "/students/1/name": {"name": "Eve"},
        "/students/1/delete": {},
    }.items():
        late = owner.press(path, version="1", **fields)
        assert late.status_code == 409, path
        assert "What was changed meanwhile" in late.text
    assert "Summer" in owner.get("/classes").text
    assert "Ada L." in owner.get("/students/1").text


def test_a_class_that_cannot_be_kept_so_is_shown_again_with_what_was_typed(owner: Browser, ada: int) -> None:
    again = owner.press("/classes/1", name="Late spring", starts_on="soon", version="1")
    assert again.status_code == 422
    assert 'value="Late spring"' in again.text
