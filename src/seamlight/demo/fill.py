"""The invented shop filled: its wood filed, the class, the instruments wanted, the air of the day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from seamlight.demo.shop import RackPair
from seamlight.demo.walk import Walked
from seamlight.layout.document import OpeningPart
from seamlight.layout.opening import Layout
from seamlight.layout.rack import Rack
from seamlight.sheets.rack_picture import keep_rack_picture
from seamlight.shop.air import note_air
from seamlight.shop.builds import ToGive, builds, give, new_build
from seamlight.shop.change import Change
from seamlight.shop.choices import keep_choice
from seamlight.shop.clamps import shop_glues, start_clamps
from seamlight.shop.classes import add_students, classes, new_class, students
from seamlight.shop.devices import let_in, make_link
from seamlight.shop.filing import file_rack
from seamlight.shop.glues import glue_of
from seamlight.shop.outlines import set_built
from seamlight.shop.readings import keep_reading
from seamlight.shop.settings import keep_setting
from seamlight.shop.shop import Shop
from seamlight.shop.species_facts import species_facts
from seamlight.shop.stages import move
from seamlight.shop.typed import VERB, typed_reading

WHO = "demo"
STUDENTS = ("Student 1", "Student 2", "Student 3", "Student 4", "Student 5")
CLASS_IN = timedelta(days=19)
ORDER_IN = timedelta(days=90)
AIR = (20.5, 46.0)  # deg C, % RH
MEASURED = (2, "3.1", "2.9")  # student 3, what they read, what the teacher read, mm
UNDER_WAY = {"cedar-2": "joined", "maple-1": "jointed", "spruce-1": "laid out"}


def fill_shop(shop: Shop, walked: Sequence[Walked]) -> None:
    """File the wood that was walked through, and set up what it is wanted for."""
    with shop.change(WHO) as change:
        keep_setting(change, "shop_name", "Harbour workshop")
        set_built(change, ["parlour", "jumbo"])
        note_air(change, *AIR, "invented, as everything here")
        _wanted(change)
    for one in sorted(walked, key=lambda w: w.pair.name):
        pairs = (one.laid_out,) if one.laid_out is not None else ()
        alone = () if pairs else one.photographs
        filed = file_rack(shop, WHO, Rack(pairs, alone, ()), facts_of(one))
        for pair, found in zip(filed, pairs, strict=True):
            keep_rack_picture(shop, pair.id, found.pair, found.layouts)
            if found.layouts[0].openings[0].fits:
                _give(shop, pair.id, one.pair)
            if one.pair.name in UNDER_WAY:
                _begin(shop, pair.id, found.layouts[0], UNDER_WAY[one.pair.name])
    _in_class(shop)


def _give(shop: Shop, pair_id: int, meant: RackPair) -> None:
    """A pair to the instrument it is meant for, where it fits."""
    with shop.change(WHO) as change:
        wanted = next(
            build for build in builds(change.session) if (build.for_whom or "").casefold() == meant.ordered_by
        )
        give(change, ToGive(wanted.id, meant.use, pair_id, "Bought for it."))


def _in_class(shop: Shop) -> None:
    """Each student's own device was let in by a class link; one student and the teacher measured the same.

    The devices are as invented as the students: nobody has the tokens that the links were used up for.
    """
    with shop.read() as session:
        of_class = students(session, classes(session)[0][0].id)
    for student, _, _ in of_class:
        with shop.change(WHO) as change:
            token, _ = make_link(change, student_id=student.id)
            let_in(change, token, student.name)
    measurer, own, _ = of_class[MEASURED[0]]
    for who, student_id, value in ((measurer.name, measurer.id, MEASURED[1]), (WHO, None, MEASURED[2])):
        with shop.change(who) as change:
            typed = typed_reading("top thickness", value, "under the bridge", "mm")
            keep_reading(change, VERB, typed, build_id=own[0].id, student_id=student_id)


def _begin(shop: Shop, pair_id: int, layout: Layout, stage: str) -> None:
    """A pair that work was begun on: its best opening chosen, its stage noted, joined ones in the clamps."""
    best = layout.openings[0]
    opening = {
        "joint_edge": best.joint_edge,
        "neck_end": best.neck_end,
        "show_face": best.show_face,
        "match": layout.settings.match,
    }
    with shop.change(WHO) as change:
        keep_choice(
            change,
            pair_id,
            outline={"name": layout.outline.name},
            opening=opening,
            document=OpeningPart.of(best),
            settings=vars(layout.settings),
        )
        move(change, [pair_id], stage)
        if stage == "joined":
            glue = glue_of("pva", shop_glues(change.session))
            start_clamps(change, glue, pair_ids=[pair_id], temp_c=AIR[0], rh_pct=AIR[1])


def facts_of(one: Walked) -> dict[str, Any]:
    """What the shop knows of one pair beside its photographs."""
    return {
        "kind": one.pair.use,
        **species_facts(str(one.pair.grow["species"]), ""),
        "supplier": "the sawyer up the river",
        "lies_at": "rack 1" if one.pair.use == "top" else "rack 2",
        "notes": one.pair.story,
        "scale_spec": "tags",
        "thickness_mm": one.thickness_mm,
    }


def _wanted(change: Change) -> None:
    """Five parlours for a class, and a jumbo to order."""
    today = change.at.astimezone().date()
    lesson = new_class(change, "Parlour guitars", today + CLASS_IN)
    for student in add_students(change, lesson.id, "\n".join(STUDENTS)):
        new_build(
            change,
            label=f"{student.name}'s parlour",
            for_whom=student.name,
            outline={"name": "parlour"},
            want_by=lesson.starts_on,
            class_id=lesson.id,
            student_id=student.id,
        )
    new_build(
        change,
        label="The jumbo to order",
        for_whom="the order",
        outline={"name": "jumbo"},
        want_by=today + ORDER_IN,
        kind_wishes={"top": {"woods": ["Engelmann spruce"]}, "back": {"woods": ["maple"]}},
    )
