"""The bench as JSON says what its pages say."""

from asking import Browser, Clock

from laid_pairs import laid_pair
from seamlight.shop.builds import new_build
from seamlight.shop.clamps import shop_glues, start_clamps
from seamlight.shop.glues import glue_of
from seamlight.shop.shop import Shop
from seamlight.shop.stages import move
from seamlight.shop.wood import pair


def test_the_bench_its_clamps_and_what_waits(owner: Browser, shop: Shop, clock: Clock) -> None:
    with shop.change("owner") as change:
        tops = [laid_pair(change, parlour=5.0).id for _ in range(3)]
        move(change, tops[:2], "laid out")
        move(change, tops[2:], "joined")
        start_clamps(change, glue_of("pva", shop_glues(change.session)), pair_ids=tops[2:])
    found = owner.get("/api/bench").json()
    assert found["now"] == [{"key": "joint", "title": "To joint", "then": "jointed", "pairs": tops[:2]}]
    (clamp,) = found["clamps"]
    assert (clamp["pair_id"], clamp["glue"]) == (tops[2], "pva")
    assert clamp["off_at"].startswith("2026-03-12T10:30:00")
    assert [wait["pair_id"] for wait in found["waiting"]] == [tops[2]]


def test_stages_all_or_none(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        tops = [laid_pair(change).id for _ in range(2)]
    headers = {"x-csrf": owner.token()}
    body = {"pairs": tops, "stage": "jointed"}
    assert owner.post("/api/stages", json=body, headers=headers).json() == {"moved": tops}
    assert owner.post("/api/stages", json=body, headers=headers).json() == {"moved": []}
    for wrong in (
        {"pairs": [*tops, 99], "stage": "joined"},
        {"pairs": tops, "stage": "polished"},
        {"pairs": [], "stage": "joined"},
    ):
        assert owner.post("/api/stages", json=wrong, headers=headers).status_code in (404, 422)
    assert owner.post("/api/stages", json=body).status_code == 403
    with shop.read() as session:
        assert {pair(session, number).stage for number in tops} == {"jointed"}


def test_builds_and_their_matching(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        wishes = {"top": {"woods": ["Sitka spruce"]}, "back": {"woods": ["mahogany"]}}
        build = new_build(change, label="one", outline={"name": "parlour"}, kind_wishes=wishes)
        top = laid_pair(change, parlour=5.0)
    (shown,) = owner.get("/api/builds").json()
    assert (shown["label"], shown["outline"], shown["given"]) == ("one", "parlour", [])
    assert shown["wishes"]["back"]["woods"] == ["mahogany"]
    found = owner.get("/api/match").json()
    (place,) = found["best"]
    assert (place["build_id"], place["part"], place["pair_id"]) == (build.id, "top", top.id)
    assert "Fits the parlour with 5.0 mm to spare beside, 10.0 at the ends." in place["reasons"]
    assert found["short"][0]["why"] == "No mahogany on the rack can serve the back of one (parlour)."
    assert found["second"] == []
    assert found["difference"] == "The next best fills 1 wish fewer."
