"""Taking wood in through the pages: sendings, what is refused, sorting, confirming, the rack."""

from __future__ import annotations

import re

import pytest
from asking import Browser, Clock
from came_in import (
    come_in,
    looked_at,
    picture,
    send,
)
from PIL import Image
from sqlalchemy import select

from seamlight.shop import jobs
from seamlight.shop.arrivals import arrivals
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Arrival, Job, Pair, PairPhoto


def test_a_photograph_and_its_row_come_in_together(owner: Browser, shop: Shop) -> None:
    data = picture()
    answer = send(owner, data, scale="600dpi", thickness="4,5")
    assert answer.status_code == 201
    with shop.read() as session:
        (row,) = arrivals(session)
        (job,) = jobs.jobs(session)
    assert shop.files.path(row.file_sha256).read_bytes() == data
    assert (row.scale_spec, row.thickness_mm, row.name_given) == ("600dpi", 4.5, "leaf.jpg")
    assert (job.kind, job.subject_id) == ("look", row.id)


def test_the_same_sending_twice_is_one(owner: Browser, shop: Shop) -> None:
    first, second = send(owner, picture()).json(), send(owner, picture()).json()
    assert first["arrival"] == second["arrival"]
    assert (first["new"], second["new"]) == (True, False)
    with shop.read() as session:
        assert len(session.scalars(select(Arrival)).all()) == 1


def test_a_key_is_not_taken_for_another_picture(owner: Browser) -> None:
    send(owner, picture(1))
    answer = send(owner, picture(2))
    assert answer.status_code == 422
    assert "another picture" in answer.json()["what"]


def test_when_it_was_taken_is_read_from_the_picture(owner: Browser, shop: Shop) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:03:01 08:15:00"
    exif.get_ifd(0x8769)[0x9011] = "+02:00"
    send(owner, picture(exif=exif.tobytes()))
    with shop.read() as session:
        (row,) = arrivals(session)
    assert row.taken_at is not None
    assert row.taken_at.isoformat() == "2026-03-01T06:15:00+00:00"


