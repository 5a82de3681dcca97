"""Photographs of sawn wood: a phone over a bench, a scanner, an end close up, a pair lit from either end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from seamlight.demo import saw
from seamlight.demo.bench import Lying, bare_bench, bench_colour, lay, light_up, sensor, shade
from seamlight.demo.lens import Phone, stand
from seamlight.demo.noise import stream
from seamlight.demo.saw import SawnPair
from seamlight.demo.shot import SheetAt, Shot
from seamlight.demo.truth import EndTruth, FaceTruth
from seamlight.photo.target import Paper, TargetSheet, sheet_picture, target_sheet
from seamlight.units import MM_PER_INCH

Array = NDArray[np.float64]
__all__ = ["SheetAt", "Shot", "photograph", "photograph_end", "photograph_pair", "raking_pair", "scan"]

SHEET_PX_PER_MM = 8.0


def photograph(
    face: FaceTruth,
    seed: int,
    *,
    megapixels: float = 12.0,
    tilt_deg: float = 8.0,
    toward_deg: float | None = None,
    turn_deg: float | None = None,
    focal_35mm: float = 26.0,
    distortion: float = 0.0,
    lift_mm: float | None = None,
    targets: int | Sequence[SheetAt] = 2,
    paper: Paper = "a4",
    print_scale: float = 1.0,
    bench: str | tuple[int, int, int] = "dark",
    lamp: str = "daylight",
    exposure: float = 1.0,
    noise: float = 2.0,
    blur_px: float = 0.6,
    margin: float = 0.03,
    shadow: float = 0.5,
) -> Shot:
    """One leaf on the bench with its target sheets.

    Args:
        tilt_deg: of the phone from straight above; toward_deg: which way, random if None.
        turn_deg: turn of everything in the picture, random within 4 if None. -90: the leaf lies
            across, and a quarter turn clockwise, as a reader gives it, brings end 1 to the top; 90: end 2.
        distortion: share of the half diagonal by which a corner moves out (+) or in (-).
        lift_mm: height of the face above the sheets; the leaf's thickness if None.
        targets: how many sheets, or where. print_scale: 0.97 for a printer that shrinks.
        bench: a name of `demo.bench.BENCHES` or a colour. lamp: a name of `demo.bench.LAMPS`.
    """
    dice = stream(seed, "photograph")
    lift = face.thickness_mm if lift_mm is None else lift_mm
    leaf = _lying(face, (0.0, 0.0), float(dice.uniform(-2.0, 2.0)), lift)
    sheets = (
        _around(dice, targets, (face.width_mm, face.length_mm), paper, print_scale)
        if isinstance(targets, int)
        else tuple(targets)
    )
    view = _View(
        megapixels,
        tilt_deg,
        toward_deg,
        turn_deg,
        focal_35mm,
        distortion,
        bench,
        lamp,
        exposure,
        noise,
        blur_px,
        margin,
    )
    return _take(dice, (leaf,), sheets, view, shadow)


def photograph_pair(
    a: FaceTruth,
    b: FaceTruth,
    seed: int,
    *,
    gap_mm: float = 0.5,
    megapixels: float = 12.0,
    tilt_deg: float = 6.0,
    toward_deg: float | None = None,
    turn_deg: float | None = None,
    focal_35mm: float = 26.0,
    distortion: float = 0.0,
    targets: int | Sequence[SheetAt] = 1,
    bench: str | tuple[int, int, int] = "dark",
    lamp: str = "daylight",
    exposure: float = 1.0,
    noise: float = 2.0,
    blur_px: float = 0.6,
    margin: float = 0.03,
    shadow: float = 0.5,
) -> Shot:
    """The opened pair in one picture: the left leaf is A, its right edge at B's left."""
    dice = stream(seed, "photograph pair")
    wide = a.width_mm + b.width_mm + gap_mm
    # each leaf turned by half its taper, so that the edges that will be joined lie along each other
    lean_a, lean_b = (
        float(np.degrees(np.arctan((one.width_end1_mm - one.width_end2_mm) / 2 / one.length_mm)))
        for one in (a, b)
    )
    left = _joined(a, -gap_mm / 2, -lean_a, 1.0)
    right = _joined(b, gap_mm / 2, lean_b, -1.0)
    sheets = (
        _around(dice, targets, (wide, max(a.length_mm, b.length_mm)), "a4", 1.0)
        if isinstance(targets, int)
        else tuple(targets)
    )
    view = _View(
        megapixels,
        tilt_deg,
        toward_deg,
        turn_deg,
        focal_35mm,
        distortion,
        bench,
        lamp,
        exposure,
        noise,
        blur_px,
        margin,
    )
    return _take(dice, (left, right), sheets, view, shadow)


