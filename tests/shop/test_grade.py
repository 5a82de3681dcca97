"""The grade of what lies inside the outline: its reasons, and that better wood never gets a worse one."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.shop.grade import GradeFacts, InsideFlaw, grade
from seamlight.shop.grade_rules import LEAST, STARTING_RULES, GradeRules, GradeStep, rules_from

GOOD = GradeFacts(
    use="top",
    outline="parlour",
    lines_per_inch=24.0,
    ring_to_face_deg=88.0,
    spread_deg=0.3,
    tilt_deg=0.1,
    runout_deg=0.5,
    unevenness=1.2,
    two_tone_pct=1.0,
    flaws=(),
    fits=True,
)


def graded(facts: GradeFacts, rules: GradeRules = STARTING_RULES) -> tuple[str, tuple[str, ...], str]:
    found = grade(facts, rules)
    assert found is not None
    return found.name, found.held_back_by, " ".join(found.reasons)


def test_good_wood_reaches_the_best_grade() -> None:
    assert graded(GOOD)[:2] == ("Master", ())


@pytest.mark.parametrize(
    ("change", "name", "held", "words"),
    [
        ({"lines_per_inch": 17.0}, "First", "lines per inch", "17 lines per inch"),
        ({"lines_per_inch": 8.0}, "Practice", "lines per inch", "Second asks 10 or more"),
        ({"ring_to_face_deg": 62.0}, "Second", "ring to face", "First asks 75° or more"),
        ({"spread_deg": 1.0}, "First", "straightness", "varies by 1.0°"),
        ({"runout_deg": 3.0}, "Second", "runout", "for 2° at most"),
        ({"unevenness": 2.5}, "Second", "evenness", "2.5 times the tightest"),
        ({"two_tone_pct": 20.0}, "Practice", "two-tone", "up to 20 %"),
        (
            {"flaws": (InsideFlaw("knot", "open", 2.0),)},
            "Second",
            "flaws in the open",
            "First asks for none",
        ),
        (
            {"flaws": (InsideFlaw("pitch", "edge", 3.0),)},
            "First",
            "flaws at the edge",
            "pitch pocket, 3.0 mm",
        ),
        ({"flaws": (InsideFlaw("crack", "bridge", 3.0),)}, "Practice", "cracks", "A crack under the bridge"),
    ],
)
def test_one_thing_holds_it_back_and_is_named(
    change: dict[str, object], name: str, held: str, words: str
) -> None:
    found = graded(replace(GOOD, **change))  # type: ignore[arg-type]
    assert found[:2] == (name, (held,))
    assert words in found[2]
    assert "But for this it would be" in found[2]


def test_a_figure_just_short_does_not_read_as_if_it_reached() -> None:
    assert (
        "19.6 lines per inch (1.30 mm apart); Master asks 20" in graded(replace(GOOD, lines_per_inch=19.6))[2]
    )
    assert "Rings stand at 79.99° to the face" in graded(replace(GOOD, ring_to_face_deg=79.99))[2]
    assert "varies by 0.74°" in graded(replace(GOOD, spread_deg=0.74))[2]


def test_a_flaw_in_the_soundhole_holds_nothing_back() -> None:
    cut_out = (InsideFlaw("knot", "soundhole", 40.0), InsideFlaw("crack", "soundhole", 60.0))
    assert graded(replace(GOOD, flaws=cut_out))[0] == "Master"


def test_what_was_not_read_is_said_and_holds_nothing_back() -> None:
    found = grade(replace(GOOD, ring_to_face_deg=None, runout_deg=None), STARTING_RULES)
    assert found is not None
    assert found.name == "Master"
    assert found.provisional
    assert found.unread == ("ring to face", "runout")
    assert "could still be held back by: ring to face, runout" in " ".join(found.reasons)


def test_nothing_read_is_no_grade() -> None:
    assert grade(GradeFacts("top", "parlour"), STARTING_RULES) is None


def test_what_lies_inside_is_graded_though_it_does_not_fit() -> None:
    assert "does not fit the parlour" in graded(replace(GOOD, fits=False))[2]


def test_two_things_hold_it_back_together() -> None:
    name, held, words = graded(replace(GOOD, lines_per_inch=12.0, spread_deg=1.5))
    assert (name, held) == ("Second", ("lines per inch", "straightness"))
    assert "But for this" not in words


def test_a_back_is_not_held_back_by_lines_per_inch() -> None:
    assert graded(replace(GOOD, use="back", lines_per_inch=4.0, spread_deg=6.0))[0] == "First"


def test_a_lower_grade_that_asks_more_is_refused() -> None:
    rules = STARTING_RULES.model_dump()
    rules["top"][1]["lines_per_inch"] = 25
    with pytest.raises(Mistake, match="First asks more than Master"):
        rules_from(rules)
    rules["top"][1]["lines_per_inch"] = "many"
    with pytest.raises(Mistake, match="lines per inch"):
        rules_from(rules)


def test_two_grades_of_one_name_are_refused() -> None:
    rules = STARTING_RULES.model_dump()
    rules["top"][1]["name"] = "master"
    with pytest.raises(Mistake, match="same name"):
        rules_from(rules)


def test_rules_survive_being_kept() -> None:
    assert rules_from(STARTING_RULES.model_dump(mode="json")) == STARTING_RULES


def figure(high: float) -> st.SearchStrategy[float | None]:
    return st.none() | st.floats(0, high)


FIGURES = {
    "lines_per_inch": st.none() | st.floats(1, 60),
    "ring_to_face_deg": figure(90),
    "spread_deg": figure(8),
    "tilt_deg": figure(8),
    "runout_deg": figure(8),
    "unevenness": st.none() | st.floats(1, 8),
    "two_tone_pct": figure(40),
}
FLAWS = st.builds(
    InsideFlaw,
    st.sampled_from(["knot", "pitch", "crack", "stain", "other"]),
    st.sampled_from(["open", "edge", "bridge", "fingerboard", "soundhole"]),
    st.floats(0, 40),
)
FACTS = st.builds(
    GradeFacts,
    use=st.sampled_from(["top", "back"]),
    outline=st.just("parlour"),
    flaws=st.none() | st.lists(FLAWS, max_size=4).map(tuple),
    **FIGURES,
)


@st.composite
def ordered_rules(draw: st.DrawFn) -> GradeRules:
    """Rules whose figures loosen from grade to grade, some asking nothing."""

    def steps() -> tuple[GradeStep, ...]:
        count = draw(st.integers(1, 4))
        columns = {}
        for field in GradeStep.model_fields:
            if field in ("name", "cracks"):
                continue
            high = {"lines_per_inch": 60.0, "ring_to_face_deg": 90.0}.get(field, 8.0)
            low = 1.0 if field in ("unevenness", "lines_per_inch") else 0.0
            asked = sorted(
                draw(st.lists(st.floats(low, high), min_size=count, max_size=count)), reverse=field in LEAST
            )
            kept = draw(st.integers(0, count))
            columns[field] = [*asked[:kept], *([None] * (count - kept))]
        rows = [{field: values[i] for field, values in columns.items()} for i in range(count)]
        return tuple(GradeStep(name=f"g{i}", **row) for i, row in enumerate(rows))

    return GradeRules(top=steps(), back=steps()).checked()


@given(facts=FACTS, rules=ordered_rules(), data=st.data())
@settings(max_examples=120, deadline=None)
def test_better_wood_never_gets_a_worse_grade(
    facts: GradeFacts, rules: GradeRules, data: st.DataObject
) -> None:
    changes: dict[str, object] = {}
    for key in FIGURES:
        value = getattr(facts, key)
        if value is not None:
            step = data.draw(st.floats(0, 20), label=key)
            lower = 1.0 if key == "unevenness" else 0.0
            changes[key] = value + step if key in LEAST else max(lower, value - step)
    if facts.flaws:
        kept = data.draw(st.lists(st.booleans(), min_size=len(facts.flaws), max_size=len(facts.flaws)))
        smaller = data.draw(st.floats(0, 1))
        flaws = [f for f, keep in zip(facts.flaws, kept, strict=True) if keep]
        changes["flaws"] = tuple(replace(f, size_mm=f.size_mm * smaller) for f in flaws)
    before, after = grade(facts, rules), grade(replace(facts, **changes), rules)  # type: ignore[arg-type]
    assert (before is None) == (after is None)
    if before is not None and after is not None:
        assert after.place <= before.place


@given(facts=FACTS, rules=ordered_rules())
@settings(max_examples=60, deadline=None)
def test_what_held_it_back_is_named_and_alone_accounts_for_the_grade(
    facts: GradeFacts, rules: GradeRules
) -> None:
    found = grade(facts, rules)
    if found is None:
        return
    assert found.name == rules.names(facts.use)[found.place]
    assert bool(found.held_back_by) == (found.place > 0)
    assert max(one.reaches for one in found.criteria) == found.place
    assert all(one.reaches <= found.place for one in found.criteria)
