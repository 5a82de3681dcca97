"""Taking wood in through the pages: sendings, what is refused, sorting, confirming, the rack."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from asking import Browser, Clock
from PIL import Image
from sqlalchemy import select

from seamlight.layout.figure import Figure
from seamlight.shop import arrivals_met, jobs
from seamlight.shop.arrivals import arrival, arrivals
from seamlight.shop.arrivals_met import Meetings, Met, keep_meetings, meet_all, meetings
from seamlight.shop.look import Look, look_bytes
from seamlight.shop.shop import Shop
from seamlight.shop.sorting_in import sorted_in, to_match
from seamlight.shop.tables import Arrival, Job, Pair, PairPhoto
from seamlight.shop.taking_in import look_key


def picture(seed: int = 1, kind: str = "JPEG", exif: bytes = b"") -> bytes:
    """A small picture like no other."""
    noise = np.random.default_rng(seed).integers(0, 256, (40, 30, 3), np.uint8)
    held = io.BytesIO()
    Image.fromarray(noise).save(held, kind, **({"exif": exif} if exif else {}))
    return held.getvalue()


def send(browser: Browser, data: bytes, key: str = "one", name: str = "leaf.jpg", **more: str):
    files = {"photo": (name, data, "image/jpeg")}
    headers = {"x-csrf": browser.token()}
    return browser.post("/api/arrivals", data={"key": key, **more}, files=files, headers=headers)


def some_figure(seed: int) -> Figure:
    """Rings like no other's."""
    rings = np.random.default_rng(seed).integers(-60, 60, (1, 240))
    return Figure(np.tile(rings, (120, 1)).astype(np.int8), 60.0, 120.0)


def compare(shop: Shop) -> None:
    """As the work in the background does."""
    with shop.read() as session:
        leaves = to_match(session, shop)
    keep_meetings(shop.made, meet_all(leaves, meetings(shop.made), lambda call, *given: call(*given)))


def sorted_groups(shop: Shop) -> list[tuple[tuple[int, ...], str]]:
    """Arrivals that the page shows together, and why."""
    with shop.read() as session:
        groups = sorted_in(session, shop)
    return [(tuple(one.arrival.id for one in group.members), group.says) for group in groups]


def looked_at(shop: Shop, number: int, leaves: int = 1, why: str = "", figure: Figure | None = None) -> None:
    """As if the first look was done."""
    with shop.read() as session:
        key = look_key(arrival(session, number))
    shop.made.keep(key, look_bytes(Look(b"", leaves, figure, why)))


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


def come_in(owner: Browser, shop: Shop, count: int) -> list[int]:
    """Photographs that were sent and looked at."""
    numbers = [send(owner, picture(n), key=str(n)).json()["arrival"] for n in range(1, count + 1)]
    for number in numbers:
        looked_at(shop, number)
    return numbers


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


def said_of(shop: Shop, number: int) -> tuple[str | None, float | None]:
    with shop.read() as session:
        row = arrival(session, number)
    return row.scale_spec, row.thickness_mm


def looks_asked(shop: Shop) -> list[int | None]:
    with shop.read() as session:
        return [job.subject_id for job in jobs.jobs(session, kind="look")]


def nothing_under_way(shop: Shop) -> None:
    with shop.change("background") as change:
        while (job := jobs.take(change)) is not None:
            jobs.finish(change, job.id)


def test_a_wrong_scale_is_put_right_at_the_photograph(owner: Browser, shop: Shop) -> None:
    number = send(owner, picture(), scale="600dpi").json()["arrival"]
    looked_at(shop, number, leaves=0, why="no leaf is as small as that; look at the scale")
    nothing_under_way(shop)
    page = owner.get("/wood/take-in").text
    assert f'name="scale-{number}" type="text" value="600dpi"' in page
    wrong = owner.press(f"/wood/take-in/{number}/look", **{f"scale-{number}": "5 foot"})
    assert wrong.status_code == 422
    assert "is not a scale" in wrong.text
    assert said_of(shop, number) == ("600dpi", None)
    thin = {f"scale-{number}": "tags", f"thickness-{number}": "thin"}
    assert "is not a length" in owner.press(f"/wood/take-in/{number}/look", **thin).text
    right = {f"scale-{number}": "4px/mm", f"thickness-{number}": "4.53"}
    assert owner.press(f"/wood/take-in/{number}/look", **right).status_code == 303
    assert said_of(shop, number) == ("4px/mm", 4.53)
    assert looks_asked(shop) == [number]
    page = owner.get("/wood/take-in").text
    assert "no leaf is as small" not in page  # the look at the old scale counts no more
    again = {f"scale-{number}": "4px/mm", f"thickness-{number}": "4.5 mm"}  # as the page shows it
    owner.press(f"/wood/take-in/{number}/look", **again)
    assert said_of(shop, number) == ("4px/mm", 4.53)


