"""Sawing a pair of leaves from a log, and looking at their faces and ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from seamlight.demo.leaf import Check, Marks, SawnLeaf, Side, Stand
from seamlight.demo.noise import stream
from seamlight.demo.picture import end_picture, face_picture, silhouette_on
from seamlight.demo.silhouette import blank
from seamlight.demo.trace import flaws_on
from seamlight.demo.truth import EndTruth, FaceTruth
from seamlight.demo.wood import Log
from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw
from seamlight.photo.flat import Points

__all__ = ["FaceTruth", "SawnPair", "end", "face", "saw_pair"]

Array = NDArray[np.float64]
Lamp = Literal["diffuse", "end 1", "end 2"]


@dataclass(frozen=True, eq=False)
class SawnPair:
    """Two leaves sawn one after the other, and how B lies on A's mirror as a registration counts it."""

    a: SawnLeaf
    b: SawnLeaf
    slide_mm: float  # toward A's end 2
    across_mm: float  # toward A's +x
    rotate_deg: float


def saw_pair(
    log: Log,
    seed: int,
    *,
    length_mm: float = 560.0,
    width_mm: float = 215.0,
    thickness_mm: float = 4.5,
    kerf_mm: float = 1.2,
    taper_mm: float = 0.0,
    grain_deg: float | None = None,
    cut_deg: float = 0.0,
    rough_mm: float = 0.3,
    chips: int = 0,
    holes: int = 0,
    checks: int = 0,
    b_slide_mm: float = 0.0,
    b_across_mm: float = 0.0,
    b_rotate_deg: float = 0.0,
    b_tint: float = 1.0,
    saw_marks: float = 0.4,
    streaks: float = 0.35,
    ripple: float = 0.0,
    runout_gain: float = 0.022,
    at_v_mm: float = 0.0,
) -> SawnPair:
    """Saw leaf A and leaf B, one kerf apart, from the middle of the billet.

    Args:
        length_mm, width_mm, thickness_mm: of each leaf; width at end 1.
        taper_mm: how much narrower end 2 is.
        grain_deg: the ring lines' mean turn from the leaf's length (on A; mirrored on B). Random if None.
        cut_deg: lean of the cut about the log's length, added to the log's own.
        rough_mm, chips: of the ends. holes: worm holes through both leaves. checks: cracks from an end.
        b_slide_mm, b_across_mm, b_rotate_deg: how B was trimmed differently: its own middle and turn, against
            A's, so a registration that lays B on A's mirror finds these.
        b_tint: brightness of B's own colour (1: none).
        saw_marks, streaks, ripple, runout_gain: see `Marks`; with ripple 1 on faint rings a plain structure
            tensor takes the saw's lines for the grain over much of a face, as on boards photographed rough.
        at_v_mm: how far from the billet's middle the cut goes: pairs sawn one after another from one log.
    """
    dice = stream(seed, "saw", log.seed)
    turn = float(dice.uniform(-1.2, 1.2)) if grain_deg is None else grain_deg
    holes_uz = [
        (float(dice.uniform(-85, 85)), float(dice.uniform(-230, 230)), float(dice.uniform(1.2, 2.2)))
        for _ in range(holes)
    ]
    size = (length_mm, width_mm, width_mm - taper_mm)
    a = _leaf(log, seed, "a", size, rough_mm, chips, (0.0, 0.0, 0.0), turn)
    b = _leaf(log, seed, "b", size, rough_mm, chips, (b_across_mm, b_slide_mm, b_rotate_deg), turn)
    marks = Marks(saw=saw_marks, streaks=streaks, ripple=ripple, runout_gain=runout_gain)
    a = replace(
        a,
        cut_deg=cut_deg,
        thickness_mm=thickness_mm,
        marks=marks,
        sawn_v_mm=at_v_mm,
        other_v_mm=at_v_mm - thickness_mm,
    )
    b = replace(
        b,
        cut_deg=cut_deg,
        thickness_mm=thickness_mm,
        marks=replace(marks, tint=b_tint),
        sawn_v_mm=at_v_mm + kerf_mm,
        other_v_mm=at_v_mm + kerf_mm + thickness_mm,
    )
    cracks = tuple(_check(dice, a) for _ in range(checks))
    a, b = (replace(leaf, checks=cracks, holes_mm=_holes(leaf, holes_uz)) for leaf in (a, b))
    return SawnPair(a, b, *_registration(a, b))


