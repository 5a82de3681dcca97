"""The seam's page: light, feelers, strokes that teach, history; the same figures as the command line."""

from __future__ import annotations

import io
import re
from functools import cache

import numpy as np
import pytest
from asking import Browser
from PIL import Image

from seamlight.demo.seam_light import CandledJoint, Candling, LightShot, photograph_joint
from seamlight.photo import Picture
from seamlight.seam import Bench, judge_light, read_light
from seamlight.shop.readings import readings
from seamlight.shop.seam_bench import bench_of, figures, joint_readings
from seamlight.shop.shop import Shop
from seamlight.shop.tally import plane
from seamlight.shop.wood import new_pair

LENGTH = 550.0
S = np.linspace(0, LENGTH, 1101)
HOLLOW = 0.1 * (1 - (2 * S / LENGTH - 1) ** 2)


@cache
def shot() -> LightShot:
    """A hollow of 0.1 mm on shims of 0.05 and 0.15 mm."""
    return photograph_joint(CandledJoint(HOLLOW + 0.05 + 0.1 * S / LENGTH), Candling(px_per_mm=3.0), 3)


@cache
def candled() -> bytes:
    """The same as PNG."""
    return png(shot().rgb)


def png(rgb: np.ndarray) -> bytes:
    held = io.BytesIO()
    Image.fromarray(rgb).save(held, "PNG")
    return held.getvalue()


@pytest.fixture
def pair_id(shop: Shop) -> int:
    with shop.change("owner") as change:
        return new_pair(change, kind="top", species_common="western redcedar", thickness_mm=4.0).id


def shoot(browser: Browser, address: str, **fields: str):
    files = [("photos", ("joint.png", candled(), "image/png"))]
    return browser.press(address, files=files, **{"length": "550", "shims": "0.05 0.15", **fields})


def feel(browser: Browser, pair_id: int, rows: str, **fields: str):
    return browser.press(f"/wood/pairs/{pair_id}/seam/readings", readings=rows, **fields)


def test_light_is_read_kept_with_its_picture_and_says_what_the_call_says(
    owner: Browser, shop: Shop, pair_id: int
) -> None:
    answer = shoot(owner, f"/wood/pairs/{pair_id}/seam")
    assert answer.status_code == 303, answer.text
    with shop.read() as session:
        (row,) = readings(session, pair_id=pair_id, verb="seam")
    assert shop.files.path(row.files[0]).read_bytes() == candled()
    rgb = np.asarray(Image.open(io.BytesIO(candled())))
    reading = read_light([Picture(rgb, name="joint")], LENGTH, shims_mm=(0.05, 0.15), thickness_mm=4.0)
    meaning = judge_light(reading, Bench(species_name="western redcedar", thickness_mm=4.0))
    assert row.document["shape"] == meaning.shape == "hollow"
    assert row.document["widest_mm"] == pytest.approx(meaning.widest_mm, abs=1e-4)
    page = owner.get(f"/wood/pairs/{pair_id}/seam").text
    assert "hollow" in page
    assert "light cannot see" in page.lower()
    assert f"/made/seam-{row.id}.jpg" in page


def test_without_a_pair_nothing_is_kept(owner: Browser, shop: Shop) -> None:
    answer = shoot(owner, "/bench/seam", thickness="4", width="200")
    assert answer.status_code == 200
    assert "hollow" in answer.text
    with shop.read() as session:
        assert readings(session) == []


def test_feelers_say_what_to_take_off_and_the_next_lies_over_the_last(
    owner: Browser, shop: Shop, pair_id: int
) -> None:
    assert feel(owner, pair_id, "0, 0.00\n275, 0.30\n550, 0.00").status_code == 303
    first = owner.get(f"/wood/pairs/{pair_id}/seam").text
    assert "A few strokes: hollow" in first
    assert "Reading by reading" not in first
    feel(owner, pair_id, "0, 0.00\n275, 0.15\n550, 0.00")
    second = owner.get(f"/wood/pairs/{pair_id}/seam").text
    assert "Reading by reading" in second
    assert "better than the last reading" in second


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"shims": "0.05"}, "two shims"),
        ({"length": ""}, "how long the joint is"),
        ({"shims": "5 15"}, "shim"),
        ({"ends": "12 40 8"}, "not two places"),
    ],
)
def test_what_spoils_a_reading_is_one_line_and_nothing_is_kept(
    owner: Browser, shop: Shop, pair_id: int, fields: dict[str, str], says: str
) -> None:
    answer = shoot(owner, f"/wood/pairs/{pair_id}/seam", **fields)
    assert answer.status_code == 422
    assert says in answer.text
    with shop.read() as session:
        assert readings(session, pair_id=pair_id) == []


