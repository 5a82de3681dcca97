"""Classes and students: deleted, brought back, purged; two devices on one; a shop from before that."""

from __future__ import annotations

from pathlib import Path

import pytest
from keeping import Clock
from sqlalchemy import Engine, select, text

from seamlight.mistake import Mistake
from seamlight.shop import Shop, open_shop
from seamlight.shop.builds import build, new_build
from seamlight.shop.change import Conflict
from seamlight.shop.check import check
from seamlight.shop.classes import (
    add_students,
    bring_back_class,
    bring_back_student,
    builds_of,
    classes,
    delete_class,
    delete_student,
    edit_class,
    free_builds,
    give_build,
    live_student,
    new_class,
    rename_student,
    students,
    the_student,
)
from seamlight.shop.devices import let_in, make_link
from seamlight.shop.engine import postgres_engine, sqlite_engine
from seamlight.shop.history import history, undo
from seamlight.shop.missing import Missing
from seamlight.shop.purge import Purged, purge, recently_deleted
from seamlight.shop.readings import keep_reading, readings
from seamlight.shop.schema import migrate
from seamlight.shop.tables import Class, Device, Student
from seamlight.shop.typed import VERB, side_by_side, typed_reading


def spring(shop: Shop) -> tuple[int, int, int, int]:
    """A class, Ada and Ben of it, and Ada's instrument."""
    with shop.change("owner") as change:
        lesson = new_class(change, "Spring")
        ada, ben = add_students(change, lesson.id, "Ada\nBen")
        own = new_build(change, label="Ada's parlour")
        give_build(change, ada.id, own.id)
        return lesson.id, ada.id, ben.id, own.id


def test_a_deleted_student_is_out_of_sight_and_comes_back(shop: Shop) -> None:
    lesson, ada, ben, own = spring(shop)
    with shop.change("owner") as change:
        delete_student(change, ada)
    with shop.read() as session:
        assert [(row.name, count) for row, count in classes(session)] == [("Spring", 1)]
        assert [row.name for row, _, _ in students(session, lesson)] == ["Ben"]
        assert live_student(session, ada) is None
        assert [row.id for row in free_builds(session)] == [own]
        assert [(row.subject, row.label) for row in recently_deleted(session)] == [("student", "Ada")]
        with pytest.raises(Missing, match="student Ada was deleted; bring it back first"):
            the_student(session, ada)
    with pytest.raises(Missing), shop.change("owner") as change:
        make_link(change, student_id=ada)
    with shop.change("owner") as change:
        bring_back_student(change, ada)
    with shop.read() as session:
        assert [row.id for row in builds_of(session, ada)] == [own]
        told = [line.what for line in history(session, "student", ada)]
    assert told == ["brought back", "deleted", "added"]
    assert ben
    assert check(shop).findings == []


def test_an_instrument_of_a_deleted_student_may_be_given_to_another(shop: Shop) -> None:
    _, ada, ben, own = spring(shop)
    with pytest.raises(Mistake, match="belongs to another student"), shop.change("owner") as change:
        give_build(change, ben, own)
    with shop.change("owner") as change:
        delete_student(change, ada)
        give_build(change, ben, own)
        bring_back_student(change, ada)
    with shop.read() as session:
        assert [row.id for row in builds_of(session, ben)] == [own]
        assert builds_of(session, ada) == []


def test_a_deleted_class_takes_its_students_along_and_brings_them_back(shop: Shop) -> None:
    lesson, ada, ben, _ = spring(shop)
    with shop.change("owner") as change:
        delete_student(change, ben)
        delete_class(change, lesson)
    with shop.read() as session:
        assert classes(session) == []
        assert live_student(session, ada) is None
    with pytest.raises(Missing, match="class Spring was deleted"), shop.change("owner") as change:
        bring_back_student(change, ben)
    with pytest.raises(Missing, match="class Spring was deleted"), shop.change("owner") as change:
        add_students(change, lesson, "Eve")
    with shop.change("owner") as change:
        bring_back_class(change, lesson)
    with shop.read() as session:
        assert [row.name for row, _, _ in students(session, lesson)] == ["Ada"]


