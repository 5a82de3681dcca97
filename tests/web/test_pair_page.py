"""The pair's page and its JSON: choosing, placing, flaws, the tally of planing, and what is refused."""

from __future__ import annotations

import json
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from asking import Browser, Clock
from filed_pair import LONG, file_pair, leaf_a

from seamlight.layout.by_hand_document import HandPlacingPart
from seamlight.shop.choices import choice
from seamlight.shop.flaw_edits import flaw_edits
from seamlight.shop.history import history
from seamlight.shop.photos import photos
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Choice, Job, Pair, PairPhoto
from seamlight.shop.taking_in import flat_key
from seamlight.shop.wood import pair as pair_row

Placing = dict[str, Any]


@pytest.fixture
def pair(shop: Shop) -> Pair:
    """A top of two leaves, laid out for a parlour."""
    return file_pair(shop)


def chosen(shop: Shop, pair_id: int) -> Choice | None:
    with shop.read() as session:
        return choice(session, pair_id)


def work(owner: Browser, pair_id: int, **asked: str) -> dict[str, Any]:
    answer = owner.get(f"/api/pairs/{pair_id}/work", params=asked)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def judge(owner: Browser, pair_id: int, placing: Placing, outline: str = "parlour") -> dict[str, Any]:
    answer = asks(owner, "POST", f"/api/pairs/{pair_id}/judge", {"outline": outline, "placing": placing})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def asks(owner: Browser, method: str, path: str, body: Any) -> Any:
    return owner.request(method, path, json=body, headers={"x-csrf": owner.token()})


def test_a_plain_form_chooses_an_opening(owner: Browser, shop: Shop, pair: Pair) -> None:
    page = owner.get(f"/wood/pairs/{pair.id}")
    assert page.status_code == 200
    assert page.text.count('class="ways"') == 1
    assert len(re.findall(r'<img src="/wood/pairs/\d+/opening-\d\.jpg', page.text)) == 4
    answer = owner.press(f"/wood/pairs/{pair.id}/choose", outline="parlour", number="2", version="0")
    assert answer.status_code == 303
    kept = chosen(shop, pair.id)
    assert kept is not None
    second = work(owner, pair.id)["openings"][1]
    assert kept.placing == second["placing"]
    assert kept.document["spare_mm"] == pytest.approx(second["spare_mm"], abs=2e-3)
    assert kept.opening["match"] == "book"
    again = owner.get(f"/wood/pairs/{pair.id}").text
    assert 'class="chosen"' in again


def test_the_later_of_two_choosers_is_told(owner: Browser, shop: Shop, pair: Pair) -> None:
    address = f"/wood/pairs/{pair.id}/choose"
    assert owner.press(address, outline="parlour", number="2", version="0").status_code == 303
    late = owner.press(address, outline="parlour", number="3", version="0")
    assert late.status_code == 409
    body = work(owner, pair.id)
    refused = asks(
        owner,
        "PUT",
        f"/api/pairs/{pair.id}/choice",
        {"outline": "parlour", "placing": body["openings"][0]["placing"], "version": 0},
    )
    assert refused.status_code == 409
    assert refused.json()["changes"][-1]["by"] == "owner"
    kept = chosen(shop, pair.id)
    assert kept is not None
    assert kept.placing == body["openings"][1]["placing"]
    assert kept.version == 1


def test_what_is_judged_is_what_the_search_found(owner: Browser, pair: Pair) -> None:
    body = work(owner, pair.id)
    assert body["version"] == 0
    assert not body["chosen"]
    for one in body["openings"]:
        judged = judge(owner, pair.id, one["placing"])
        assert judged["opening"]["spare_mm"] == pytest.approx(one["spare_mm"], abs=2e-3)
        assert judged["verdict"] == one["verdict"]
        assert judged["placing"] == one["placing"]


def test_the_best_of_a_way_is_searched_for(owner: Browser, pair: Pair) -> None:
    one = work(owner, pair.id)["openings"][0]
    way = {name: one["placing"][name] for name in ("joint_edge", "neck_end", "show_face")}
    found = asks(owner, "POST", f"/api/pairs/{pair.id}/best", {"outline": "parlour", **way}).json()
    assert found["opening"]["score"] == pytest.approx(one["score"], abs=0.01)


