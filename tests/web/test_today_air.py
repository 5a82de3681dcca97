"""Every glue-up from Today stores the air of its moment: typed, or as it was read within the last hours."""

from __future__ import annotations

import pytest
from asking import Browser, Clock

from seamlight.shop.air import air_log, note_air
from seamlight.shop.clamps import in_clamps
from seamlight.shop.shop import Shop
from seamlight.shop.stages import move
from seamlight.shop.wood import new_pair, pair


@pytest.fixture
def jointed(shop: Shop) -> list[int]:
    with shop.change("owner") as change:
        numbers = [new_pair(change, kind="top", species_common="Sitka spruce").id for _ in range(2)]
        move(change, numbers, "jointed")
    return numbers


def stored(shop: Shop) -> list[tuple[float | None, float | None]]:
    with shop.read() as session:
        return [(row.temp_c, row.rh_pct) for row in in_clamps(session)]


def test_without_air_nothing_goes_into_the_clamps_and_the_ticks_stay(
    owner: Browser, shop: Shop, jointed: list[int]
) -> None:
    fields = {"stage": "joined", "pair": str(jointed[1]), "glue": "hot hide", "back": "/"}
    answer = owner.press("/bench/stage", **fields, rh="46")
    assert answer.status_code == 422
    assert "the temperature was not read; read it now" in answer.text
    assert f'value="{jointed[1]}" checked' in answer.text
    assert f'value="{jointed[0]}" checked' not in answer.text
    assert 'value="46"' in answer.text
    assert 'value="hot hide" selected' in answer.text
    assert stored(shop) == []
    with shop.read() as session:
        assert pair(session, jointed[1]).stage == "jointed"
        assert air_log(session) == []


def test_air_typed_with_a_glue_up_is_stored_and_logged_once(
    owner: Browser, shop: Shop, jointed: list[int]
) -> None:
    fields = {"stage": "joined", "glue": "pva", "back": "/"}
    owner.press("/bench/stage", **fields, pair=str(jointed[0]), temp="68 F", rh="46 %")
    assert "Noted with it: 20 °C and 46 %." in owner.get("/").text.replace("\N{NO-BREAK SPACE}", " ")
    owner.press("/bench/stage", **fields, pair=str(jointed[1]), temp="20", rh="46")
    assert stored(shop) == [(pytest.approx(20.0), 46.0)] * 2
    with shop.read() as session:
        assert len(air_log(session)) == 1


def test_air_as_it_was_read_is_shown_taken_and_said(
    owner: Browser, shop: Shop, clock: Clock, jointed: list[int]
) -> None:
    with shop.change("owner") as change:
        note_air(change, 21.5, 44.0)
    page = owner.get("/").text
    assert page.count('value="21.5"') == 2  # both forms that start clamps
    assert "write over it if it changed" in page
    owner.press("/bench/clamps/in", kind="clamps", pairs="T1", glue="pva", ago="20")
    assert stored(shop) == [(21.5, 44.0)]
    assert ", as read today " in owner.get("/").text
    clock.wait(hours=13)
    answer = owner.press("/bench/clamps/in", kind="clamps", pairs="T2", glue="pva")
    assert answer.status_code == 422
    # glued when the air was read, noted a day later: the air of that moment
    clock.wait(hours=11)
    owner.press("/bench/clamps/in", kind="clamps", pairs="T2", glue="pva", ago=str(23 * 60))
    assert stored(shop) == [(21.5, 44.0)] * 2


def test_joined_without_a_glue_clock_asks_for_no_air(owner: Browser, shop: Shop, jointed: list[int]) -> None:
    answer = owner.press("/bench/stage", stage="joined", pair=str(jointed[0]), glue="", back="/")
    assert answer.status_code == 303
    assert stored(shop) == []