def raking_pair(
    pair: SawnPair, seed: int, *, px_per_mm: float = 4.0, megapixels: float = 8.0, moved: bool = True
) -> tuple[Shot, Shot]:
    """The opened pair lit from end 1, then from end 2; the phone not quite in the same place if `moved`."""
    shots = []
    lamps: tuple[saw.Lamp, saw.Lamp] = ("end 1", "end 2")
    for i, lamp in enumerate(lamps):
        a, b = (saw.face(leaf, "sawn", px_per_mm, lamp=lamp) for leaf in (pair.a, pair.b))
        shots.append(
            photograph_pair(a, b, seed + (i if moved else 0), targets=0, megapixels=megapixels, lamp="even")
        )
    return shots[0], shots[1]


def photograph_end(
    end: EndTruth, seed: int, *, megapixels: float = 8.0, bench: str = "black", turn_deg: float | None = None
) -> Shot:
    """An end close up, the sawn face uppermost; lengths are mm in the end's own picture."""
    dice = stream(seed, "end photograph")
    tall, wide = (side / end.px_per_mm for side in end.rgb.shape[:2])
    strip = Lying(
        end.bare,
        end.px_per_mm,
        end.outline_mm,
        (),
        _turn(float(dice.uniform(-1.5, 1.5))),
        np.array([-wide / 2, -tall / 2]),
        0.0,
    )
    view = _View(megapixels, 3.0, None, turn_deg, 50.0, 0.0, bench, "daylight", 1.0, 2.0, 0.6, 0.04)
    return _take(dice, (strip,), (), view, 0.0, portrait=False)


def scan(
    face: FaceTruth,
    seed: int,
    *,
    dpi: float = 300.0,
    lid: str = "white",
    noise: float = 1.5,
    skew_deg: float = 0.4,
) -> Shot:
    """A flat-bed scan at a known dpi: no perspective, the lid behind, a little skew."""
    dice = stream(seed, "scan")
    scale = dpi / MM_PER_INCH
    turn = _turn(skew_deg)
    shift = np.array([max(0.0, -turn[0, 1] * face.length_mm), max(0.0, -turn[1, 0] * face.width_mm)])
    shift = shift + dice.uniform(12.0, 25.0, 2)
    thing = Lying(face.bare, face.px_per_mm, face.outline_mm, face.holes_mm, turn, shift, 0.0)
    size = thing.to_bench(face.outline_mm).max(axis=0) + 15.0
    rows, cols = int(size[1] * scale), int(size[0] * scale)
    # a camera at a great height over the middle is a scanner
    high = 1e7
    middle = np.array([cols / 2 / scale, rows / 2 / scale])
    phone = Phone(rows, cols, scale * high, np.eye(3), np.array([*middle, -high]), 0.0)
    picture = bare_bench(phone, dice, bench_colour(lid))
    lay(picture, phone, thing)
    return Shot(sensor(picture, dice, noise, 0.0), phone, (thing,), (), 0.0, dpi=dpi)


@dataclass(frozen=True)
class _View:
    """How the picture is taken."""

    megapixels: float
    tilt_deg: float
    toward_deg: float | None
    turn_deg: float | None
    focal_35mm: float
    distortion: float
    bench: str | tuple[int, int, int]
    lamp: str
    exposure: float
    noise: float
    blur_px: float
    margin: float


