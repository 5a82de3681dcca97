"""Before jointing (flat, dry, rested) and after the clamps, kept as readings of their own."""

from pathlib import Path

import pytest

from laid_pairs import shop_in
from seamlight.mistake import Mistake
from seamlight.outline import named
from seamlight.shop.clamps import shop_glues
from seamlight.shop.glues import SETTING_KEY, Span, glue_of
from seamlight.shop.joint_glue import joint_glue, use_joint_glue
from seamlight.shop.readings import readings
from seamlight.shop.seam_after import AFTER, centre_part, fit_part, note_after, step_part
from seamlight.shop.seam_before import (
    BEFORE,
    LeafBefore,
    flat_before,
    judge_before,
    leaf_before,
    note_before,
    rests,
)
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.shop.tally import plane, weigh
from seamlight.shop.wood import new_pair
from seamlight.timber.glue import glue

NO_WEIGHT = {"a": None, "b": None}


def a_pair(shop: Shop) -> int:
    with shop.change("owner") as change:
        return new_pair(change, kind="top").id


def test_a_leaf_that_still_dries_stands_against_jointing(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, clock):
        number = a_pair(shop)
        for a, b in ((160.0, 158.0), (158.4, 158.0), (157.0, 158.1)):
            with shop.change("owner") as change:
                weigh(change, number, "a", a)
                weigh(change, number, "b", b)
            clock.forward(days=5)
        with shop.read() as session:
            found = {rest.leaf: rest for rest in rests(session, number, clock())}
            judged = judge_before(flat_before(session, number), tuple(found.values()))
    assert found["a"].settled is False
    assert found["a"].pct_per_week == pytest.approx(-3.0 / 158.47 * 100 * 7 / 10, abs=0.01)
    assert found["b"].settled is True
    assert judged.ready is False
    assert any("leaf A still loses 1.3 % a week" in line for line in judged.against)


def test_a_coarse_scale_cannot_tell_yet_and_says_when(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, clock):
        number = a_pair(shop)
        for _ in range(2):
            with shop.change("owner") as change:
                weigh(change, number, "both", 320.0)
            clock.forward(days=3)
        with shop.read() as session:
            (rest,) = rests(session, number, clock())
            judged = judge_before({"a": flat(), "b": flat()}, [rest])
    assert rest.settled is None
    # one gram of 320 in 0.2 % a week: 0.3125 % / 0.2 % a week
    assert rest.steady_after_days == pytest.approx(7 * 0.3125 / 0.2, abs=0.01)
    assert judged.ready is None
    assert any("takes 11 days" in line for line in judged.to_do)


def flat() -> LeafBefore:
    return leaf_before(0.1, 0.2, None)


def test_planed_wood_is_no_drying(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, clock):
        number = a_pair(shop)
        for grams in (160.0, 155.0):
            with shop.change("owner") as change:
                weigh(change, number, "a", grams)
            clock.forward(days=7)
            with shop.change("owner") as change:
                plane(change, number, "a", 1.0)
        with shop.read() as session:
            assert rests(session, number, clock()) == ()


