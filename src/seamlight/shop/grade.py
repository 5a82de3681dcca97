"""The grade of a pair by the shop's own rules, and what held it back, in sentences.

Each criterion by itself reaches a grade; the pair's is the lowest of them, so that better wood never gets a
worse grade. A criterion nobody has read holds nothing back, and is named.
"""

from __future__ import annotations

from dataclasses import dataclass

from seamlight.layout.opening import Zone
from seamlight.shop.grade_rules import FLAW_ZONES, LEAST, WORDS, GradeRules, GradeStep, Use
from seamlight.units import MM_PER_INCH, Unit, show_length


@dataclass(frozen=True)
class InsideFlaw:
    """A flaw inside the outline: where it falls and its longest extent."""

    kind: str
    zone: Zone
    size_mm: float


@dataclass(frozen=True)
class GradeFacts:
    """What lies inside the outline; None where it was not read.

    `unevenness` is the widest ring spacing over the tightest; `two_tone_pct` the halves' greater difference
    in lightness of two lights; `runout_deg` the slope of the fibres to the face.
    """

    use: Use
    outline: str
    lines_per_inch: float | None = None
    ring_to_face_deg: float | None = None
    spread_deg: float | None = None
    tilt_deg: float | None = None
    runout_deg: float | None = None
    unevenness: float | None = None
    two_tone_pct: float | None = None
    flaws: tuple[InsideFlaw, ...] | None = None
    fits: bool | None = None


@dataclass(frozen=True)
class Criterion:
    """One criterion: the best grade it reaches, by its place in the rules (0 the best)."""

    key: str
    reaches: int
    text: str


@dataclass(frozen=True)
class Grade:
    """A grade with its reasons. `place` counts from 0, the best."""

    name: str
    place: int
    held_back_by: tuple[str, ...]
    reasons: tuple[str, ...]
    criteria: tuple[Criterion, ...]
    unread: tuple[str, ...]

    @property
    def provisional(self) -> bool:
        """Whether something the rules ask for was never read."""
        return bool(self.unread)


def grade(facts: GradeFacts, rules: GradeRules, unit: Unit = "mm") -> Grade | None:
    """The grade of what lies inside the outline; None where nothing that the rules ask for was read."""
    names = rules.names(facts.use)
    steps = rules.steps(facts.use)
    criteria, unread = _criteria(facts, steps, names, unit)
    if not criteria:
        return None
    place = max(one.reaches for one in criteria)
    held = tuple(one for one in criteria if one.reaches == place) if place else ()
    return Grade(
        name=names[place],
        place=place,
        held_back_by=tuple(WORDS[one.key] for one in held),
        reasons=_reasons(facts, names, place, held, criteria, unread),
        criteria=criteria,
        unread=tuple(WORDS[key] for key in unread),
    )


def _criteria(
    facts: GradeFacts, steps: tuple[GradeStep, ...], names: tuple[str, ...], unit: Unit
) -> tuple[tuple[Criterion, ...], tuple[str, ...]]:
    """Every criterion that some grade asks for: those read with what they reach, and those unread."""
    read: list[Criterion] = []
    unread: list[str] = []
    for key in WORDS:
        if all(_asks(step, key) is None for step in steps):
            continue
        value = _value(facts, key)
        if value is None:
            unread.append(key)
            continue
        reaches = next((i for i, step in enumerate(steps) if _passes(key, value, step)), len(steps))
        limit = None if reaches == 0 else _asks(steps[reaches - 1], key)
        read.append(Criterion(key, reaches, _sentence(facts, key, value, reaches, limit, names, unit)))
    return tuple(read), tuple(unread)


def _asks(step: GradeStep, key: str) -> float | None:
    """The figure a grade asks for; cracks are counted, and none may be there."""
    if key == "cracks":
        return None if step.cracks else 0.0
    asked: float | None = getattr(step, key)
    return asked


def _value(facts: GradeFacts, key: str) -> float | None:
    """The figure itself; a flaw's zone gives its longest flaw, cracks their number."""
    if key == "cracks":
        return None if facts.flaws is None else float(len(_cracks(facts)))
    for zone, field in FLAW_ZONES.items():
        if field == key:
            sizes = [flaw.size_mm for flaw in facts.flaws or () if flaw.zone == zone]
            return None if facts.flaws is None else max(sizes, default=0.0)
    value: float | None = getattr(facts, key)
    return value