def test_readings_that_go_backwards_stay_typed(owner: Browser, pair_id: int) -> None:
    answer = feel(owner, pair_id, "0, 0\n300, 0.1\n200, 0.1")
    assert answer.status_code == 422
    assert "300, 0.1" in answer.text


def test_strokes_between_readings_teach_the_tools_figure(owner: Browser, shop: Shop, pair_id: int) -> None:
    address = f"/wood/pairs/{pair_id}/seam"
    places = np.arange(0, 551, 25)
    hump = 0.2 * (2 * places / 550 - 1) ** 2
    feel(owner, pair_id, "\n".join(f"{s}, {g:.4f}" for s, g in zip(places, hump, strict=True)))
    taken = np.where((places >= 200) & (places <= 350), 2 * 10 * 0.004, 0.0)
    after = hump + taken
    owner.press(f"{address}/strokes", tool="120 grit", strokes="10", to="350", **{"from": "200"})
    feel(owner, pair_id, "\n".join(f"{s}, {g - after.min():.4f}" for s, g in zip(places, after, strict=True)))
    page = owner.get(address).text
    assert 'readings say <span class="length">0.0040' in page
    owner.press(f"{address}/learn", tool="120 grit")
    with shop.read() as session:
        own = {one.tool: one.per_stroke_mm for one in figures(session)}
    assert own["120 grit"] == pytest.approx(0.004, abs=1e-4)
    assert own["80 grit"] == 0.010


def test_the_room_left_is_the_choice_less_what_was_planed(shop: Shop, pair_id: int) -> None:
    from seamlight.shop.choices import keep_choice

    document = {
        "joint_room_mm": 2.0,
        "spare_mm": 2.0,
        "leaves": {
            "a": {"planing_mm": {"end1": 1.0, "end2": 3.0, "most": 3.0}},
            "b": {"planing_mm": {"end1": 1.5, "end2": 3.0, "most": 3.0}},
        },
    }
    with shop.change("owner") as change:
        keep_choice(
            change,
            pair_id,
            outline={"name": "parlour"},
            opening={"joint_edge": "left", "neck_end": 1, "show_face": "sawn", "match": "book"},
            document=document,
            settings={},
            placing=None,
        )
        plane(change, pair_id, "both", 1.2)
    with shop.read() as session:
        assert bench_of(session, pair_id, "mm").room_mm == pytest.approx(1.0 + 2.0 - 1.2)


def test_a_reading_taken_away_counts_no_more(owner: Browser, shop: Shop, pair_id: int) -> None:
    feel(owner, pair_id, "0, 0.00\n275, 0.30\n550, 0.00")
    feel(owner, pair_id, "0, 0.00\n275, 0.00\n550, 0.00")
    with shop.read() as session:
        newest = joint_readings(session, pair_id)[-1]
    owner.press(f"/wood/pairs/{pair_id}/seam/{newest.id}/drop")
    with shop.read() as session:
        (left,) = joint_readings(session, pair_id)
    assert left.document.shape == "hollow"


def test_two_ends_marked_in_the_picture_read_as_without(owner: Browser, shop: Shop, pair_id: int) -> None:
    (x0, y0), (x1, y1) = shot().ends_px
    marked = f"{x0 + 7:.0f},{y0 - 2:.0f} {x1 - 6:.0f},{y1 + 3:.0f}"
    for ends in ("", marked):
        answer = shoot(owner, f"/wood/pairs/{pair_id}/seam", ends=ends)
        assert answer.status_code == 303, answer.text
    turned = " ".join(reversed(marked.split()))
    answer = shoot(owner, f"/wood/pairs/{pair_id}/seam", ends=turned, shims="0.15 0.05")
    assert answer.status_code == 303, answer.text
    with shop.read() as session:
        found, by_marks, from_right = (one.document for one in joint_readings(session, pair_id))
    assert by_marks.shape == found.shape == from_right.shape
    assert by_marks.widest_mm == pytest.approx(found.widest_mm, abs=0.005)
    # the first mark is the neck end: shims and all are read from the other side
    assert by_marks.light[:20] == pytest.approx(found.light[:20], abs=0.02)
    assert from_right.light[:20] == pytest.approx(found.light[::-1][:20], abs=0.02)


