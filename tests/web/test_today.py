"""Today: ticking pairs, the clamps and their clocks, what waits for what; every form without script."""

import re

import pytest
from asking import Browser, Clock

from laid_pairs import laid_pair, layout_document
from seamlight.shop.air import note_air
from seamlight.shop.builds import ToGive, give, new_build
from seamlight.shop.choices import keep_choice
from seamlight.shop.clamps import in_clamps
from seamlight.shop.shop import Shop
from seamlight.shop.stages import move, stage_events
from seamlight.shop.wood import new_pair, pair


def tops(shop: Shop, count: int, stage: str = "laid out") -> list[int]:
    with shop.change("owner") as change:
        numbers = [new_pair(change, kind="top", species_common="Sitka spruce").id for _ in range(count)]
        if stage != "rough":
            move(change, numbers, stage)
    return numbers


def stages(shop: Shop, numbers: list[int]) -> list[str]:
    with shop.read() as session:
        return [pair(session, number).stage for number in numbers]


def test_an_empty_shop_says_what_to_do_first(owner: Browser, shop: Shop) -> None:
    assert "Take wood in" in owner.get("/").text
    tops(shop, 1, "rough")
    page = owner.get("/").text
    assert "Nothing is under way" in page
    assert "/wood?stage=rough" in page


def test_three_pairs_are_ticked_jointed(owner: Browser, shop: Shop) -> None:
    numbers = tops(shop, 4)
    answer = owner.press("/bench/stage", stage="jointed", pair=[str(n) for n in numbers[:3]], back="/")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"
    assert stages(shop, numbers) == ["jointed"] * 3 + ["laid out"]
    page = owner.get("/").text
    assert "T1, T2 and T3 are jointed." in page
    with shop.read() as session:
        assert [event.by for event in stage_events(session, numbers[0])] == ["owner", "owner"]


def test_nothing_ticked_is_told_on_the_same_page(owner: Browser, shop: Shop) -> None:
    tops(shop, 1)
    answer = owner.press("/bench/stage", stage="jointed", back="/")
    assert answer.status_code == 422
    assert "no pair was ticked" in answer.text
    assert "To joint" in answer.text


def test_the_rack_posts_here_and_goes_back_to_where_it_stood(owner: Browser, shop: Shop) -> None:
    (number,) = tops(shop, 1)
    token = owner.token()
    answer = owner.post(
        "/bench/stage",
        data={"csrf": token, "stage": "jointed", "pair": str(number)},
        headers={"referer": "http://127.0.0.1:8765/wood?kind=top"},
    )
    assert answer.headers["location"] == "/wood?kind=top"
    for elsewhere in ("//evil.example/", "https://evil.example/", "/\\evil.example"):
        answer = owner.press("/bench/stage", stage="joined", pair=str(number), back=elsewhere)
        assert answer.headers["location"] == "/"


def test_a_slip_of_the_finger_is_put_back(owner: Browser, shop: Shop) -> None:
    numbers = tops(shop, 1, "jointed")
    owner.press("/bench/stage", stage="joined", pair=str(numbers[0]), back="/")
    assert "Back to jointed" in owner.get("/").text
    owner.press("/bench/stage/back", pair=str(numbers[0]), stage="jointed")
    assert stages(shop, numbers) == ["jointed"]


def test_joining_starts_the_clock_in_the_air_as_read(owner: Browser, shop: Shop, clock: Clock) -> None:
    numbers = tops(shop, 2, "jointed")
    with shop.change("owner") as change:
        note_air(change, 8.0, 45.0)
    assert "No glue now" in owner.get("/").text
    owner.press("/bench/stage", stage="joined", pair=[str(n) for n in numbers], glue="pva", back="/")
    with shop.read() as session:
        rows = in_clamps(session)
    assert [(row.pair_id, row.temp_c, row.rh_pct) for row in rows] == [(n, 8.0, 45.0) for n in numbers]
    page = owner.get("/").text
    assert page.count("1 h 00 min left") == 2
    assert f'data-until="{rows[0].off_at.isoformat()}"' in page
    clock.wait(minutes=59, seconds=30)
    assert owner.get("/").text.count("1 min left") == 2
    clock.wait(seconds=30)
    page = owner.get("/").text
    assert page.count("may come out") == 2
    assert "not to be planed or stressed before" in page
    answer = owner.press("/bench/clamps/out", clamp=[str(row.id) for row in rows])
    assert answer.status_code == 303
    page = owner.get("/").text
    assert "2 out of the clamps." in page
    assert "In the clamps" not in page
    clock.wait(hours=24)
    assert "so that the seam does not sink" in owner.get("/").text
    clock.wait(days=6)
    assert "Rested: the glue" in owner.get("/").text