def test_placing_by_figures_moves_the_joint(owner: Browser, shop: Shop, pair: Pair) -> None:
    body = work(owner, pair.id)
    base, before = body["judged"]["placing"], body["judged"]["opening"]["spare_mm"]
    fields = {"outline": "parlour", "version": "0", "base": json.dumps(base), "inward": "2 mm", "tilt": "0"}
    answer = owner.press(f"/wood/pairs/{pair.id}/place", **fields, along="\N{MINUS SIGN}1.5", slide="")
    assert answer.status_code == 303, answer.text
    kept = chosen(shop, pair.id)
    assert kept is not None
    assert kept.placing is not None
    assert kept.placing["offset_mm"] == pytest.approx(base["offset_mm"] + 2)
    assert kept.placing["shift_mm"] == pytest.approx(base["shift_mm"] - 1.5)
    assert kept.document["spare_mm"] == pytest.approx(before - 2, abs=1e-3)


def test_a_figure_that_is_none_is_told_beside_its_field(owner: Browser, shop: Shop, pair: Pair) -> None:
    base = json.dumps(work(owner, pair.id)["judged"]["placing"])
    answer = owner.press(
        f"/wood/pairs/{pair.id}/place", outline="parlour", version="0", base=base, inward="two", tilt="0"
    )
    assert answer.status_code == 422
    assert 'value="two"' in answer.text
    assert chosen(shop, pair.id) is None


def test_another_outline_lies_where_the_last_one_lay(owner: Browser, pair: Pair) -> None:
    owner.press(f"/wood/pairs/{pair.id}/choose", outline="parlour", number="1", version="0")
    mine = work(owner, pair.id)
    other = work(owner, pair.id, outline="small concert")
    assert other["openings"] == []
    assert not other["chosen"]
    now, before = other["judged"]["placing"], mine["judged"]["placing"]
    assert now["offset_mm"] == before["offset_mm"]
    middle = mine["facts"]["length_mm"] - other["facts"]["length_mm"]
    assert now["shift_mm"] - before["shift_mm"] == pytest.approx(middle / 2)
    page = owner.get(f"/wood/pairs/{pair.id}?outline=small+concert")
    assert "was not searched on this pair yet" in page.text


def test_searching_is_done_in_the_background(owner: Browser, shop: Shop, pair: Pair) -> None:
    answer = owner.press(f"/wood/pairs/{pair.id}/search", outline="small concert")
    assert answer.status_code == 303
    with shop.read() as session:
        (job,) = session.query(Job).all()
    assert (job.kind, job.subject_id, job.payload["outlines"]) == ("read", pair.id, ["small concert"])
    assert "read and laid out in the background" in owner.get(f"/wood/pairs/{pair.id}").text


def test_what_a_person_says_of_flaws_wins(owner: Browser, shop: Shop, pair: Pair) -> None:
    address = f"/api/pairs/{pair.id}/flaws/a?outline=parlour"
    before = work(owner, pair.id)
    assert [flaw["found"] for flaw in before["flaws"]["a"]["flaws"]] == [0]
    crack = {"kind": "crack", "outline_mm": [[60, 300], [64, 300], [64, 340], [60, 340]]}
    kept = asks(owner, "PUT", address, {"edits": {"add": [crack], "drop": [0]}, "version": 0})
    assert kept.status_code == 200, kept.text
    assert kept.json()["version"] == 1
    (flaw,) = kept.json()["flaws"]["flaws"]
    assert (flaw["kind"], flaw["found"], flaw["added"], flaw["sure"]) == ("crack", None, 0, 1.0)
    judged = judge(owner, pair.id, before["judged"]["placing"])
    assert {(one["leaf"], one["zone"]) for one in judged["opening"]["flaws_inside"]} >= {("a", "open")}
    late = asks(owner, "PUT", address, {"edits": {}, "version": 0})
    assert late.status_code == 409
    with shop.read() as session:
        assert flaw_edits(session, pair.id)["a"].edits == {"add": [crack], "drop": [0]}
        assert session.query(Job).filter(Job.kind == "read").count() == 1
    page = owner.get(f"/wood/pairs/{pair.id}")
    assert "newer than the search" in page.text


