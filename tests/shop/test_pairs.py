"""Pairs: labels, edits, conflicts, deleting, history and undoing."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from keeping import Clock, pair_with_photos

from seamlight.mistake import Mistake
from seamlight.shop import Conflict, Shop, kept
from seamlight.shop.check import check
from seamlight.shop.history import history, undo
from seamlight.shop.missing import Missing
from seamlight.shop.wood import bring_back, delete_pair, edit_pair, new_pair, next_label, pair, pair_by_label


def test_a_new_pair_is_there_with_its_history(shop: Shop) -> None:
    with shop.change("Ana") as change:
        made = new_pair(
            change, kind="top", species_common="spruce", bought_on=date(2026, 2, 3), thickness_mm=4.2
        )
    with shop.read() as session:
        found = pair(session, made.id)
        lines = history(session, "pair", made.id)
    assert (found.label, found.kind, found.stage, found.version) == ("T1", "top", "rough", 1)
    assert found.bought_on == date(2026, 2, 3)
    assert found.created_at.tzinfo is not None
    assert [(line.what, line.by, line.version) for line in lines] == [("made", "Ana", 1)]
    assert lines[0].after is not None
    assert lines[0].after["bought_on"] == "2026-02-03"


def test_labels_are_one_whatever_their_case_and_spaces(shop: Shop) -> None:
    with shop.change("owner") as change:
        first = new_pair(change, kind="back", label=" B  7 ")
    assert first.label == "B 7"
    with pytest.raises(Mistake, match="is the label of the back"), shop.change("owner") as change:
        new_pair(change, kind="top", label="b7")
    with shop.read() as session:
        found = pair_by_label(session, "b 7")
        assert found is not None
        assert found.id == first.id
        assert next_label(session, "back") == "B8"
        assert next_label(session, "sides") == "S1"


def test_a_deleted_pair_keeps_its_label_and_comes_back(shop: Shop) -> None:
    number = pair_with_photos(shop, "X1")
    with shop.change("owner") as change:
        delete_pair(change, number)
    with shop.read() as session, pytest.raises(Missing, match="was deleted"):
        pair(session, number)
    with pytest.raises(Mistake, match="deleted pair"), shop.change("owner") as change:
        new_pair(change, kind="top", label="x1")
    with shop.change("owner") as change:
        bring_back(change, number)
    with shop.read() as session:
        assert pair(session, number).deleted_at is None
        assert [line.what for line in history(session, "pair", number)][:2] == ["brought back", "deleted"]
    assert check(shop).findings == []


def test_the_later_of_two_is_told_who_changed_what_and_when(shop: Shop, clock: Clock) -> None:
    number = pair_with_photos(shop, "T1")
    with shop.change("bench phone") as change:
        edit_pair(change, number, {"notes": "a knot at the tail"}, expected_version=1)
    with pytest.raises(Conflict) as told, shop.change("desk") as change:
        edit_pair(change, number, {"notes": "clear"}, expected_version=1)
    assert "pair T1" in str(told.value)
    assert "edited (notes) by bench phone on 2026-03-12" in str(told.value)
    assert "\n" not in str(told.value)
    assert told.value.changes[0].by == "bench phone"
    with shop.read() as session:
        assert pair(session, number).notes == "a knot at the tail"
    with shop.change("desk") as change:
        edit_pair(change, number, {"notes": "clear"}, expected_version=2)


def test_nothing_of_a_failed_change_is_kept(shop: Shop) -> None:
    number = pair_with_photos(shop, "T1")
    with pytest.raises(ValueError, match="no field"), shop.change("owner") as change:
        kept.edit(change, edit_pair(change, number, {"notes": "half"}), {"colour": "red"})
    with shop.read() as session:
        assert pair(session, number).notes is None
        assert len(history(session, "pair", number)) == 3
    with shop.read() as session:
        pair(session, number).notes = "a look changes nothing"
    with shop.read() as session:
        assert pair(session, number).notes is None


def test_a_change_inside_a_change_is_a_fault_not_a_wait(shop: Shop) -> None:
    with pytest.raises(RuntimeError, match="inside"), shop.change("owner"), shop.change("owner"):
        pass
    with shop.change("owner") as change:
        new_pair(change, kind="top")


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"kind": "soundboard"}, "is no kind"),
        ({"kind": "top", "label": "x" * 30}, "a label has"),
        ({"kind": "top", "colour": "red"}, "has no colour"),
        ({"kind": "top", "version": 7}, "has no version"),
        ({"kind": "top", "thickness_mm": -1.0}, "thickness_mm"),
        ({"kind": "top", "thickness_mm": float("nan")}, "thickness_mm"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(on_sqlite: Shop, fields: dict[str, object], says: str) -> None:
    with pytest.raises(Mistake, match=says), on_sqlite.change("owner") as change:
        new_pair(change, **fields)


VALUES = {
    "notes": st.none() | st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20),
    "thickness_mm": st.none() | st.floats(0, 30),
    "bought_on": st.none() | st.dates(date(1990, 1, 1), date(2030, 1, 1)),
    "kind": st.sampled_from(["top", "back", "other"]),
    "label": st.sampled_from(["A 1", "a1", "A2", "T9"]),
    "price_minor": st.none() | st.integers(0, 10**8),
}
FIELDS = st.fixed_dictionaries({}, optional=VALUES)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=st.lists(FIELDS, min_size=1, max_size=5))
def test_undoing_every_edit_backwards_gives_the_first_pair(
    shop: Shop, edits: list[dict[str, object]]
) -> None:
    def facts(number: int) -> dict[str, object]:
        with shop.read() as session:
            row = pair(session, number, deleted=True)
            return {name: getattr(row, name) for name in ("label", "label_key", *VALUES)}

    with shop.change("owner") as change:
        number = new_pair(change, kind="top").id
    first = facts(number)
    for edit in edits:
        with shop.change("owner") as change:
            edit_pair(change, number, edit)
    with shop.read() as session:
        lines = [line.id for line in history(session, "pair", number) if line.what == "edited"]
    for line in lines:
        with shop.change("owner") as change:
            undo(change, line)
    assert facts(number) == first
    with shop.change("owner") as change:  # make room for the next example's labels
        edit_pair(change, number, {"label": f"done {number}"})
    assert check(shop).sound


def test_an_edit_that_something_rests_on_is_not_undone(shop: Shop, clock: Clock) -> None:
    number = pair_with_photos(shop, "T1")
    for note in ("one", "two"):
        with shop.change(note) as change:
            edit_pair(change, number, {"notes": note})
    with shop.read() as session:
        newest, older = (line.id for line in history(session, "pair", number)[:2])
    with pytest.raises(Conflict, match="by two"), shop.change("owner") as change:
        undo(change, older)
    with shop.change("owner") as change:
        undo(change, newest)
    with shop.read() as session:
        assert pair(session, number).notes == "one"
    clock.wait(days=31)
    with pytest.raises(Mistake, match="30 days"), shop.change("owner") as change:
        undo(change, older)
