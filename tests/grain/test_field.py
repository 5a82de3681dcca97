"""Direction and spacing on rendered leaves whose truth is known: the fixed table of cases, never tuned on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import cv2
import numpy as np
import pytest

from seamlight.demo import cases
from seamlight.demo.truth import FaceTruth
from seamlight.grain.assemble import mean_angle_deg, sound_places, write_field
from seamlight.grain.field import GrainField
from seamlight.grain.field_survey import grain_field

GOAL = 0.02
NEAR_KNOT_MM = (12.0, 30.0)  # across and along beyond a knot's box: there its grain still bends


@dataclass(frozen=True, eq=False)
class Errors:
    """What was read less what is true, away from knots."""

    angle_deg: np.ndarray
    mean_angle_deg: float
    spacing: np.ndarray  # as a share, NaN where unread
    third: np.ndarray


@lru_cache(maxsize=32)
def field_of(name: str) -> GrainField:
    return grain_field(cases.face_of(name).as_flat())


def away_from_flaws(face: FaceTruth, field: GrainField) -> np.ndarray:
    x, y = np.meshgrid(field.x_mm, field.y_mm)
    inner = cv2.erode(face.wood.astype(np.uint8), np.ones((5, 5)), borderValue=0) > 0
    away = inner[np.ix_((field.y_mm * face.px_per_mm).astype(int), (field.x_mm * face.px_per_mm).astype(int))]
    for flaw in face.flaws:
        low, high = flaw.outline_mm.min(axis=0), flaw.outline_mm.max(axis=0)
        wide, tall = NEAR_KNOT_MM if flaw.kind in ("knot", "hole") else (3.0, 3.0)
        inside = (x > low[0] - wide) & (x < high[0] + wide) & (y > low[1] - tall) & (y < high[1] + tall)
        away = away & ~inside
    return away


@lru_cache(maxsize=32)
def errors_of(name: str) -> Errors:
    face, field = cases.face_of(name), field_of(name)
    x, y = np.meshgrid(field.x_mm, field.y_mm)
    away = away_from_flaws(face, field)
    mean = mean_angle_deg(field, sound_places(field, face.flaws))
    assert mean is not None
    third = np.minimum((3 * x / face.width_mm).astype(int), 2)
    return Errors(
        (field.angle_deg - face.direction_deg(x, y))[away],
        mean - face.mean_angle_deg,
        (field.spacing_mm / face.spacing_mm(x, y) - 1)[away],
        third[away],
    )


@pytest.mark.parametrize("name", [case.name for case in cases.WOOD_CASES])
def test_direction_is_within_a_tenth_of_a_degree(name: str) -> None:
    errors = errors_of(name)
    assert np.isfinite(errors.angle_deg).all()
    assert np.median(np.abs(errors.angle_deg)) <= 0.1
    assert np.quantile(np.abs(errors.angle_deg), 0.95) <= 0.3
    assert abs(errors.mean_angle_deg) <= 0.05


@pytest.mark.parametrize("name", [case.name for case in cases.WOOD_CASES])
def test_spacing_is_within_two_per_cent(name: str) -> None:
    errors = errors_of(name)
    read = np.isfinite(errors.spacing)
    assert read.mean() > 0.8
    assert np.median(np.abs(errors.spacing[read])) <= GOAL
    for third in range(3):
        assert abs(errors.spacing[read & (errors.third == third)].mean()) <= GOAL


def test_grid_is_fine_and_covers_the_leaf() -> None:
    face, field = cases.face_of("cedar plain"), field_of("cedar plain")
    assert np.diff(field.x_mm).max() <= 5
    assert np.diff(field.y_mm).max() <= 5
    assert field.angle_deg.shape == field.coherence.shape == (len(field.y_mm), len(field.x_mm))
    assert field.x_mm[-1] > face.width_mm - 5
    assert field.y_mm[-1] > face.length_mm - 5


def test_coherence_is_low_on_knots() -> None:
    face, field = cases.face_of("cedar knots"), field_of("cedar knots")
    x, y = np.meshgrid(field.x_mm, field.y_mm)
    clear = np.median(field.coherence[away_from_flaws(face, field)])
    for flaw in face.flaws:
        if flaw.kind == "knot" and np.ptp(flaw.outline_mm[:, 0]) > 5:
            middle = flaw.outline_mm.mean(axis=0)
            at = np.argmin((x - middle[0]) ** 2 + (y - middle[1]) ** 2)
            assert field.coherence.flat[at] < 0.6 * clear


def test_streaks_and_saw_marks_change_nothing() -> None:
    """The truth of a leaf with the heaviest marks is met as well as that of one with none."""
    assert np.quantile(np.abs(errors_of("cedar streaked").angle_deg), 0.95) < 0.15


def test_no_figure_gives_no_direction_and_no_spacing() -> None:
    flat = cases.face_of("cedar plain").as_flat()
    dice = np.random.default_rng(5)
    blank = replace(flat, rgb=dice.normal(140, 6, flat.rgb.shape).clip(0, 255).astype(np.uint8))
    field = grain_field(blank)
    assert mean_angle_deg(field, sound_places(field, ())) is None
    assert np.isfinite(field.spacing_mm).mean() < 0.05


def test_off_the_wood_there_is_nothing() -> None:
    flat = cases.face_of("cedar plain").as_flat()
    wood = flat.wood.copy()
    wood[:, 500:] = False
    field = grain_field(replace(flat, wood=wood))
    off = field.x_mm > 500 / flat.px_per_mm + 2
    assert np.isnan(field.angle_deg[:, off]).all()
    assert np.isnan(field.spacing_mm[:, off]).all()
    # the cut edge does not pull the direction at the wood beside it
    beside = (field.x_mm < 498 / flat.px_per_mm) & (field.x_mm > 490 / flat.px_per_mm)
    face = cases.face_of("cedar plain")
    x, y = np.meshgrid(field.x_mm[beside], field.y_mm)
    assert np.median(np.abs(field.angle_deg[:, beside] - face.direction_deg(x, y))) < 0.1


@pytest.mark.parametrize("size", [(2, 2), (9, 40), (40, 9)])
def test_a_tiny_leaf_is_read_without_a_fault(size: tuple[int, int]) -> None:
    flat = cases.face_of("cedar plain").as_flat()
    high, wide = size
    small = replace(flat, rgb=flat.rgb[:high, :wide].copy(), wood=np.ones(size, bool))
    field = grain_field(small)
    assert field.angle_deg.shape == (len(field.y_mm), len(field.x_mm))


def test_written_field_has_the_contract_names(tmp_path) -> None:
    field = field_of("cedar plain")
    write_field(tmp_path / "field.part", field)
    kept = np.load(tmp_path / "field.part")
    assert set(kept) == {"x_mm", "y_mm", "angle_deg", "spacing_mm", "coherence"}
    np.testing.assert_array_equal(kept["angle_deg"], field.angle_deg)