@pytest.mark.parametrize(
    "edits",
    [
        {"add": [{"kind": "wane", "outline_mm": [[-9, -9], [900, -9], [900, 900], [-9, 900]]}]},
        {"drop": [7]},
        {"add": [{"kind": "knot", "outline_mm": [[0, 0], [1, 1]]}]},
        {"add": "all"},
        {"x": []},
    ],
)
def test_edits_that_cannot_be_are_refused(owner: Browser, shop: Shop, pair: Pair, edits: Any) -> None:
    answer = asks(
        owner, "PUT", f"/api/pairs/{pair.id}/flaws/a?outline=parlour", {"edits": edits, "version": 0}
    )
    assert answer.status_code == 422
    with shop.read() as session:
        assert flaw_edits(session, pair.id) == {}


def test_flaws_are_added_and_dropped_by_plain_forms(owner: Browser, shop: Shop, pair: Pair) -> None:
    add = {
        "flaw_leaf": "b",
        "flaw_kind": "pitch",
        "from_end1": "200",
        "from_left": "4 in",
        "long": "20",
        "wide": "3",
    }
    assert owner.press(f"/wood/pairs/{pair.id}/flaws/add", **add, version="0").status_code == 303
    added = work(owner, pair.id)["flaws"]["b"]["flaws"][-1]
    xs, ys = zip(*added["outline_mm"], strict=True)
    assert (min(xs) + max(xs)) / 2 == pytest.approx(101.6, abs=0.1)
    assert max(ys) - min(ys) == pytest.approx(20, abs=0.3)
    dropped = owner.press(f"/wood/pairs/{pair.id}/flaws/drop", leaf="b", added="0", version="1")
    assert dropped.status_code == 303
    dropped = owner.press(f"/wood/pairs/{pair.id}/flaws/drop", leaf="b", found="0", version="2")
    assert dropped.status_code == 303
    assert work(owner, pair.id)["flaws"]["b"]["flaws"] == []
    with shop.read() as session:
        assert flaw_edits(session, pair.id)["b"].edits == {"drop": [0]}


def test_a_mirror_that_stands_in_takes_no_flaws(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop, lone=True)
    body = work(owner, pair.id)
    assert body["stands_in"]
    assert body["pictures"]["a"] == body["pictures"]["b"]
    answer = asks(owner, "PUT", f"/api/pairs/{pair.id}/flaws/b?outline=parlour", {"edits": {}, "version": 0})
    assert answer.status_code == 422
    assert "not photographed" in answer.json()["what"]
    assert "mirror stands in" in owner.get(f"/wood/pairs/{pair.id}").text


def test_the_tally_of_planing_runs_against_the_room(
    owner: Browser, shop: Shop, pair: Pair, clock: Clock
) -> None:
    owner.press(f"/wood/pairs/{pair.id}/choose", outline="parlour", number="1", version="0")
    kept = chosen(shop, pair.id)
    assert kept is not None
    least = min(kept.document["leaves"]["a"]["planing_mm"][end] for end in ("end1", "end2"))
    room = least + kept.document["joint_room_mm"]
    clock.wait(hours=1)
    note = {"planed_leaf": "both", "planed_note": "three passes"}
    assert owner.press(f"/wood/pairs/{pair.id}/planed", planed_mm="1.2", **note).status_code == 303
    assert owner.press(f"/wood/pairs/{pair.id}/planed", planed_mm="-0.2", **note).status_code == 303
    text = re.sub(r"<[^>]+>|\s+", " ", owner.get(f"/wood/pairs/{pair.id}").text).replace("\xa0", " ")
    text = re.sub(r"\s+", " ", text)
    assert "Leaf A: 1.0 mm" in text
    assert f"{room - 1.0:.1f} mm" in text
    wrong = owner.press(f"/wood/pairs/{pair.id}/planed", planed_mm="a bit", **note)
    assert wrong.status_code == 422
    assert 'value="a bit"' in wrong.text
    assert owner.press(f"/wood/pairs/{pair.id}/planed", planed_mm="-9", **note).status_code == 422


