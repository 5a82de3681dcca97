"""A painted pair and a layout of it, made without the rooms above: what the sheets are tested on."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.grain.reading import EndGrain, Reading, Thirds
from seamlight.layout.carry import carry_to_b
from seamlight.layout.opening import (
    FlawInside,
    GrainInside,
    Layout,
    LayoutSettings,
    LeafPlacing,
    Opening,
    Remedy,
    Short,
)
from seamlight.layout.pair import Leaf, Registration
from seamlight.outline.shape import Outline, Zones
from seamlight.photo.flat import FlatLeaf, Scale

PX_PER_MM = 2.0
LENGTH, WIDTH1, WIDTH2 = 560.0, 214.0, 208.0
ZONES = Zones(150, 100, 290, 32, 175, 29, 95, 5)


def body(name: str = "dreadnought", length: float = 508, lower: float = 198.5) -> Outline:
    """A smooth half outline: upper bout 146, waist 136, lower bout as given."""
    y = np.linspace(0, length, 1200)
    t = y / length
    knots_t = np.array([0.0, 0.19, 0.375, 0.71, 1.0])
    knots_w = np.array([1.0, 146 / 198.5, 136.5 / 198.5, 1.0, 1.0]) * lower
    middle = np.interp(t, knots_t, knots_w)
    smooth = np.convolve(np.pad(middle, 120, mode="edge"), np.hanning(241) / np.hanning(241).sum(), "valid")
    ends = np.minimum(1, np.minimum((t / 0.19), ((1 - t) / 0.29)))
    half = smooth * (1 - (1 - np.clip(ends, 0, 1)) ** 2.3) ** (1 / 2.3)
    edge = np.column_stack([np.maximum(half, 0), y])
    flat = np.column_stack([np.linspace(0, 28, 29), np.zeros(29)])
    return Outline(name, np.vstack([flat, edge[edge[:, 0] > 28], np.array([[0.0, length]])]), ZONES)


class Straight:
    """A photograph taken straight on, one pixel for each of the flat picture's."""

    def to_photo(self, points_mm: np.ndarray) -> np.ndarray:
        return np.asarray(points_mm) * PX_PER_MM

    def to_leaf(self, points_px: np.ndarray) -> np.ndarray:
        return np.asarray(points_px) / PX_PER_MM


def disc(x: float, y: float, rx: float, ry: float) -> np.ndarray:
    a = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    return np.column_stack([x + rx * np.cos(a), y + ry * np.sin(a)])


def paint(mirror: bool, knots: list[np.ndarray], tone: tuple[int, int, int] = (196, 152, 104)) -> FlatLeaf:
    """A leaf with ring lines that crowd toward its right edge (left where mirrored)."""
    w, h = int(WIDTH1 * PX_PER_MM), int(LENGTH * PX_PER_MM)
    x = (np.arange(w) + 0.5) / PX_PER_MM
    y = (np.arange(h) + 0.5) / PX_PER_MM
    gx, gy = np.meshgrid(WIDTH1 - x if mirror else x, y)
    across = gx + 2.5 * np.sin(gy / 160) + 0.01 * gy
    phase = across**1.18 / 2.9
    ring = (phase % 1.0) ** 4
    noise = np.random.default_rng(7 + mirror).normal(0, 4, (h, w))
    shade = 1 - 0.34 * ring + 0.04 * np.sin(gy / 31 + gx / 17)
    rgb = np.clip(np.array(tone) * shade[..., None] + noise[..., None], 0, 255)
    gxr, gyr = np.meshgrid(x, y)
    for knot in knots:
        c, r = knot.mean(axis=0), np.ptp(knot, axis=0) / 2
        d = np.hypot((gxr - c[0]) / r[0], (gyr - c[1]) / r[1])
        rgb[d < 1] = np.array([84, 52, 30]) * (0.8 + 0.2 * np.sin(9 * d[d < 1]))[:, None]
    edge = WIDTH1 - (WIDTH1 - WIDTH2) * gyr / LENGTH
    wood = (gxr < edge) if not mirror else (gxr > WIDTH1 - edge)
    rgb[~wood] = (40, 42, 46)
    outline = np.array([[0, 0], [WIDTH1, 0], [WIDTH2, LENGTH], [0, LENGTH]], dtype=float)
    if mirror:
        outline = (outline * (-1, 1) + (WIDTH1, 0))[::-1]
    return FlatLeaf(
        rgb.astype(np.uint8), wood, PX_PER_MM, outline, (), LENGTH, WIDTH1, WIDTH2,
        Scale("px", PX_PER_MM, 0.2), Straight(),
    )  # fmt: skip