def test_the_later_of_two_is_told(shop: Shop) -> None:
    lesson, ada, _, _ = spring(shop)
    with shop.change("phone") as change:
        edit_class(change, lesson, "Summer", None, expected_version=1)
        rename_student(change, ada, "Ada L.", expected_version=1)
    for do in (
        lambda change: edit_class(change, lesson, "Autumn", None, expected_version=1),
        lambda change: delete_class(change, lesson, expected_version=1),
        lambda change: rename_student(change, ada, "Eve", expected_version=1),
        lambda change: delete_student(change, ada, expected_version=1),
    ):
        with pytest.raises(Conflict, match="by phone"), shop.change("desk") as change:
            do(change)
    with shop.read() as session:
        assert session.get_one(Class, lesson).name == "Summer"
        line = next(line for line in history(session, "student", ada) if line.what == "renamed")
    with shop.change("desk") as change:
        undo(change, line.id)
        assert change.session.get_one(Student, ada).name == "Ada"


def test_after_30_days_they_go_and_what_was_measured_stays(shop: Shop, clock: Clock) -> None:
    lesson, ada, _, own = spring(shop)
    with shop.change("owner") as change:
        token, _ = make_link(change, student_id=ada)
        assert let_in(change, token, "phone") is not None
        document = typed_reading("top thickness", "2.8", "", "mm")
        keep_reading(change, VERB, document, build_id=own, student_id=ada)
        give_class = build(change.session, own).class_id
        delete_class(change, lesson)
    assert give_class == lesson
    clock.wait(days=29)
    assert purge(shop, "owner") == Purged()
    clock.wait(days=2)
    assert purge(shop, "owner") == Purged(classes=1, students=2)
    with shop.read() as session:
        left = build(session, own)
        assert (left.student_id, left.class_id) == (None, None)
        assert session.scalars(select(Device)).all() == []
        assert session.scalars(select(Student)).all() == []
        row = side_by_side(readings(session, build_id=own, verb=VERB))[0]
        assert row.students is not None
        assert row.teachers is None
        assert recently_deleted(session) == []
    assert check(shop).findings == []
    with shop.change("owner") as change:
        assert new_class(change, "Autumn").id == lesson + 1


@pytest.fixture(params=["sqlite", "postgres"])
def older(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, str | None]:
    """A shop of the tables before: a class edited, a student renamed, another without a line of history."""
    folder = tmp_path / "old"
    (folder / "photos").mkdir(parents=True)
    url = None if request.param == "sqlite" else request.getfixturevalue("postgres")()
    engine = sqlite_engine(folder / "shop.db") if url is None else postgres_engine(url)
    migrate(engine, "0002")
    fill_older(engine)
    engine.dispose()
    return folder, url


def fill_older(engine: Engine) -> None:
    lines = [
        ("class", 1, "made", "2026-01-02 03:04:05.000000"),
        ("student", 1, "added", "2026-01-02 03:05:00.000000"),
        ("class", 1, "edited", "2026-01-03 03:04:05.000000"),
        ("student", 1, "renamed", "2026-01-04 03:04:05.000000"),
    ]
    with engine.execution_options(to_change=True).begin() as connection:
        connection.execute(text("INSERT INTO class_ (name) VALUES ('Winter')"))
        for name in ("Ada", "Ben", "gone"):
            connection.execute(text("INSERT INTO student (class_id, name) VALUES (1, :name)"), {"name": name})
        connection.execute(text("DELETE FROM student WHERE name = 'gone'"))
        for subject, number, what, at in lines:
            connection.execute(
                text(
                    "INSERT INTO history (subject, subject_id, what, before, at, by)"
                    f" VALUES (:subject, :number, :what, :before, '{at}', 'owner')"
                ),
                {
                    "subject": subject,
                    "number": number,
                    "what": what,
                    "before": '{"name": "Eda"}' if what == "renamed" else None,
                },
            )


def test_a_shop_of_the_tables_before_is_brought_up(older: tuple[Path, str | None]) -> None:
    folder, url = older
    shop = open_shop(folder, url=url)
    with shop.read() as session:
        winter, ada, ben = session.get_one(Class, 1), the_student(session, 1), the_student(session, 2)
        assert (winter.name, winter.version, winter.created_at.day, winter.changed_at.day) == (
            "Winter",
            2,
            2,
            3,
        )
        assert (ada.version, ada.created_at.day, ada.changed_at.day, ada.deleted_at) == (2, 2, 4, None)
        assert ben.version == 1
        assert [line.by for line in history(session, "student", 2)] == ["seamlight"]
        renamed = history(session, "student", 1)[0]
    assert check(shop).findings == []
    with shop.change("owner") as change:
        assert add_students(change, 1, "Eve")[0].id == 4
        delete_student(change, 2, expected_version=1)
        assert renamed.version == 2
    assert check(shop).findings == []
    shop.close()
