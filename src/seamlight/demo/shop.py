"""An invented workshop in a harbour town: the wood on its rack this spring and what each pair is meant for.

Five students build parlour guitars in a class, and a jumbo is on order. Tops are western redcedar and
Engelmann spruce, backs black walnut, cherry and maple. Each pair has something that makes its layout a
question: a knot that wants the soundhole, a pair too narrow for the jumbo, wane along an edge, a leaf that
lay turned, worm holes at the joint, curl that shows the seam, and a leaf whose partner is lost.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from seamlight.demo import phone, saw, wood
from seamlight.demo.knots import KnotAt
from seamlight.demo.pockets import PocketAt, StainAt
from seamlight.demo.shot import Shot
from seamlight.demo.truth import FaceTruth


@dataclass(frozen=True)
class RackPair:
    """One pair on the rack: what it is for, how it grew, was sawn and photographed."""

    name: str
    story: str  # one line a maker would say about it
    use: Literal["top", "back"]
    outline: str  # a plain size word
    ordered_by: str
    seed: int
    grow: dict[str, Any]
    sawing: dict[str, Any] = field(default_factory=dict)
    light: dict[str, Any] = field(default_factory=dict)  # how both leaves are photographed
    b_turned: bool = False  # leaf B lay with end 2 at the top
    b_lost: bool = False  # a leaf without its partner


@dataclass(frozen=True, eq=False)
class Scene:
    """The photographs of one pair, and what is true of them."""

    pair: RackPair
    sawn: saw.SawnPair
    faces: tuple[FaceTruth, ...]  # A, then B unless it is lost
    shots: tuple[Shot, ...]

    @property
    def file_names(self) -> tuple[str, ...]:
        """What the photographs are called: the pair's name with -a and -b."""
        return tuple(f"{self.pair.name}-{leaf}.jpg" for leaf in "ab"[: len(self.shots)])


RACK: tuple[RackPair, ...] = (
    RackPair(
        "cedar-1",
        "A knot near either edge: opened one way, one is in the soundhole, the other in the waste.",
        "top",
        "parlour",
        "student 1",
        11,
        {
            "species": "western redcedar",
            "ring_mm": 1.15,
            "lean_deg": 2.0,
            "ring_trend": -0.15,
            "knots": [KnotAt(76.0, -86.0, 8.0, "live", 62.0), KnotAt(-88.5, 187.5, 5.0, "dead", 70.0)],
        },
        {"length_mm": 545.0, "width_mm": 207.0, "grain_deg": 0.35},
    ),
    RackPair(
        "spruce-1",
        "Fine and even, with bark left along one edge.",
        "top",
        "parlour",
        "student 2",
        23,
        {
            "species": "Engelmann spruce",
            "ring_mm": 1.2,
            "lean_deg": 3.5,
            "ring_trend": -0.25,
            "wane_mm": 18.0,
            "pitch": [PocketAt(-60.0, 205.0, 16.0, 2.4)],
        },
        {"length_mm": 552.0, "width_mm": 212.0, "grain_deg": -0.5},
        {"bench": "green"},
    ),
    RackPair(
        "spruce-2",
        "The best spruce on the rack, meant for the jumbo, and too narrow for it.",
        "top",
        "jumbo",
        "the order",
        31,
        {"species": "Engelmann spruce", "ring_mm": 1.05, "lean_deg": 1.0, "ring_trend": -0.2},
        {"length_mm": 562.0, "width_mm": 206.0, "grain_deg": 0.2, "taper_mm": 6.0},
    ),
    RackPair(
        "cedar-2",
        "Grain runs off by a degree and a half; wide rings at one edge.",
        "top",
        "parlour",
        "student 3",
        47,
        {"species": "western redcedar", "ring_mm": 1.5, "lean_deg": 7.0, "ring_trend": 0.35, "bend_mm": 1.2},
        {"length_mm": 540.0, "width_mm": 204.0, "grain_deg": 1.5, "chips": 1},
        {"lamp": "window"},
    ),
    RackPair(
        "walnut-1",
        "Leaf B was laid down the wrong way round.",
        "back",
        "parlour",
        "student 1",
        53,
        {
            "species": "black walnut",
            "lean_deg": 8.0,
            "pith_mm": 150.0,
            "wander_mm": 1.6,
            "knots": [KnotAt(-58.0, 196.0, 11.0, "dead", 70.0)],
        },
        {"length_mm": 548.0, "width_mm": 205.0, "grain_deg": 0.6},
        {"bench": "light"},
        b_turned=True,
    ),
    RackPair(
        "cherry-1",
        "Worm holes through both leaves and a dark streak.",
        "back",
        "parlour",
        "student 4",
        61,
        {"species": "cherry", "lean_deg": 6.0, "stains": [StainAt(84.0, 60.0, 90.0, 12.0)]},
        {"length_mm": 545.0, "width_mm": 206.0, "grain_deg": -0.4, "holes": 2, "checks": 1},
    ),
    RackPair(
        "maple-1",
        "Curly maple, wide enough for the jumbo's back.",
        "back",
        "jumbo",
        "the order",
        71,
        {"species": "maple", "lean_deg": 5.0, "figure": 0.9, "figure_mm": 9.0},
        {"length_mm": 572.0, "width_mm": 232.0, "grain_deg": 0.3, "streaks": 0.2},
        {"bench": "blue"},
    ),
    RackPair(
        "stray",
        "A good cedar leaf whose partner nobody can find.",
        "top",
        "parlour",
        "student 5",
        83,
        {"species": "western redcedar", "ring_mm": 1.35, "lean_deg": 4.0},
        {"length_mm": 538.0, "width_mm": 200.0, "grain_deg": -0.8},
        b_lost=True,
    ),
)


def scenes(
    names: tuple[str, ...] = (), *, megapixels: float = 8.0, px_per_mm: float = 4.0, targets: int = 2
) -> Iterator[Scene]:
    """Grow, saw and photograph the rack pair by pair, each only when asked for.

    Args:
        names: only these pairs; all of them if empty. megapixels: of each photograph.
        px_per_mm: of the wood before the phone sees it. targets: how many target sheets lie beside a leaf.
    """
    for pair in RACK:
        if not names or pair.name in names:
            yield scene(pair, megapixels=megapixels, px_per_mm=px_per_mm, targets=targets)


def scene(pair: RackPair, *, megapixels: float = 8.0, px_per_mm: float = 4.0, targets: int = 2) -> Scene:
    """One pair's photographs and truth."""
    log = wood.grow_log(pair.seed, **pair.grow)
    sawn = saw.saw_pair(log, pair.seed, **pair.sawing)
    leaves = (sawn.a,) if pair.b_lost else (sawn.a, sawn.b)
    faces = tuple(
        saw.face(leaf, "sawn", px_per_mm, turned=pair.b_turned and leaf.name == "b") for leaf in leaves
    )
    shots = tuple(
        phone.photograph(
            one,
            10 * pair.seed + i,
            megapixels=megapixels,
            tilt_deg=(7.0, 11.0)[i],
            distortion=-0.006,
            targets=targets,
            **pair.light,
        )
        for i, one in enumerate(faces)
    )
    return Scene(pair, sawn, faces, shots)