KNOT_A = disc(60, 420, 5, 7)
KNOT_HOLE = disc(185, 175, 4, 5)
FLAWS_A = (Flaw("knot", KNOT_A, 0.95), Flaw("pitch", KNOT_HOLE, 0.8))


def painted_flats() -> tuple[FlatLeaf, FlatLeaf]:
    knots = [KNOT_A, KNOT_HOLE]
    return paint(False, knots), paint(True, [k * (-1, 1) + (WIDTH1, 0) for k in knots])


def placing(
    outline: Outline, neck: np.ndarray, down: np.ndarray, out: np.ndarray, end_trim: float
) -> LeafPlacing:
    half = outline.half_mm
    points = neck + half[:, :1] * out + half[:, 1:] * down
    length = half[-1, 1]
    line = np.vstack([neck - end_trim * down, neck + (length + end_trim) * down])
    return LeafPlacing(line, points, 0.0, 0.0, 0.0)


def opening(
    outline: Outline, settings: LayoutSettings, edge: str, neck_end: int, planing: float, tilt_deg: float
) -> Opening:
    """One opening placed by hand: the joint line `planing` mm in from A's edge at mid-length, tilted."""
    length = outline.half_mm[-1, 1]
    middle = np.array([(WIDTH1 + WIDTH2) / 2 - planing if edge == "right" else planing, LENGTH / 2])
    sign = 1 if neck_end == 1 else -1
    angle = np.radians(tilt_deg)
    along = np.array([np.sin(angle), np.cos(angle)])
    down = sign * along
    out = np.array([along[1], -along[0]]) * (-1 if edge == "right" else 1)
    neck = middle - down * length / 2
    a = placing(outline, neck, down, out, settings.end_trim_mm)
    reg = Registration(0.86, slide_mm=2.0)
    size = (WIDTH1, LENGTH)
    b = LeafPlacing(
        carry_to_b(reg, size, size, a.joint_line_mm), carry_to_b(reg, size, size, a.outline_mm), 0, 0, 0
    )
    far = 0.0 if edge == "right" else None
    half = outline.half_mm
    y = neck[1] + half[:, 0] * out[1] + half[:, 1] * down[1]
    x = neck[0] + half[:, 0] * out[0] + half[:, 1] * down[0]
    wall = np.full_like(y, 0.0) if far is not None else WIDTH1 - (WIDTH1 - WIDTH2) * y / LENGTH
    room = (x - wall if edge == "right" else wall - x) - settings.trim_mm
    spare = float(room.min())
    bad = half[room < 0, 1]
    short = (
        (
            Short("a", -spare, float(bad.min()), float(bad.max())),
            Short("b", -spare, float(bad.min()), float(bad.max())),
        )
        if spare < 0
        else ()
    )
    base = WIDTH1 - (WIDTH1 - WIDTH2) * np.array([0, LENGTH]) / LENGTH
    at_ends = middle[0] + np.tan(angle) * (np.array([0, LENGTH]) - LENGTH / 2)
    planed = base - at_ends if edge == "right" else at_ends
    a = LeafPlacing(a.joint_line_mm, a.outline_mm, float(planed[0]), float(planed[1]), float(planed.max()))
    b = LeafPlacing(b.joint_line_mm, b.outline_mm, float(planed[0]), float(planed[1]), float(planed.max()))
    inside = Polygon(a.outline_mm).buffer(0)
    struck = tuple(
        FlawInside("a", i, "open" if i == 0 else "soundhole")
        for i, f in enumerate(FLAWS_A)
        if inside.intersects(Polygon(f.outline_mm))
    )
    fits = spare >= 0
    remedies = () if fits else (
        Remedy("smaller outline", "the concert fits with 12.0 mm to spare", (("spare_mm", 12.0),)),
        Remedy(
            "lower-bout wings",
            "two wings 19 mm wide and 110 mm long from the offcut at the waist",
            (("width_mm", 19.0), ("length_mm", 110.0)),
        ),
    )  # fmt: skip
    return Opening(
        joint_edge=edge, neck_end=neck_end, show_face="sawn",
        a_is="left" if (edge == "right") == (neck_end == 1) else "right",
        fits=fits, marginal=abs(spare) < 0.2, score=82.0 if fits else 31.0,
        parts=(("flaws", 30.0, "a pitch pocket"), ("grain to the seam", 25.0, "0.3 degrees")),
        reasons=(
            "the pitch pocket falls in the soundhole, where it is cut away",
            "grain runs 0.3 degrees to the seam; tighter wood there: 22 lines per inch, 12 at the edge",
            "a knot of 10 mm lies in the open, 96 mm from the seam",
        ),
        a=a, b=b, joint_tilt_deg=tilt_deg, slide_mm=2.0, spare_mm=spare,
        end_spare_mm=(LENGTH - length) / 2 - settings.end_trim_mm, joint_room_mm=max(0.0, spare),
        short=short, flaws_inside=struck,
        grain=GrainInside(0.3, 1.1, 22.0, 17.0, 12.0, 84.0), remedies=remedies,
    )  # fmt: skip