def test_early_out_of_the_clamps_is_said(owner: Browser, shop: Shop, clock: Clock) -> None:
    numbers = tops(shop, 1, "jointed")
    fields = {"kind": "clamps", "pairs": "t1", "glue": "pva", "what": "centre joint", "ago": "20"}
    owner.press("/bench/clamps/in", **fields, temp="20", rh="45")
    assert stages(shop, numbers) == ["joined"]
    with shop.read() as session:
        (row,) = in_clamps(session)
    assert (clock() - row.at).total_seconds() == 20 * 60
    owner.press("/bench/clamps/out", clamp=str(row.id))
    assert "40 min early: do not stress the joint" in owner.get("/").text


@pytest.mark.parametrize(
    ("path", "fields", "words"),
    [
        ("/bench/clamps/in", {"kind": "clamps", "pairs": "T9", "glue": "pva"}, "labelled &#39;T9&#39;"),
        ("/bench/clamps/in", {"kind": "clamps", "pairs": "T1", "glue": "pva", "ago": "soon"}, "no number"),
        ("/bench/clamps/in", {"kind": "clamps", "pairs": "T1", "glue": "mud"}, "no glue is called"),
        ("/bench/clamps/in", {"kind": "clamps", "pairs": " ", "glue": "pva"}, "no pair was named"),
        (
            "/bench/clamps/in",
            {"kind": "clamps", "pairs": "T1", "glue": "pva"},
            "the temperature was not read",
        ),
        (
            "/bench/clamps/in",
            {"kind": "clamps", "pairs": "T1", "glue": "pva", "temp": "20", "rh": "400"},
            "no relative humidity",
        ),
        ("/bench/typed", {"kind": "stage", "pairs": "T1 T9", "stage": "jointed"}, "labelled &#39;T9&#39;"),
        ("/bench/typed", {"kind": "stage", "pairs": "T1", "stage": "polished"}, "no stage"),
        ("/bench/clamps/out", {}, "nothing was ticked"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_changes(
    owner: Browser, shop: Shop, path: str, fields: dict[str, str], words: str
) -> None:
    numbers = tops(shop, 1)
    answer = owner.press(path, **fields)
    assert answer.status_code == 422
    assert words in answer.text
    assert fields.get("pairs", "").strip() in answer.text
    assert stages(shop, numbers) == ["laid out"]


def test_pairs_are_moved_by_their_labels(owner: Browser, shop: Shop) -> None:
    numbers = tops(shop, 3)
    owner.press("/bench/typed", kind="stage", pairs="T1, t 3 T2".replace("t 3", "t3"), stage="jointed")
    assert stages(shop, numbers) == ["jointed"] * 3


def test_instruments_without_wood_and_rough_wood_given_to_one(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        build = new_build(change, label="Anna's parlour", outline={"name": "parlour"})
        row = laid_pair(change, parlour=4.0)
        give(change, ToGive(build.id, "top", row.id))
    page = owner.get("/").text
    assert re.search(r"Anna&#39;s parlour</a> waits for a back<", page)
    assert "To lay out" in page


def test_a_rough_pair_whose_opening_was_chosen_is_ready_to_joint(owner: Browser, shop: Shop) -> None:
    with shop.change("owner") as change:
        row = laid_pair(change, parlour=4.0)
        document = layout_document("parlour", 4.0)["openings"][0]
        keep_choice(change, row.id, outline={"name": "parlour"}, opening={}, document=document)
    assert "To joint" in owner.get("/").text
    owner.press("/bench/stage", stage="jointed", pair=str(row.id), back="/")
    assert stages(shop, [row.id]) == ["jointed"]


def test_a_long_bench_is_cut_and_says_how_much_more(owner: Browser, shop: Shop) -> None:
    tops(shop, 45)
    page = owner.get("/").text
    assert page.count('type="checkbox" name="pair"') == 40
    assert "and 5 more" in page


def test_students_do_not_see_the_bench(shop: Shop, paired: object) -> None:
    from seamlight.shop.classes import add_students, new_class

    with shop.change("owner") as change:
        new_class(change, "Spring")
        add_students(change, 1, "Ada")
    (number,) = tops(shop, 1)
    student = paired("Ada", student_id=1)  # type: ignore[operator]
    assert student.get("/").status_code == 303
    assert student.press("/bench/stage", stage="used", pair=str(number)).status_code == 403
    assert stages(shop, [number]) == ["laid out"]