def test_each_of_several_pictures_is_marked_for_itself(owner: Browser, shop: Shop, pair_id: int) -> None:
    (x0, y0), (x1, y1) = shot().ends_px
    files = [("photos", (f"{n}.png", candled(), "image/png")) for n in "ab"]
    marks = f"-; {x0:.0f},{y0:.0f} {x1:.0f},{y1:.0f}"
    here = f"/wood/pairs/{pair_id}/seam"
    assert owner.press(here, files=files, length="550", ends=marks).status_code == 303
    with shop.read() as session:
        assert not joint_readings(session, pair_id)[-1].document.lower_bound
    answer = owner.press(here, files=files, length="550", ends=f"{marks}; {marks}")
    assert answer.status_code == 422
    assert "marks for more pictures than the 2 given" in answer.text


def test_the_earlier_reading_lies_under_the_new_one_in_the_large_figure(owner: Browser, pair_id: int) -> None:
    feel(owner, pair_id, "0, 0.00\n275, 0.30\n550, 0.00")
    first = owner.get(f"/wood/pairs/{pair_id}/seam").text
    assert "line-before" not in first
    feel(owner, pair_id, "0, 0.00\n275, 0.15\n550, 0.00")
    second = owner.get(f"/wood/pairs/{pair_id}/seam").text
    assert 'class="line-before" d="M0.0 380.0L500.0 0.0L1000.0 380.0"' in second  # 0.3 mm is the top
    assert 'class="line" d="M0.0 380.0L500.0 190.0L1000.0 380.0"' in second
    assert "Dashed: the reading before" in second


def faces(browser: Browser, pair_id: int, front: list[str], back: list[str]):
    place = [str(550 * n / 4) for n in range(5)]
    return browser.press(
        f"/wood/pairs/{pair_id}/seam/readings", of="joint", place=place, front=front, back=back
    )


def test_feelers_on_both_faces_say_out_of_square_and_wind(owner: Browser, shop: Shop, pair_id: int) -> None:
    assert faces(owner, pair_id, ["0.05"] * 5, ["0"] * 5).status_code == 303
    leaning = owner.get(f"/wood/pairs/{pair_id}/seam").text
    assert "Out of square" in leaning or "out of square by 0.7 degrees" in leaning
    faces(owner, pair_id, ["0", "0", "0", "0.05", "0.1"], ["0.1", "0.05", "0", "0", "0"])
    with shop.read() as session:
        assert joint_readings(session, pair_id)[-1].document.shape == "wind"
    answer = faces(owner, pair_id, ["0.05"] * 5, ["0", "", "0", "0", "0"])
    assert answer.status_code == 422
    assert "back face was not read everywhere" in answer.text


def test_both_faces_join_the_light_reading_and_a_closed_one_asks_until_then(
    owner: Browser, shop: Shop, pair_id: int
) -> None:
    here = f"/wood/pairs/{pair_id}/seam"
    closed = png(photograph_joint(CandledJoint(0 * S), Candling(px_per_mm=3.0), 4).rgb)
    assert (
        owner.press(here, files=[("photos", ("c.png", closed, "image/png"))], length="550").status_code == 303
    )
    page = owner.get(here).text
    assert "Not known yet: whether the edges lean or wind" in page
    assert "It joins the light reading above" in page
    faces(owner, pair_id, ["0.1"] * 5, ["0"] * 5)
    page = owner.get(here).text
    assert "Felt on both faces: the front face is open 0.10 mm more, 1.4° out of square; no wind" in page
    assert "A few strokes: closed" in page
    assert "Not known yet" not in page
    assert 'alt="The seam laid straight' in page  # the light's own picture stays
    with shop.read() as session:
        light, felt = joint_readings(session, pair_id)
        assert felt.of_light == light.id
        assert light.joined is not None
        assert light.joined.light == light.document.light
        assert light.joined.square is not None
        assert len(bench_of(session, pair_id, "mm").before) == 0  # relative: no gap is known by it
    owner.press(f"{here}/{felt.id}/drop")
    assert "Not known yet" in owner.get(here).text
    # once strokes were made the edges are others
    owner.press(f"{here}/strokes", tool="120 grit", strokes="3", **{"from": "0", "to": "550"})
    assert "It joins the light reading above" not in owner.get(here).text
    faces(owner, pair_id, ["0"] * 5, ["0"] * 5)
    with shop.read() as session:
        assert joint_readings(session, pair_id)[-1].of_light is None


def test_feelers_tell_how_wide_where_light_told_only_where(owner: Browser, shop: Shop, pair_id: int) -> None:
    here = f"/wood/pairs/{pair_id}/seam"
    assert shoot(owner, here, shims="").status_code == 303
    faces(owner, pair_id, ["0", "0.08", "0.1", "0.08", "0"], ["0", "0.08", "0.1", "0.08", "0"])
    with shop.read() as session:
        light, _ = joint_readings(session, pair_id)
        assert light.document.widest_mm is None
        assert light.judged.widest_mm == pytest.approx(0.1, abs=0.002)
        assert light.judged.square is not None
        assert len(bench_of(session, pair_id, "mm").before) == 1  # one pass, not two
    assert "Felt on both faces: both faces are open alike" in owner.get(here).text