def test_sheets_and_pictures_of_exactly_the_choice(owner: Browser, shop: Shop, pair: Pair) -> None:
    base = f"/wood/pairs/{pair.id}"
    sheet = owner.get(f"{base}/marking.pdf")
    assert sheet.headers["content-type"] == "application/pdf"
    assert sheet.content.startswith(b"%PDF-")
    assert owner.get(f"{base}/marking.pdf?paper=a9").status_code == 422
    first = owner.get(f"{base}/opening-1.jpg?outline=parlour")
    assert first.content.startswith(b"\xff\xd8")
    assert any(path.name.startswith(f"opening-{pair.id}-") for path in shop.made.folder.iterdir())
    assert owner.get(f"{base}/opening-9.jpg?outline=parlour").status_code == 404
    assert owner.get(f"{base}/picture.png").content.startswith(b"\x89PNG")
    drawn = owner.get(f"{base}/picture.svg")
    assert drawn.headers["content-disposition"].startswith("attachment")
    assert ElementTree.fromstring(drawn.text).tag.endswith("svg")
    assert owner.get(f"{base}/openings.png").content.startswith(b"\x89PNG")


def test_what_was_made_and_is_gone_is_read_again(owner: Browser, shop: Shop, pair: Pair) -> None:
    placing = work(owner, pair.id)["judged"]["placing"]
    shop.made.path(flat_key(pair.id, "a")).unlink()
    page = owner.get(f"/wood/pairs/{pair.id}")
    assert page.status_code == 200
    assert "Read them again" in page.text
    answer = asks(owner, "POST", f"/api/pairs/{pair.id}/judge", {"outline": "parlour", "placing": placing})
    assert answer.status_code == 422
    assert owner.get(f"/api/pairs/{pair.id}/work").status_code == 404


def test_wood_without_photographs_says_what_to_do(owner: Browser, shop: Shop) -> None:
    owner.press("/wood/new", kind="neck", species="maple")
    page = owner.get("/wood/pairs/1")
    assert page.status_code == 200
    assert "No photograph of this wood yet" in page.text
    assert owner.get("/wood/pairs/99").status_code == 404
    assert owner.get("/api/pairs/99/work").status_code == 404


def test_facts_weights_deleting_and_bringing_back(owner: Browser, shop: Shop, pair: Pair) -> None:
    base = f"/wood/pairs/{pair.id}"
    edit = {"kind": "top", "label": "Cedar 7", "price": "85,50 EUR", "grade_by_eye": "AA", "version": "1"}
    assert owner.press(f"{base}/edit", **edit).status_code == 303
    assert owner.press(f"{base}/edit", **edit | {"label": "Other"}).status_code == 409
    wrong = owner.press(f"{base}/edit", **edit | {"price": "cheap", "version": "2"})
    assert wrong.status_code == 422
    assert 'value="cheap"' in wrong.text
    assert owner.press(f"{base}/weigh", weighed_leaf="both", grams="312,5 g").status_code == 303
    assert owner.press(f"{base}/weigh", weighed_leaf="both", grams="heavy").status_code == 422
    assert "312.5" in owner.get(base).text
    assert owner.press(f"{base}/delete", version="2").status_code == 303
    gone = owner.get(base)
    assert gone.status_code == 200
    assert "Bring it back" in gone.text
    assert owner.press(f"{base}/bring-back").status_code == 303
    with shop.read() as session:
        assert pair_row(session, pair.id).label == "Cedar 7"