def test_flatness_is_kept_leaf_by_leaf_and_figures_not_typed_stand(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        number = a_pair(shop)
        with shop.change("owner") as change:
            cupped = {"a": leaf_before(0.45, 0.1, 7.0), "b": LeafBefore()}
            note_before(change, number, cupped, NO_WEIGHT, {})
        with shop.change("owner") as change:
            note_before(change, number, {"a": LeafBefore(), "b": leaf_before(0.0, 0.0, 9.0)}, NO_WEIGHT, {})
        with shop.read() as session:
            now = flat_before(session, number)
            rows = readings(session, pair_id=number, verb=BEFORE)
    assert len(rows) == 2
    assert now["a"].flat is False
    assert now["b"].flat is True
    against = rows[-1].document["against"]
    assert any(
        "leaf A is cupped by 0.5 mm" in line or "leaf A is cupped by 0.4 mm" in line for line in against
    )
    assert any("at 7.0 % and B at 9.0 %" in line for line in against)


def test_nothing_typed_is_nothing_kept(tmp_path: Path) -> None:
    nothing = {"a": LeafBefore(), "b": LeafBefore()}
    with shop_in(tmp_path) as (shop, _):
        number = a_pair(shop)
        with pytest.raises(Mistake, match="nothing was typed"), shop.change("owner") as change:
            note_before(change, number, nothing, NO_WEIGHT, {})
        with pytest.raises(Mistake, match="nothing was typed"), shop.change("owner") as change:
            note_after(change, number, {})
        with shop.change("owner") as change:
            assert note_before(change, number, nothing, {"a": 158.0, "b": None}, {}) is None
    with pytest.raises(Mistake, match="no wood's moisture"):
        leaf_before(None, None, 55.0)


def test_what_was_measured_after_the_clamps_is_kept_and_judged(tmp_path: Path) -> None:
    body = named("parlour")
    widest = float(body.half_mm[:, 0].max())
    wide = [(0.0, widest + 5, widest + 10), (body.length_mm, widest + 5, widest + 10)]
    with shop_in(tmp_path) as (shop, _):
        number = a_pair(shop)
        with shop.change("owner") as change:
            row = note_after(
                change,
                number,
                {},
                step=step_part(0.3, 3.2, 2.7),
                centre=centre_part(0.2, -0.9),
                fit=fit_part(body, wide, 3.0),
            )
        with shop.read() as session:
            (kept,) = readings(session, pair_id=number, verb=AFTER)
    assert kept.id == row.id
    found = kept.document
    assert found["schema"] == "seamlight/after/1"
    assert found["step"]["ok"] is True  # 3.2 - 2.7 - 0.3 - 0.1 = 0.1 to spare
    assert found["step"]["to_spare_mm"] == pytest.approx(0.1)
    assert found["centre"]["ok"] is False
    assert found["fit"]["left_mm"] == pytest.approx(2.0, abs=0.01)
    assert found["fit"]["right_mm"] == pytest.approx(7.0, abs=0.01)
    assert found["fit"]["ok"] is True
    assert found["joined_width_mm"] == pytest.approx(2 * widest + 15, abs=0.01)


def test_a_plate_too_narrow_says_which_half_and_by_how_much() -> None:
    body = named("parlour")
    widest = float(body.half_mm[:, 0].max())
    part = fit_part(body, [(0.0, widest + 1, widest + 10), (body.length_mm, widest + 1, widest + 10)], 3.0)
    assert not part.ok
    assert part.left_mm == pytest.approx(-2.0, abs=0.01)
    assert "the left half is short by 2.0 mm" in part.says
    with pytest.raises(Mistake, match="beside the body"):
        fit_part(body, [(900.0, 200.0, 200.0), (950.0, 200.0, 200.0)], 3.0)


def test_one_source_of_glue_facts_and_the_shops_own_figures_win(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.read() as session:
            for known in shop_glues(session):
                assert known.clamp.usual_min == glue(known.key).clamp_min.high
                assert joint_glue(session, known.key) == glue(known.key)
        with shop.change("owner") as change:
            own = glue_of("epoxy", shop_glues(change.session)).model_copy(
                update={"clamp": Span(least_min=300, usual_min=360), "least_temp_c": 19.0}
            )
            keep_setting(change, SETTING_KEY, [own.model_dump(mode="json")])
            use_joint_glue(change, "epoxy")
        with shop.read() as session:
            now = joint_glue(session)
    assert now.key == "epoxy"
    assert (now.clamp_min.low, now.clamp_min.high) == (300, 360)
    assert now.wood_temp_c.low == 19.0
    assert now.pressure_softwood_mpa == glue("epoxy").pressure_softwood_mpa