def painted_layout(lower: float = 196.0, **changes: object) -> Layout:
    outline = body(lower=lower)
    settings = LayoutSettings(**changes)
    flaws_b = tuple(Flaw(f.kind, f.outline_mm * (-1, 1) + (WIDTH1, 0), f.sure) for f in FLAWS_A)
    a, b = painted_flats()
    found = [
        opening(outline, settings, edge, end, planing, tilt)
        for edge, end, planing, tilt in (
            ("right", 1, 4.0, -0.3), ("right", 2, 5.0, -0.3), ("left", 1, 2.5, 0.1), ("left", 2, 17.0, 0.0),
        )
    ]  # fmt: skip
    return Layout(
        Leaf(a.outline_mm, FLAWS_A, width_mm=WIDTH1, length_mm=LENGTH, scale_error_mm=0.2),
        Leaf(b.outline_mm, flaws_b, width_mm=WIDTH1, length_mm=LENGTH, scale_error_mm=0.2),
        Registration(0.86, slide_mm=2.0),
        outline,
        settings,
        tuple(sorted(found, key=lambda o: (not o.fits, -o.score))),
        ("the slide of B is not fixed by the figure: straight grain without marks",),
    )


def painted_reading() -> Reading:
    flat = painted_flats()[0]
    x, y = np.arange(2.5, WIDTH1, 5), np.arange(2.5, LENGTH, 5)
    gx, gy = np.meshgrid(x, y)
    across = gx + 2.5 * np.sin(gy / 160) + 0.01 * gy
    slope = -(2.5 / 160 * np.cos(gy / 160) + 0.01)
    inside = gx < WIDTH1 - (WIDTH1 - WIDTH2) * gy / LENGTH
    keep = np.where(inside, 1.0, np.nan)
    field = GrainField(
        x, y, np.degrees(np.arctan(slope)) * keep, 2.9 / 1.18 * across**-0.18 * keep, 0.9 * keep
    )
    end = EndGrain(x, np.linspace(62, 88, len(x)), Thirds(66, 75, 85), "right")
    return Reading(flat, field, -0.6, 2.4, Thirds(1.32, 1.08, 0.97), end, FLAWS_A)