@pytest.mark.parametrize("key", ["one", "another"])
def test_the_same_picture_sent_again_takes_the_new_scale(owner: Browser, shop: Shop, key: str) -> None:
    number = send(owner, picture(), scale="tags", thickness="4").json()["arrival"]
    nothing_under_way(shop)
    answer = send(owner, picture(), key=key, scale="300dpi").json()
    assert answer["new"] == (key == "another")
    assert answer["changed"] == (key == "one")
    assert said_of(shop, number) == said_of(shop, answer["arrival"]) == ("300dpi", 4.0)
    assert number in looks_asked(shop)
    nothing_under_way(shop)
    same = send(owner, picture(), key=key)
    assert (same.json()["new"], same.json()["changed"]) == (False, False)
    assert said_of(shop, number) == ("300dpi", 4.0)
    assert looks_asked(shop) == []


def test_equal_files_are_told_and_never_a_pair(owner: Browser, shop: Shop) -> None:
    first = send(owner, picture(), key="1", name="x-a.jpg").json()["arrival"]
    second = send(owner, picture(), key="2", name="x-b.jpg").json()["arrival"]
    figure = some_figure(1)
    for number in (first, second):
        looked_at(shop, number, figure=figure)
    compare(shop)
    groups = sorted_groups(shop)
    assert groups == [((first,), "no partner found"), ((second,), "the same photograph as x-a.jpg")]
    assert "the same photograph as x-a.jpg" in owner.get("/wood/take-in").text


def test_a_photograph_that_is_on_the_rack_already_is_told(owner: Browser, shop: Shop) -> None:
    (first,) = come_in(owner, shop, 1)
    said = {f"pair-{first}": "1", f"role-{first}": "a", "kind": "top", "label-1": "R7"}
    assert owner.press("/wood/take-in/file", **said).status_code == 303
    second = send(owner, picture(1), key="later").json()["arrival"]
    looked_at(shop, second)
    assert sorted_groups(shop) == [((second,), "the same photograph as one of R7, which is on the rack")]


def test_a_look_that_broke_down_shows_no_broken_picture(owner: Browser, shop: Shop) -> None:
    send(owner, picture())
    with shop.change("background") as change:
        job = jobs.take(change)
        assert job is not None
        jobs.fail(change, job.id, "the working process died")
    page = owner.get("/wood/take-in").text
    assert "the working process died" in page
    pictures = re.findall(r'<img src="([^"]+)"', page)
    assert all(owner.get(address).status_code == 200 for address in pictures)
    assert "/made/" not in page


def test_looking_at_the_page_matches_nothing(
    owner: Browser, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    numbers = [send(owner, picture(n), key=str(n)).json()["arrival"] for n in range(1, 4)]
    for n, number in enumerate(numbers, 1):
        looked_at(shop, number, figure=some_figure(n))
    nothing_under_way(shop)

    def refused(*given: object) -> None:
        raise AssertionError("matched while a page was asked for")

    for name in ("meet", "worth_meeting", "look_from_bytes", "find_pairs", "register_figures"):
        monkeypatch.setattr(arrivals_met, name, refused)
    page = owner.get("/wood/take-in").text
    assert page.count("matching…") == 3
    assert owner.press("/wood/take-in/match").status_code == 303
    page = owner.get("/wood/take-in").text
    assert "Matching the photographs" in page
    assert "about to begin" in owner.get("/api/work").json()["says"]


def test_pages_show_what_was_kept_of_the_matching(owner: Browser, shop: Shop) -> None:
    numbers = [send(owner, picture(n), key=str(n)).json()["arrival"] for n in range(1, 4)]
    for n, number in enumerate(numbers, 1):
        looked_at(shop, number, figure=some_figure(n))
    with shop.read() as session:
        one, two, three = (look_key(row) for row in arrivals(session))
    met = {
        arrivals_met.couple_of(one, three): Met(0.91, False),
        arrivals_met.couple_of(two, three): Met(0.5, False),
    }
    keep_meetings(shop.made, Meetings(frozenset({one, two, three}), met))
    assert sorted_groups(shop) == [
        ((numbers[0], numbers[2]), "a pair: the mirrored pictures match 0.91"),
        ((numbers[1],), "no partner found"),
    ]


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