def _leaf(
    log: Log,
    seed: int,
    name: Literal["a", "b"],
    size: tuple[float, float, float],
    rough_mm: float,
    chips: int,
    off: tuple[float, float, float],
    grain_deg: float,
) -> SawnLeaf:
    """One leaf with its own ends and corners; `off` is its blank's middle (u, z) and turn in the billet."""
    dice = stream(seed, "blank", name)
    length, wide1, wide2 = size
    points = blank(dice, length, wide1, wide2, rough_mm, chips)
    low, high = points.min(axis=0), points.max(axis=0)
    box = high - low
    shift_x, shift_y = (low + high) / 2 - np.array([max(wide1, wide2), length]) / 2
    mirrored, turn = name == "b", np.radians(off[2])
    # the mirrored leaf turns the other way round in the billet's own frame
    across = shift_x * np.cos(turn) + shift_y * np.sin(turn)
    down = shift_y * np.cos(turn) - shift_x * np.sin(turn)
    stand = Stand(
        off[0] + (-across if mirrored else across),
        off[1] + down,
        off[2],
        mirrored,
        float(box[0]),
        float(box[1]),
    )
    per_mm = (wide2 - wide1) / length
    return SawnLeaf(
        name=name,
        log=log,
        seed=seed,
        stand=stand,
        grain_deg=grain_deg,
        cut_deg=0.0,
        sawn_v_mm=0.0,
        other_v_mm=0.0,
        outline_mm=points - low,
        holes_mm=(),
        checks=(),
        width_end1_mm=wide1 + per_mm * float(low[1]),
        width_end2_mm=wide1 + per_mm * float(high[1]),
        thickness_mm=0.0,
        marks=Marks(),
    )


def _holes(leaf: SawnLeaf, places: list[tuple[float, float, float]]) -> tuple[Points, ...]:
    """Round holes square through the leaf, and the ways of knots that fell out; in its sawn face's frame."""
    turn = np.linspace(0, 2 * np.pi, 36, endpoint=False)
    found = []
    for u, z, radius in places:
        x, y = leaf.from_billet("sawn", u + radius * np.cos(turn), z + radius * np.sin(turn))
        found.append(np.column_stack([x, y]))
    return tuple(found)


def _check(dice: np.random.Generator, leaf: SawnLeaf) -> Check:
    """A crack from an end along a ring line, narrowing to nothing."""
    length, half = float(dice.uniform(25, 80)), float(dice.uniform(0.3, 0.6))
    start_x = float(dice.uniform(0.15, 0.85)) * leaf.width_mm
    from_end1 = bool(dice.integers(2))
    run = np.linspace(0.0, length, 50)
    y = run - 1.0 if from_end1 else leaf.length_mm + 1.0 - run
    x = leaf.ring_line("sawn", start_x, float(y[0]), y)
    x = x + 0.35 * np.cumsum(dice.standard_normal(len(x))) * length / 50 * 0.12
    u, z = leaf.to_billet("sawn", x, y)
    return Check(u, z, half * np.sqrt(np.clip(1.0 - run / length, 0.0, 1.0)) + 0.02)


def _registration(a: SawnLeaf, b: SawnLeaf) -> tuple[float, float, float]:
    """(slide, across, rotate) that lay B's mirrored picture where it grew on A.

    A registration lays bounding boxes together, middles across and end 1 along, turns about the middle of A's
    box, then shifts. B's picture turned by t in its own mirrored frame turns by -t on A.
    """
    rotate = -b.stand.rotate_deg - a.stand.rotate_deg

    def on_a(x: float, y: float) -> Array:
        u, z = b.to_billet("sawn", np.array(x), np.array(y))
        return np.array(a.from_billet("sawn", u, z))

    middle = np.array([a.width_mm / 2, a.length_mm / 2])
    # the place of B that its mirrored box lays on A's middle is the one the turn leaves alone
    lands = on_a(b.width_mm / 2, a.length_mm / 2)
    across, slide = (lands - middle).tolist()
    return slide, across, rotate