@pytest.mark.parametrize(
    ("data", "more", "says"),
    [
        (b"no picture at all", {}, "not a picture"),
        (picture(), {"scale": "5 foot"}, "scale"),
        (picture(), {"thickness": "45"}, "thickness"),
        (picture(), {"thickness": "thin"}, "thin"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line_and_nothing_is_kept(
    owner: Browser, shop: Shop, data: bytes, more: dict[str, str], says: str
) -> None:
    answer = send(owner, data, **more)
    assert answer.status_code == 422
    assert says in str(answer.json())
    with shop.read() as session:
        assert arrivals(session) == []


def test_the_plain_form_names_what_it_could_not_take(owner: Browser, shop: Shop) -> None:
    files = [
        ("photos", ("good.jpg", picture(), "image/jpeg")),
        ("photos", ("bad.jpg", b"text", "image/jpeg")),
    ]
    answer = owner.press("/wood/take-in", files=files, scale="tags", thickness="")
    assert answer.status_code == 422
    assert "1 of 2 taken in" in answer.text
    assert "bad.jpg" in answer.text
    with shop.read() as session:
        assert [row.name_given for row in arrivals(session)] == ["good.jpg"]


def test_confirmed_photographs_become_a_pair_that_is_to_be_read(owner: Browser, shop: Shop) -> None:
    a, b, other = come_in(owner, shop, 3)
    said = {f"pair-{a}": "1", f"role-{a}": "a", f"pair-{b}": "1", f"role-{b}": "b", f"pair-{other}": ""}
    facts = {"kind": "top", "species": "western redcedar", "price": "85 EUR", "label-1": "R7"}
    answer = owner.press("/wood/take-in/file", **said, **facts)
    assert answer.status_code == 303, answer.text
    with shop.read() as session:
        (pair,) = session.scalars(select(Pair)).all()
        photos = session.scalars(select(PairPhoto).order_by(PairPhoto.id)).all()
        left = [row.id for row in arrivals(session)]
        read = session.scalars(select(Job).where(Job.kind == "read")).all()
    assert (pair.label, pair.species_botanical, pair.price_minor) == ("R7", "Thuja plicata", 8500)
    assert [(photo.role, photo.arrival) for photo in photos] == [("a", True), ("b", True)]
    assert left == [other]
    assert [job.subject_id for job in read] == [pair.id]


def test_two_photographs_of_one_face_are_refused_and_what_was_typed_stays(owner: Browser, shop: Shop) -> None:
    a, b = come_in(owner, shop, 2)
    said = {f"pair-{n}": "1" for n in (a, b)} | {f"role-{n}": "a" for n in (a, b)}
    answer = owner.press("/wood/take-in/file", **said, kind="top", species="maple")
    assert answer.status_code == 422
    assert "two photographs of leaf A" in answer.text
    assert 'value="maple"' in answer.text
    with shop.read() as session:
        assert session.scalars(select(Pair)).all() == []
        assert len(arrivals(session)) == 2


def test_a_taken_label_files_nothing_of_the_batch(owner: Browser, shop: Shop) -> None:
    numbers = come_in(owner, shop, 2)
    said = {f"pair-{n}": str(n) for n in numbers} | {f"role-{n}": "opened" for n in numbers}
    labels = {f"label-{n}": "same" for n in numbers}
    answer = owner.press("/wood/take-in/file", **said, **labels, kind="back")
    assert answer.status_code == 422
    with shop.read() as session:
        assert session.scalars(select(Pair)).all() == []
        assert len(arrivals(session)) == 2


def test_put_aside_and_back(owner: Browser, shop: Shop) -> None:
    (number,) = come_in(owner, shop, 1)
    owner.press(f"/wood/take-in/{number}/drop")
    with shop.read() as session:
        assert arrivals(session) == []
    assert "Put aside (1)" in owner.get("/wood/take-in").text
    owner.press(f"/wood/take-in/{number}/put-back")
    with shop.read() as session:
        assert [row.id for row in arrivals(session)] == [number]


def test_a_look_that_failed_says_why(owner: Browser, shop: Shop) -> None:
    number = send(owner, picture()).json()["arrival"]
    looked_at(shop, number, leaves=0, why="leaf.jpg: no leaf found; lay one leaf on a plain bench")
    page = owner.get("/wood/take-in").text
    assert "no leaf found" in page
    assert "Look again" in page


def test_work_can_be_stopped_and_done_again(owner: Browser, shop: Shop) -> None:
    send(owner, picture())
    with shop.read() as session:
        (job,) = jobs.jobs(session)
    owner.press(f"/wood/work/{job.id}/stop")
    assert "Failed or stopped" in owner.get("/wood/work").text
    assert owner.get("/api/work").json()["waiting"] == 0
    owner.press(f"/wood/work/{job.id}/again")
    assert owner.get("/api/work").json()["waiting"] == 1


def test_a_piece_without_photographs_goes_on_the_rack(owner: Browser) -> None:
    answer = owner.press("/wood/new", kind="sides", species="black walnut", thickness="3.2", price="40")
    assert answer.status_code == 303
    page = owner.get("/wood").text
    assert "S1" in page
    assert "black walnut" in page
    wrong = owner.press("/wood/new", kind="sides", price="a lot", notes="from the old barn")
    assert wrong.status_code == 422
    assert "is no price" in wrong.text
    assert "from the old barn" in wrong.text


def test_the_rack_turns_its_pages_and_keeps_what_was_asked(owner: Browser, shop: Shop) -> None:
    from seamlight.shop.wood import new_pair

    with shop.change("owner") as change:
        for _ in range(50):
            new_pair(change, kind="top", species_key="maple", species_common="maple")
        new_pair(change, kind="back")
    first = owner.get("/wood?kind=top&sort=label").text
    assert len(re.findall('class="card"', first)) == 48
    assert "page 1 of 2" in first
    assert "/wood?kind=top&amp;sort=label&amp;page=2" in first
    second = owner.get("/wood?kind=top&sort=label&page=2").text
    assert len(re.findall('class="card"', second)) == 2
    assert "T50" in second
    assert "is no" in owner.get("/wood?lines=many").text
    assert "Nothing on the rack is like that" in owner.get("/wood?q=ebony").text


def test_the_rack_as_csv(owner: Browser, shop: Shop) -> None:
    owner.press("/wood/new", kind="neck", notes="=1+1")
    answer = owner.get("/wood/rack.csv")
    assert answer.headers["content-type"].startswith("text/csv")
    assert "'=1+1" in answer.text


def test_made_pictures_only_by_their_own_names(owner: Browser, shop: Shop) -> None:
    shop.made.keep("small-x.jpg", picture())
    shop.made.keep("leaf-1-a.npz", b"arrays")
    assert owner.get("/made/small-x.jpg").status_code == 200
    assert owner.get("/made/leaf-1-a.npz").status_code == 404
    assert owner.get("/made/..%2Fshop.db").status_code == 404


def test_the_rack_is_filtered_by_the_day_it_came(owner: Browser, clock: Clock) -> None:
    owner.press("/wood/new", kind="top", label="old", bought="2024-05-01")
    owner.press("/wood/new", kind="top", label="new", bought="2026-03-01")
    owner.press("/wood/new", kind="top", label="unsaid")
    clock.wait(days=10)

    def found(query: str) -> set[str]:
        return set(re.findall(r'class="card-name">([^<]+)<', owner.get(f"/wood?{query}").text))

    assert found("since=2026-01-01") == {"new", "unsaid"}
    assert found("until=2026-01-01") == {"old"}
    assert found("since=2024-01-01&until=2026-03-05") == {"old", "new"}
    assert found("since=2026-03-20") == set()
    assert "is no day" in owner.get("/wood?since=spring").text


def test_a_thickness_no_side_has_is_asked_about_as_it_is_filed(owner: Browser, shop: Shop) -> None:
    number = send(owner, picture(1), key="1", thickness="11").json()["arrival"]
    looked_at(shop, number)
    said = {f"pair-{number}": "1", f"role-{number}": "a"}
    asked = owner.press("/wood/take-in/file", **said, kind="fingerboard", thickness="")
    assert asked.status_code == 303
    number = send(owner, picture(2), key="2", thickness="11").json()["arrival"]
    looked_at(shop, number)
    said = {f"pair-{number}": "1", f"role-{number}": "a"}
    asked = owner.press("/wood/take-in/file", **said, kind="sides")
    assert asked.status_code == 422
    assert "sides: 11 mm is not between 1.2 and 10 mm" in asked.text
    assert owner.press("/wood/take-in/file", **said, kind="top").status_code == 303
