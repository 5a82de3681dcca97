"""The grade of what is kept, and the rack graded anew by changed rules."""

from pathlib import Path

import pytest

from laid_pairs import laid_pair, layout_document, shop_in
from seamlight.mistake import Mistake
from seamlight.shop.choices import keep_choice
from seamlight.shop.grade_rules import STARTING_RULES, rules_from
from seamlight.shop.grading import graded, insides, keep_rules, shop_rules
from seamlight.shop.rack import RackQuery, rack
from seamlight.shop.readings import delete_reading, keep_reading
from seamlight.shop.wood import new_pair


def test_the_chosen_outline_counts_and_else_the_best_that_fits(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        pair = laid_pair(change, parlour=6.0, jumbo=-3.0)
        found = graded(change.session, pair, STARTING_RULES)
        assert found is not None
        assert (found.inside.outline, found.inside.chosen) == ("parlour", False)
        poor = layout_document("jumbo", 1.0, lines_per_inch={"joint": 12.0, "middle": 12.0, "edge": 12.0})
        keep_choice(
            change,
            pair.id,
            outline={"name": "jumbo"},
            opening={"joint_edge": "left", "neck_end": 1, "show_face": "sawn", "match": "book"},
            document=poor["openings"][0],
        )
        found = graded(change.session, pair, STARTING_RULES)
        assert found is not None
        assert (found.inside.outline, found.inside.chosen) == ("jumbo", True)
        assert found.grade is not None
        assert (found.grade.name, found.grade.held_back_by) == ("Second", ("lines per inch",))


def test_two_tone_and_runout_are_taken_from_their_readings(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        pair = laid_pair(change, parlour=6.0)
        keep_reading(change, "runout", {"runout_deg": 3.0}, pair_id=pair.id)
        keep_reading(change, "tone", {"contrast_pct": [8.0, None]}, pair_id=pair.id)
        found = graded(change.session, pair, STARTING_RULES)
        assert found is not None
        assert found.grade is not None
        assert found.grade.held_back_by == ("runout", "two-tone")
        assert not found.grade.provisional


def test_the_rack_shows_the_grade_as_soon_as_something_is_read_or_chosen(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        pair = laid_pair(change, parlour=6.0)

        def shown() -> str | None:
            (row,) = rack(change.session, RackQuery()).rows
            return row.figure.grade if row.figure else None

        assert shown() == "Master"
        tone = keep_reading(change, "tone", {"contrast_pct": [8.0, 1.0]}, pair_id=pair.id)
        assert shown() == "Second"
        delete_reading(change, tone.id)
        assert shown() == "Master"
        keep_choice(
            change,
            pair.id,
            outline={"name": "parlour"},
            opening={"joint_edge": "left"},
            document=layout_document("parlour", 1.0, spread_deg=5.0)["openings"][0],
        )
        assert shown() == "Practice"


def test_new_rules_grade_the_whole_rack_anew(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _):
        with shop.change("owner") as change:
            tops = [laid_pair(change, parlour=6.0) for _ in range(2)]
            new_pair(change, kind="neck")
        with shop.read() as session:
            grades = {row.pair.id: row.figure.grade for row in rack(session, RackQuery()).rows if row.figure}
            assert grades == {tops[0].id: "Master", tops[1].id: "Master"}
        typed = STARTING_RULES.model_dump(mode="json")
        typed["top"][0]["lines_per_inch"] = 30
        with shop.change("owner") as change:
            keep_rules(change, rules_from(typed), expected_version=0)
        with shop.read() as session:
            assert shop_rules(session).top[0].lines_per_inch == 30
            grades = {row.pair.id: row.figure.grade for row in rack(session, RackQuery()).rows if row.figure}
            assert grades[tops[0].id] == "First"
        with pytest.raises(Mistake, match="set otherwise meanwhile"), shop.change("phone") as change:
            keep_rules(change, STARTING_RULES, expected_version=0)


def test_a_document_that_cannot_be_read_is_passed_over(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        pair = laid_pair(change)
        keep_reading(change, "layout", {"openings": []}, pair_id=pair.id, says={"outline": "parlour"})
        keep_reading(change, "layout", {"openings": [{"old": 1}]}, pair_id=pair.id, says={"outline": "jumbo"})
        assert insides(change.session, pair.id) == {}
        assert graded(change.session, pair, STARTING_RULES) is None