def _cracks(facts: GradeFacts) -> list[InsideFlaw]:
    return [flaw for flaw in facts.flaws or () if flaw.kind == "crack" and flaw.zone != "soundhole"]


def _passes(key: str, value: float, step: GradeStep) -> bool:
    asked = _asks(step, key)
    return asked is None or (value >= asked if key in LEAST else value <= asked)


def _sentence(
    facts: GradeFacts,
    key: str,
    value: float,
    reaches: int,
    limit: float | None,
    names: tuple[str, ...],
    unit: Unit,
) -> str:
    """What was found, what it is good for, and what the next better grade asks."""
    said = _said(facts, key, value, limit, unit)
    if limit is None:
        return f"{said}: good enough for {names[0]}."
    return f"{said}; {names[reaches - 1]} asks {_limit(key, limit, unit)}."


def _told(value: float, limit: float | None, decimals: int) -> str:
    """A figure with as many decimals as show on which side of the limit it lies."""
    while limit is not None and decimals < 4 and round(value, decimals) == round(limit, decimals):
        decimals += 1
    return f"{value:.{decimals}f}"


def _said(facts: GradeFacts, key: str, value: float, limit: float | None, unit: Unit) -> str:
    if key == "lines_per_inch":
        apart = show_length(MM_PER_INCH / value, decimals=2)
        return f"{_told(value, limit, 0)} lines per inch ({apart} apart)"
    if key == "cracks":
        return f"{value:.0f} cracks that stay in the plate" if value > 1 else _one_crack(facts)
    if key in FLAW_ZONES.values():
        zone = next(zone for zone, field in FLAW_ZONES.items() if field == key)
        worst = max((f for f in facts.flaws or () if f.zone == zone), key=lambda f: f.size_mm, default=None)
        if worst is None:
            return f"No {WORDS[key]}"
        return f"{WORDS[key].capitalize()}: {_kind(worst.kind)}, {show_length(worst.size_mm, unit)} long"
    return {
        "ring_to_face_deg": f"Rings stand at {_told(value, limit, 0)}° to the face",
        "spread_deg": f"The grain's direction varies by {_told(value, limit, 1)}°",
        "tilt_deg": f"The grain runs {_told(value, limit, 1)}° off the joint",
        "runout_deg": f"Runout of {_told(value, limit, 1)}°",
        "unevenness": f"The widest rings are {_told(value, limit, 1)} times the tightest",
        "two_tone_pct": f"The halves differ in lightness by up to {_told(value, limit, 0)} %",
    }[key]


def _one_crack(facts: GradeFacts) -> str:
    cracks = _cracks(facts)
    return f"A crack {_where(cracks[0].zone)}" if cracks else "No crack that stays in the plate"


def _where(zone: Zone) -> str:
    return {
        "open": "in the open",
        "edge": "at the edge",
        "bridge": "under the bridge",
        "fingerboard": "under the fingerboard",
        "soundhole": "in the soundhole",
    }[zone]


def _kind(kind: str) -> str:
    return {"pitch": "pitch pocket", "wane": "bark edge", "other": "a flaw"}.get(kind, kind)


def _limit(key: str, limit: float, unit: Unit) -> str:
    if key in LEAST:
        return f"{limit:g} or more" if key == "lines_per_inch" else f"{limit:g}° or more"
    if key == "cracks" or (key in FLAW_ZONES.values() and limit == 0):
        return "for none"
    if key in FLAW_ZONES.values():
        return f"for {show_length(limit, unit)} at most"
    return {
        "unevenness": f"for {limit:g} at most",
        "two_tone_pct": f"for {limit:g} % at most",
    }.get(key, f"for {limit:g}° at most")


def _reasons(
    facts: GradeFacts,
    names: tuple[str, ...],
    place: int,
    held: tuple[Criterion, ...],
    criteria: tuple[Criterion, ...],
    unread: tuple[str, ...],
) -> tuple[str, ...]:
    """First what held it back and what it would be without, then what was not read."""
    said = [one.text for one in held]
    if not held:
        said.append(f"Everything that was read reaches {names[0]}.")
    rest = [one.reaches for one in criteria if one not in held]
    if len(held) == 1 and rest:
        said.append(f"But for this it would be {names[max(rest)]}.")
    if unread:
        listed = ", ".join(WORDS[key] for key in unread)
        said.append(f"Not read, so it could still be held back by: {listed}.")
    if facts.fits is False:
        said.append(f"It does not fit the {facts.outline}; the grade is of the wood that lies inside.")
    return tuple(said)