def _take(
    dice: np.random.Generator,
    leaves: tuple[Lying, ...],
    sheets: tuple[SheetAt, ...],
    view: _View,
    shadow: float,
    portrait: bool | None = None,
) -> Shot:
    """Aim, draw, light and record."""
    papers = [_sheet(one) for one in sheets]
    things = [*leaves, *(paper for paper, _ in papers)]
    points = np.vstack([thing.to_bench(thing.outline_mm) for thing in things])
    toward = float(dice.uniform(0, 360)) if view.toward_deg is None else view.toward_deg
    turn = float(dice.uniform(-4, 4)) if view.turn_deg is None else view.turn_deg
    if portrait is None:
        wide, tall = (
            np.ptp(points, axis=0) if abs(np.sin(np.radians(turn))) < 0.7 else np.ptp(points, axis=0)[::-1]
        )
        portrait = bool(tall >= wide)
    phone = stand(
        points,
        view.megapixels,
        portrait,
        view.focal_35mm,
        view.tilt_deg,
        toward,
        turn,
        view.distortion,
        view.margin,
    )
    picture = bare_bench(phone, dice, bench_colour(view.bench))
    for paper, _ in papers:
        lay(picture, phone, paper)
    if shadow > 0:
        shade(picture, phone, list(leaves), 12.0, shadow)
    for leaf in leaves:
        lay(picture, phone, leaf)
    picture = sensor(light_up(picture, dice, view.lamp, view.exposure), dice, view.noise, view.blur_px)
    tags = {
        tag.id: phone.to_px(paper.to_bench(tag.corners_mm)) for paper, sheet in papers for tag in sheet.tags
    }
    return Shot(picture, phone, leaves, sheets, view.focal_35mm, None, tags)


def _turn(degrees: float) -> Array:
    """(2, 2): positive turns clockwise in the picture (y down)."""
    angle = np.radians(degrees)
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def _lying(face: FaceTruth, middle_mm: tuple[float, float], turn_deg: float, lift_mm: float) -> Lying:
    turn = _turn(turn_deg)
    own = np.array([face.width_mm / 2, face.length_mm / 2])
    return Lying(
        face.bare, face.px_per_mm, face.outline_mm, face.holes_mm, turn,
        np.array(middle_mm) - turn @ own, lift_mm,
    )  # fmt: skip


def _joined(face: FaceTruth, edge_mm: float, turn_deg: float, edge: float) -> Lying:
    """A leaf turned so that its right (edge 1) or left (-1) long edge lies along x = edge_mm."""
    lying = _lying(face, (0.0, 0.0), turn_deg, face.thickness_mm)
    mean_mm = (face.width_end1_mm + face.width_end2_mm) / 2
    own = np.array([[face.width_mm / 2 + edge * mean_mm / 2, face.length_mm / 2]])
    across = edge_mm - float(lying.to_bench(own)[0, 0])
    return replace(lying, shift_mm=lying.shift_mm + np.array([across, 0.0]))


def _sheet(at: SheetAt) -> tuple[Lying, TargetSheet]:
    """A printed sheet: what was drawn is scaled by the printer, the paper is not."""
    sheet = target_sheet(at.paper, at.number)
    gray = sheet_picture(sheet, SHEET_PX_PER_MM)
    ink = 28.0 + gray.astype(np.float32) * ((246.0 - 28.0) / 255.0)
    rgb = np.asarray(cv2.merge([ink, ink, ink * 0.985]).astype(np.uint8), dtype=np.uint8)
    paper = np.array([[0, 0], [sheet.width_mm, 0], [sheet.width_mm, sheet.height_mm], [0, sheet.height_mm]])
    turn = _turn(at.turn_deg) * at.print_scale
    middle = np.array([sheet.width_mm / 2, sheet.height_mm / 2])
    return (
        Lying(
            rgb, SHEET_PX_PER_MM, paper.astype(np.float64), (), turn,
            np.array([at.x_mm, at.y_mm]) - turn @ middle, 0.0,
        ),
        sheet,
    )  # fmt: skip


def _around(
    dice: np.random.Generator, count: int, leaf_mm: tuple[float, float], paper: Paper, print_scale: float
) -> tuple[SheetAt, ...]:
    """Sheets beside the leaf, on either side in turn, each a little askew."""
    wide, tall = leaf_mm
    out = 108.0 + wide / 2
    places = [(-out, -tall / 4), (out, tall / 4), (out, -tall / 4), (-out, tall / 4)]
    if dice.integers(2):
        places = [(-x, y) for x, y in places]
    return tuple(
        SheetAt(
            x + float(np.sign(x)) * float(dice.uniform(36, 50)),
            y + float(dice.uniform(-25, 25)),
            float(dice.uniform(-6, 6)) + float(dice.choice([0.0, 180.0])),
            number,
            paper,
            print_scale,
        )
        for number, (x, y) in enumerate(places[:count], start=1)
    )