def test_a_line_of_the_history_is_undone(owner: Browser, shop: Shop, pair: Pair) -> None:
    owner.press(f"/wood/pairs/{pair.id}/choose", outline="parlour", number="1", version="0")
    owner.press(f"/wood/pairs/{pair.id}/choose", outline="parlour", number="2", version="1")
    with shop.read() as session:
        line = next(one for one in history(session, "pair", pair.id) if one.subject == "choice")
    assert owner.press(f"/wood/pairs/{pair.id}/undo", line=str(line.id)).status_code == 303
    kept = chosen(shop, pair.id)
    assert kept is not None
    assert kept.placing == work(owner, pair.id)["openings"][0]["placing"]


def test_arrival_stands_beside_today(owner: Browser, shop: Shop, pair: Pair, clock: Clock) -> None:
    """A leaf looked at again months later keeps its dated photograph of arrival (trade.md, case 13)."""
    from filed_pair import painted

    came = clock()
    clock.wait(days=150)
    files = [("files", ("today.jpg", painted("b"), "image/jpeg"))]
    answer = owner.press(f"/wood/pairs/{pair.id}/photos", files=files, photo_role="a", photo_note="")
    assert answer.status_code == 303, answer.text
    page = owner.get(f"/wood/pairs/{pair.id}").text
    both = page.partition("<summary>Then and now")[2].partition("</details>")[0]
    assert "at its arrival" in both
    assert re.findall(r'datetime="(\d{4}-\d\d-\d\d)', both) == [f"{came:%F}", f"{clock():%F}"]
    shas = [f'/files/{one.file_sha256}"' for one in photos_of(shop, pair) if one.role == "a"]
    assert len(shas) == 2
    assert all(sha in both for sha in shas)
    clock.wait(days=30)  # and once more: arrival beside the newest
    files = [("files", ("later.jpg", painted("other_a"), "image/jpeg"))]
    owner.press(f"/wood/pairs/{pair.id}/photos", files=files, photo_role="a", photo_note="")
    both = (
        owner.get(f"/wood/pairs/{pair.id}")
        .text.partition("<summary>Then and now")[2]
        .partition("</details>")[0]
    )
    assert re.findall(r'datetime="(\d{4}-\d\d-\d\d)', both) == [f"{came:%F}", f"{clock():%F}"]
    paper = [("files", ("bill.pdf", b"%PDF-1.4 not much", "application/pdf"))]
    assert owner.press(f"/wood/pairs/{pair.id}/photos", files=paper, photo_role="paper").status_code == 303
    assert "bill.pdf" in owner.get(f"/wood/pairs/{pair.id}").text


def photos_of(shop: Shop, pair: Pair) -> list[PairPhoto]:
    with shop.read() as session:
        return photos(session, pair.id)


def test_in_inches_every_length_says_so(owner: Browser, shop: Shop, pair: Pair) -> None:
    owner.press("/shop/settings", unit="inch")
    page = owner.get(f"/wood/pairs/{pair.id}").text
    assert 'data-unit="inch"' in page
    body = work(owner, pair.id)
    assert " in (" in body["judged"]["said"] or " in " in body["judged"]["said"]
    placing = HandPlacingPart.model_validate(body["judged"]["placing"])
    fields = {"outline": "parlour", "version": "0", "base": placing.model_dump_json(), "inward": "1/16"}
    assert owner.press(f"/wood/pairs/{pair.id}/place", **fields).status_code == 303
    kept = chosen(shop, pair.id)
    assert kept is not None
    assert kept.placing is not None
    assert kept.placing["offset_mm"] == pytest.approx(placing.offset_mm + 25.4 / 16)


def test_the_leaf_is_where_the_facts_say(owner: Browser, pair: Pair) -> None:
    """The matrix of leaf B carries its own frame onto leaf A's, as the registration says."""
    facts = work(owner, pair.id)["facts"]
    a, b, c, d, e, f = facts["b"]["to_a"]
    x, y = 30.0, 40.0
    assert (a * x + c * y + e, b * x + d * y + f) == pytest.approx((190 - 30 + 0.2, 41.0), abs=1e-6)
    assert facts["a"]["to_a"] == pytest.approx([1, 0, 0, 1, 0, 0])
    assert facts["a"]["length_mm"] == LONG
    assert len(facts["a"]["flaws"]) == len(leaf_a().flaws)