def test_relative_readings_are_drawn_in_the_history_at_their_own_scale(owner: Browser, pair_id: int) -> None:
    here = f"/wood/pairs/{pair_id}/seam"
    feel(owner, pair_id, "0, 0.00\n275, 0.30\n550, 0.00")
    assert shoot(owner, here, shims="").status_code == 303
    page = owner.get(here).text
    assert page.count("light only: where, not how wide; at its own scale") == 1
    assert page.count('class="area area-relative"') == 1
    assert "Each relative one reaches the top where its light is greatest" in page
    assert "are at one scale: the top is" in page


@pytest.mark.parametrize("form", ["png", "svg"])
def test_charts_of_a_reading_and_of_all_are_files(owner: Browser, pair_id: int, form: str) -> None:
    here = f"/wood/pairs/{pair_id}/seam"
    assert owner.get(f"{here}/history.{form}").status_code == 404
    feel(owner, pair_id, "0, 0.00\n275, 0.30\n550, 0.00")
    assert shoot(owner, here, shims="").status_code == 303
    page = owner.get(here).text
    links = re.findall(rf'href="({here}/[^"]*\.{form})"', page)
    assert len(links) == 2
    for link in links:
        answer = owner.get(link)
        assert answer.headers["content-disposition"].startswith("attachment")
        if form == "png":
            assert Image.open(io.BytesIO(answer.content)).size[0] >= 1600
        else:
            assert answer.text.startswith("<?xml")
            assert ("data:image/png;base64," in answer.text) == (
                "chart" in link
            )  # the straight seam is in it
    assert owner.get(f"{here}/999/chart.{form}").status_code == 404


def test_the_straight_seam_is_made_again_from_the_kept_picture(
    owner: Browser, shop: Shop, pair_id: int
) -> None:
    here = f"/wood/pairs/{pair_id}/seam"
    assert shoot(owner, here).status_code == 303
    with shop.read() as session:
        (one,) = joint_readings(session, pair_id)
    made = shop.made.path(f"seam-{one.id}.jpg")
    first = made.read_bytes()
    made.unlink()
    assert f'src="{here}/{one.id}/straight.jpg"' in owner.get(here).text
    assert owner.get(f"{here}/{one.id}/straight.jpg").content == first
    assert owner.get(f"{here}/{one.id + 9}/straight.jpg").status_code == 404
    made.unlink()
    for sha in one.files:
        shop.files.path(sha).unlink()
    assert owner.get(f"{here}/{one.id}/straight.jpg").status_code == 404
    assert owner.get(f"{here}/{one.id}/chart.svg").status_code == 200


def test_without_a_pair_the_straight_seam_is_shown_and_faces_join(owner: Browser, shop: Shop) -> None:
    files = [("photos", ("a.png", candled(), "image/png"))]
    fields = {
        "length": "550",
        "shims": "0.05 0.15",
        "faces": "0, 0.1, 0\n180, 0.18, 0.08\n370, 0.18, 0.08\n550, 0.1, 0",
    }
    page = owner.press("/bench/seam", files=files, **fields).text
    assert "Felt on both faces: the front face is open 0.10 mm more" in page
    (picture,) = re.findall(r'src="(/made/once-[^"]+\.jpg)"', page)
    assert owner.get(picture).status_code == 200
    with shop.read() as session:
        assert readings(session) == []


@pytest.mark.parametrize("where", ["pair", "alone"])
def test_a_csv_file_of_feelers_reads_as_the_command_reads_it(
    owner: Browser, shop: Shop, pair_id: int, where: str
) -> None:
    here = f"/wood/pairs/{pair_id}/seam" if where == "pair" else "/bench/seam"
    table = b"s_in,gap_in\n0,0\n10.83,0.004\n21.65,0\n"
    answer = owner.press(f"{here}/readings", files=[("table", ("r.csv", table, "text/csv"))], of="joint")
    page = answer.text if where == "alone" else owner.get(here).text
    assert "hollow, widest 0.10 mm" in page
    answer = owner.press(
        f"{here}/readings", files=[("table", ("r.csv", b"\xff\xfe\x00x", "text/csv"))], of="joint"
    )
    assert answer.status_code == 422
    assert "is no text file" in answer.text
