"""The rack: filters, orders, pages, figures; and the same as CSV."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from keeping import pair_with_photos, reading

from seamlight.mistake import Mistake
from seamlight.shop import Shop
from seamlight.shop.choices import keep_choice
from seamlight.shop.export import rack_csv
from seamlight.shop.grade_rules import STARTING_RULES
from seamlight.shop.rack import SORTS, RackQuery, offered, rack
from seamlight.shop.readings import delete_reading, keep_reading
from seamlight.shop.tables import PairFigure
from seamlight.shop.wood import delete_pair, new_pair


@pytest.fixture
def stocked(shop: Shop) -> Shop:
    """Four pairs: T2 and T10 read and laid out, B1 reserved, T3 deleted."""
    ids = {
        "T10": pair_with_photos(
            shop, "T10", species_common="spruce", species_key="picea_abies", supplier="Alp"
        ),
        "T2": pair_with_photos(shop, "T2", species_common="cedar", notes="100%_clear", price_minor=4550),
        "B1": pair_with_photos(shop, "B1", reserved_for="=Ida", lies_at="rack 3"),
        "T3": pair_with_photos(shop, "T3"),
    }
    with shop.change("owner") as change:
        delete_pair(change, ids["T3"])
        for label, spare, lines in (("T10", 9.0, 15.0), ("T2", -2.0, 22.0)):
            keep_reading(change, "read", reading(lines=lines), pair_id=ids[label], says={"leaf": "a"})
            keep_reading(change, "layout", reading("om", spare_mm=spare), pair_id=ids[label])
        keep_reading(change, "layout", reading("parlour", spare_mm=6.0), pair_id=ids["T2"])
    return shop


def labels(shop: Shop, query: RackQuery) -> list[str]:
    with shop.read() as session:
        return [row.pair.label for row in rack(session, query).rows]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        (RackQuery(sort="label"), ["B1", "T2", "T10"]),
        (RackQuery(sort="label", down=True), ["T10", "T2", "B1"]),
        (RackQuery(), ["B1", "T2", "T10"]),
        (RackQuery(sort="spare"), ["T10", "T2", "B1"]),
        (RackQuery(sort="spare", down=True), ["T2", "T10", "B1"]),
        (RackQuery(sort="lines"), ["T2", "T10", "B1"]),
        (RackQuery(fits="om"), ["T10"]),
        (RackQuery(fits="parlour"), ["T2"]),
        (RackQuery(spare_from_mm=7.0), ["T10"]),
        (RackQuery(lines_from=20.0), ["T2"]),
        (RackQuery(lines_to=20.0), ["T10"]),
        (RackQuery(text="SPRU alp"), ["T10"]),
        (RackQuery(text="100%_"), ["T2"]),
        (RackQuery(text="1_0"), []),
        (RackQuery(reserved=True), ["B1"]),
        (RackQuery(species_key="picea_abies"), ["T10"]),
        (RackQuery(deleted=True), ["T3"]),
        (RackQuery(kind="back"), []),
        (RackQuery(sort="label", per_page=2, page=2), ["T10"]),
        (RackQuery(sort="label", per_page=2, page=99), ["T10"]),
    ],
)
def test_pairs_are_found_and_ordered(stocked: Shop, query: RackQuery, found: list[str]) -> None:
    assert labels(stocked, query) == found


def test_a_page_says_how_many_there_are_and_shows_the_pictures(stocked: Shop) -> None:
    with stocked.read() as session:
        page = rack(session, RackQuery(sort="label", per_page=2))
        assert (page.total, page.pages, page.page) == (3, 2, 1)
        assert set(page.rows[0].pictures) == {"a", "b"}
        assert offered(session)["fits"] == ["om", "parlour"]
        assert offered(session)["kind"] == ["top"]
        with pytest.raises(Mistake, match="no order"):
            rack(session, RackQuery(sort="beauty"))


def test_figures_follow_the_newest_reading_and_the_choice(stocked: Shop) -> None:
    with stocked.read() as session:
        row = rack(session, RackQuery(text="T2")).rows[0]
    assert row.figure is not None
    assert (row.figure.spare_mm, row.figure.length_mm, row.figure.width_mm) == (6.0, 560.0, 210.5)
    assert row.figure.lines_per_inch == 22.5
    with stocked.change("owner") as change:
        newest = keep_reading(change, "layout", reading("parlour", spare_mm=-4.0), pair_id=row.pair.id)
    assert labels(stocked, RackQuery(fits="parlour")) == []
    with stocked.change("owner") as change:
        delete_reading(change, newest.id)
    assert labels(stocked, RackQuery(fits="parlour")) == ["T2"]
    with stocked.change("owner") as change:
        keep_choice(change, row.pair.id, outline={"name": "om"}, opening={}, document={"spare_mm": 1.25})
    with stocked.read() as session:
        figure = rack(session, RackQuery(text="T2")).rows[0].figure
    assert figure is not None
    assert figure.spare_mm == 1.25


def test_the_rack_as_csv_is_whole_and_runs_no_formula(stocked: Shop) -> None:
    with stocked.read() as session:
        text = rack_csv(session)
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["label"] for row in rows] == ["B1", "T2", "T10"]
    assert rows[0]["reserved_for"] == "'=Ida"
    assert (rows[1]["price"], rows[1]["spare_mm"], rows[0]["spare_mm"]) == ("45.50", "6.0", "")
    with stocked.read() as session:
        assert len(rack_csv(session, RackQuery(per_page=1)).splitlines()) == 4


@pytest.fixture
def of_two_outlines(shop: Shop) -> Shop:
    """T1: much room in the parlour, little in the dreadnought; T2 the other way; T3 little at its ends."""
    rooms = {"T1": (30.0, 2.0), "T2": (8.0, 25.0), "T3": (28.0, 24.0)}
    for label in rooms:
        pair_with_photos(shop, label)
    with shop.change("owner") as change:
        for number, (label, (parlour, dreadnought)) in enumerate(rooms.items(), 1):
            ends = 1.0 if label == "T3" else 50.0
            for name, mm in (("parlour", parlour), ("dreadnought", dreadnought)):
                keep_reading(change, "layout", reading(name, spare_mm=mm, end_spare_mm=ends), pair_id=number)
    return shop


@pytest.mark.parametrize(
    ("query", "found"),
    [
        (RackQuery(fits="dreadnought", spare_from_mm=20.0), ["T2"]),
        (RackQuery(fits="parlour", spare_from_mm=20.0), ["T1"]),
        (RackQuery(fits="parlour", spare_from_mm=0.5, sort="spare"), ["T1", "T2", "T3"]),
        (RackQuery(fits="dreadnought", sort="spare"), ["T2", "T1", "T3"]),
        (RackQuery(fits="dreadnought", sort="spare", down=True), ["T3", "T1", "T2"]),
        (RackQuery(spare_from_mm=20.0, sort="spare"), ["T1", "T2"]),
    ],
    ids=repr,
)
def test_room_is_that_in_the_outline_asked_for(
    of_two_outlines: Shop, query: RackQuery, found: list[str]
) -> None:
    assert labels(of_two_outlines, query) == found


def test_the_outline_asked_for_comes_first_and_the_csv_names_whose_room_it_is(of_two_outlines: Shop) -> None:
    with of_two_outlines.read() as session:
        rows = rack(session, RackQuery(fits="dreadnought", sort="label")).rows
        table = list(csv.DictReader(io.StringIO(rack_csv(session), newline="")))
    assert [row.fits[0].outline for row in rows] == ["dreadnought"] * 3
    assert [(row["spare_mm"], row["spare_outline"]) for row in table] == [
        ("30.0", "parlour"),
        ("25.0", "dreadnought"),
        ("1.0", "parlour"),
    ]
    with of_two_outlines.change("owner") as change:
        chosen = {"spare_mm": 2.0, "end_spare_mm": 50.0}
        keep_choice(change, 1, outline={"name": "dreadnought"}, opening={}, document=chosen)
    with of_two_outlines.read() as session:
        figure = rack(session, RackQuery(text="T1")).rows[0].figure
    assert figure is not None
    assert (figure.spare_mm, figure.spare_outline) == (2.0, "dreadnought")


SORTED = {
    "label": ["B1", "T1", "T2", "T3"],
    "newest": ["B1", "T3", "T2", "T1"],
    "bought": ["T2", "T1", "B1", "T3"],
    "kind": ["B1", "T1", "T2", "T3"],
    "species": ["T3", "T1", "B1", "T2"],
    "stage": ["T2", "T1", "B1", "T3"],
    "spare": ["T1", "T3", "B1", "T2"],
    "lines": ["T3", "T1", "B1", "T2"],
    "grade": ["T2", "T3", "B1", "T1"],
}


def test_every_order(shop: Shop) -> None:
    """Stages as the work goes, grades from the shop's best down, not by the alphabet."""
    facts: dict[str, dict[str, object]] = {
        "T1": {"bought_on": date(2025, 1, 1), "species_common": "spruce", "stage": "laid out"},
        "T2": {"bought_on": date(2026, 1, 1), "stage": "rough"},
        "T3": {"species_common": "cedar", "stage": "used"},
        "B1": {"bought_on": date(2024, 1, 1), "species_common": "walnut", "stage": "joined"},
    }
    rules = STARTING_RULES
    grades = {"T1": rules.names("top")[-1], "T2": rules.names("top")[0], "T3": rules.names("top")[1]}
    grades["B1"] = rules.names("back")[2]
    figures = {"T1": (9.0, 20.0), "T3": (5.0, 22.0), "B1": (4.0, 12.0)}
    with shop.change("owner") as change:
        for label, more in facts.items():
            row = new_pair(change, kind="back" if label == "B1" else "top", label=label, **more)
            spare, lines = figures.get(label, (None, None))
            change.session.add(
                PairFigure(pair_id=row.id, spare_mm=spare, lines_per_inch=lines, grade=grades[label])
            )
    assert set(SORTED) == set(SORTS)
    assert {name: labels(shop, RackQuery(sort=name)) for name in SORTS} == SORTED
    with shop.read() as session:
        there = offered(session)
    assert there["stage"] == ["rough", "laid out", "joined", "used"]
    assert there["grade"] == [name for name in rules.names("top") if name in grades.values()]