def face(
    leaf: SawnLeaf,
    side: Side = "sawn",
    px_per_mm: float = 4.0,
    *,
    lamp: Lamp = "diffuse",
    noise: float = 1.2,
    blur_mm: float = 0.0,
    contrast: float = 1.0,
    bench: tuple[int, int, int] = (40, 42, 46),
    field_step_mm: float = 4.0,
    turned: bool = False,
) -> FaceTruth:
    """A face's picture in the leaf frame, with its truth.

    Args:
        lamp: where the light comes from: an end shows the runout, "diffuse" doesn't.
        noise: grey levels of sensor noise. blur_mm: sigma. contrast: multiplies the rings' own.
        bench: colour beyond the wood. turned: the picture lies half a turn round (end 2 at the top).
    """
    if turned:
        leaf = leaf.half_turn()
    outline = silhouette_on(leaf, side)
    flaws = flaws_on(leaf, side, outline)
    holes = tuple(flaw.outline_mm for flaw in flaws if flaw.kind == "hole")
    rgb, wood, bare = face_picture(
        leaf, side, px_per_mm, outline, holes, lamp, noise, blur_mm, contrast, bench
    )
    return FaceTruth(
        leaf=leaf,
        side=side,
        rgb=rgb,
        wood=wood,
        bare=bare,
        px_per_mm=px_per_mm,
        outline_mm=outline,
        holes_mm=holes,
        flaws=flaws,
        field=_field(leaf, side, field_step_mm, outline, flaws),
        length_mm=leaf.length_mm,
        width_end1_mm=leaf.width_end1_mm,
        width_end2_mm=leaf.width_end2_mm,
        thickness_mm=leaf.thickness_mm,
    )


def _field(
    leaf: SawnLeaf, side: Side, step_mm: float, outline: Points, flaws: tuple[Flaw, ...]
) -> GrainField:
    """Truth on a grid; NaN off the wood and inside knots, holes and wane, where there are no ring lines."""
    x = np.arange(step_mm / 2, leaf.width_mm, step_mm)
    y = np.arange(step_mm / 2, leaf.length_mm, step_mm)
    across, along = np.meshgrid(x, y)
    on = shapely.contains_xy(shapely.make_valid(shapely.Polygon(outline)), across, along)
    lines = on.copy()
    for flaw in flaws:
        if flaw.kind in ("knot", "hole", "wane", "pitch"):
            lines &= ~shapely.contains_xy(shapely.make_valid(shapely.Polygon(flaw.outline_mm)), across, along)
    return GrainField(
        x,
        y,
        np.where(lines, leaf.direction_deg(side, across, along), np.nan),
        np.where(lines, leaf.spacing_mm(side, across, along), np.nan),
        np.where(on, np.where(lines, 1.0, 0.0), np.nan),
    )


def end(leaf: SawnLeaf, which: Literal[1, 2], px_per_mm: float = 12.0, *, noise: float = 2.0) -> EndTruth:
    """An end's picture, sawn face uppermost, as seen from outside; with the ring-to-face angle along x."""
    rgb, wood, bare, outline = end_picture(leaf, which, px_per_mm, noise)
    x = np.arange(1.0, leaf.width_mm, 2.0)
    y = np.full_like(x, 0.5 if which == 1 else leaf.length_mm - 0.5)
    middle = (leaf.sawn_v_mm + leaf.other_v_mm) / 2
    u, z = leaf.to_billet("sawn", x, y)

    def radius(du: float, dv: float) -> Array:
        return leaf.log.radius(*leaf.to_log(u + du, np.full_like(u, middle + dv), z))

    step = 0.01
    in_u = (radius(step, 0) - radius(-step, 0)) / (2 * step)
    in_v = (radius(0, step) - radius(0, -step)) / (2 * step)
    angle = np.degrees(np.arctan2(np.abs(in_u), np.abs(in_v)))
    return EndTruth(leaf, which, rgb, wood, bare, px_per_mm, x, angle, which == 1, outline)
