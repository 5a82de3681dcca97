"""The fixed table of rendered cases that the truth tests end on. Their seeds are 9000 and above.

Rules: nothing is tuned on these. Whoever tunes a reading uses seeds below 1000 of their own; these cases are
only for the final tests, which report the rows marked `hard` apart. Each accessor renders a case once in a
process and keeps it.

Faces are 4 px/mm unless a case says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Literal

from seamlight.demo import phone, saw, wood
from seamlight.demo.knots import KnotAt
from seamlight.demo.pockets import PocketAt
from seamlight.demo.shot import Shot
from seamlight.demo.truth import EndTruth, FaceTruth
from seamlight.mistake import Mistake


@dataclass(frozen=True)
class Case:
    """One rendered leaf: how it grew, was sawn, looked at and photographed."""

    name: str
    seed: int
    grow: dict[str, Any]
    sawing: dict[str, Any] = field(default_factory=dict)
    look: dict[str, Any] = field(default_factory=dict)  # for saw.face
    shot: dict[str, Any] = field(default_factory=dict)  # for phone.photograph
    hard: bool = False


_CEDAR, _SPRUCE = "western redcedar", "Engelmann spruce"

WOOD_CASES: tuple[Case, ...] = (
    Case("cedar plain", 9001, {"species": _CEDAR}, {"streaks": 0.0}),
    Case(
        "cedar streaked",
        9002,
        {"species": _CEDAR, "ring_mm": 1.1},
        {"streaks": 0.7, "saw_marks": 0.7, "ripple": 0.5},
    ),
    Case("cedar knots", 9003, {"species": _CEDAR, "ring_mm": 1.3, "knots": 3}, {"grain_deg": 0.8}),
    Case("cedar leaning", 9004, {"species": _CEDAR, "lean_deg": 15.0, "pith_mm": 130.0}, {"grain_deg": 1.6}),
    Case("cedar lamp", 9005, {"species": _CEDAR, "spiral_deg": 1.8}, {"taper_mm": 18.0}, {"lamp": "end 1"}),
    Case("spruce plain", 9006, {"species": _SPRUCE}, {"streaks": 0.0}),
    Case(
        "spruce streaked",
        9007,
        {"species": _SPRUCE, "ring_mm": 1.3},
        {"streaks": 0.7, "saw_marks": 0.6, "ripple": 0.4},
    ),
    Case("spruce knots", 9008, {"species": _SPRUCE, "knots": 3, "pitch": 2}, {"chips": 2}),
    Case("spruce noisy", 9009, {"species": _SPRUCE}, {}, {"noise": 6.0}),
    Case("spruce soft", 9010, {"species": _SPRUCE, "ring_mm": 1.4}, {}, {"blur_mm": 0.3}),
    Case("spruce askew", 9011, {"species": _SPRUCE, "bend_mm": 2.5}, {"grain_deg": 2.6}),
    Case("spruce wane", 9012, {"species": _SPRUCE, "wane_mm": 9.0, "knots": 1}, {"checks": 1}),
    Case(
        "cedar all faults",
        9013,
        {
            "species": _CEDAR,
            "wane_mm": 6.0,
            "knots": [
                KnotAt(-55, -120, 5.0, "live", 75),
                KnotAt(20, 60, 12.0, "cracked", 50),
                KnotAt(60, 190, 7.0, "dead", 35),
                KnotAt(-40, 210, 9.0, "fallen", 70),
            ],
            "pitch": [PocketAt(-10, -200, 22, 2.6)],
            "stains": 1,
        },
        {"holes": 1, "checks": 1, "chips": 1, "streaks": 0.5},
    ),
    Case(
        "spruce fine and faint",
        9014,
        {"species": _SPRUCE, "ring_mm": 0.8},
        {"streaks": 0.8, "saw_marks": 0.8},
        {"contrast": 0.5, "noise": 3.0},
        hard=True,
    ),
    Case(
        "cedar wandering",
        9015,
        {"species": _CEDAR, "wander_mm": 3.0, "ring_spread": 0.25, "knots": 2},
        {"grain_deg": -2.0, "streaks": 0.6},
        hard=True,
    ),
    Case(
        "spruce rough-sawn",
        9019,
        {"species": _SPRUCE, "ring_mm": 1.5, "knots": 1},
        {"streaks": 0.7, "saw_marks": 0.8, "ripple": 1.0},
        {"contrast": 0.6},
        hard=True,
    ),
    Case("cherry", 9016, {"species": "cherry"}),
    Case("black walnut", 9017, {"species": "black walnut", "knots": 1}, hard=True),
    Case("maple curly", 9018, {"species": "maple", "figure": 0.9}, hard=True),
)

PHOTO_CASES: tuple[Case, ...] = (
    Case("square on", 9101, {"species": _SPRUCE}, {"thickness_mm": 4.5}, {}, {"tilt_deg": 1.0}),
    Case(
        "tilted, barrel, shrunk print",
        9102,
        {"species": _CEDAR, "knots": 1},
        {"thickness_mm": 3.2, "taper_mm": 15.0},
        {},
        {"tilt_deg": 15.0, "distortion": -0.01, "print_scale": 0.97},
    ),
    Case(
        "tilted hard, two per cent",
        9103,
        {"species": _SPRUCE, "knots": 1},
        {"thickness_mm": 6.0, "chips": 2},
        {},
        {"tilt_deg": 25.0, "distortion": 0.02, "bench": "green"},
        hard=True,
    ),
    Case(
        "lamp on a light bench",
        9104,
        {"species": _CEDAR},
        {"thickness_mm": 5.0, "rough_mm": 0.6},
        {},
        {"tilt_deg": 10.0, "distortion": -0.02, "bench": "white", "lamp": "lamp"},
    ),
    Case(
        "window, leaf across",
        9105,
        {"species": "maple"},
        {"thickness_mm": 4.0},
        {},
        {"tilt_deg": 20.0, "distortion": 0.012, "turn_deg": -88.0, "bench": "blue", "lamp": "window"},
    ),
    Case(
        "walnut on a light bench, letter sheets",
        9106,
        {"species": "black walnut"},
        {"thickness_mm": 5.0},
        {},
        {"tilt_deg": 12.0, "paper": "letter", "bench": "light", "focal_35mm": 28.0},
    ),
)
# ends with curved rings, to be read from either end
END_CASES: tuple[Case, ...] = (
    Case("end quartered", 9201, {"species": _SPRUCE, "lean_deg": 2.0, "pith_mm": 220.0}),
    Case("end leaning", 9202, {"species": _CEDAR, "lean_deg": 18.0, "pith_mm": 150.0}),
    Case(
        "end strongly curved", 9203, {"species": _SPRUCE, "ring_mm": 1.5, "lean_deg": 35.0, "pith_mm": 130.0}
    ),
    Case("end pith at the right", 9204, {"species": _CEDAR, "lean_deg": 12.0, "pith_side": "right"}),
    Case("end of walnut", 9205, {"species": "black walnut", "lean_deg": 20.0, "pith_mm": 160.0}, hard=True),
)
CASES: dict[str, Case] = {case.name: case for case in (*WOOD_CASES, *PHOTO_CASES, *END_CASES)}


def case_named(name: str) -> Case:
    """A case of the table; Mistake for an unknown name."""
    if name not in CASES:
        raise Mistake(f"no case is called {name!r}", where="case", do="use a name of demo.cases.CASES")
    return CASES[name]


@lru_cache(maxsize=64)
def pair_of(name: str) -> saw.SawnPair:
    """The sawn pair of a case."""
    case = case_named(name)
    return saw.saw_pair(wood.grow_log(case.seed, **case.grow), case.seed, **case.sawing)


@lru_cache(maxsize=24)
def face_of(name: str, leaf: Literal["a", "b"] = "a", px_per_mm: float = 4.0) -> FaceTruth:
    """The sawn face of a case's leaf with its truth."""
    pair = pair_of(name)
    return saw.face(pair.a if leaf == "a" else pair.b, "sawn", px_per_mm, **case_named(name).look)


@lru_cache(maxsize=8)
def end_of(name: str, which: Literal[1, 2] = 1) -> EndTruth:
    """An end of a case's leaf A."""
    return saw.end(pair_of(name).a, which)


@lru_cache(maxsize=3)
def shot_of(name: str, megapixels: float = 12.0) -> Shot:
    """The photograph of a case's leaf A, from a face of 6 px/mm; big, so only the last few are kept."""
    case = case_named(name)
    face = saw.face(pair_of(name).a, "sawn", 6.0, **case.look)
    return phone.photograph(face, case.seed, megapixels=megapixels, **case.shot)
