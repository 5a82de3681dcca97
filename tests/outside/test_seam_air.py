"""Wood's moisture in air, against the USDA Wood Handbook as collected beside the shared data.

FPL-GTR-190 (2010), Table 4-2 (read); FPL-GTR-282 (2021), Eq. 4-5 (transcribed); the inch-pound constants of
the same equation (from memory, consistent with the table).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from seamlight.timber import species
from seamlight.timber.air import judge_air
from seamlight.timber.moisture import emc_pct, rh_for_emc_pct
from seamlight.timber.movement import movement_across, width_change_mm


@pytest.fixture(scope="module")
def topics(shared_data: Path) -> dict[str, Any]:
    return json.loads((shared_data.parent / "check-values.json").read_text(encoding="utf-8"))["topics"]


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def test_the_table_of_the_handbook(topics: dict[str, Any]) -> None:
    table = topics["emc"]["table_4_2"]
    checked = 0
    for degrees_f, row in table["rows_by_degF"].items():
        if celsius(float(degrees_f)) > 60:
            continue  # hotter than any shop: refused
        for rh, printed in zip(table["rh_percent"], row, strict=True):
            assert emc_pct(celsius(float(degrees_f)), rh) == pytest.approx(printed, abs=0.056)
            checked += 1
    assert checked >= 200


def test_values_computed_elsewhere(topics: dict[str, Any]) -> None:
    tests = topics["emc"]["unit_tests"]
    for key, value in tests.items():
        if key.startswith("C_"):
            _, temp_c, rh = key.split("_")
            assert emc_pct(float(temp_c), float(rh)) == pytest.approx(value, abs=1e-4)
    for mc, fraction in tests["RH_for_EMC_at_20C"].items():
        assert rh_for_emc_pct(20, float(mc)) == pytest.approx(100 * fraction, abs=0.01)


def test_the_same_equation_in_fahrenheit(topics: dict[str, Any]) -> None:
    constants = topics["emc"]["equation_fahrenheit"]
    for degrees_f in (40, 60, 70, 85, 100):
        w, k, k1, k2 = (np.polyval(constants[name][::-1], degrees_f) for name in ("W", "K", "K1", "K2"))
        for rh in (20, 45, 65, 80):
            kh = k * rh / 100
            there = (
                1800 / w * (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2))
            )
            assert emc_pct(celsius(degrees_f), rh) == pytest.approx(there, abs=0.1)


def test_movement_of_the_handbook(topics: dict[str, Any]) -> None:
    worked = topics["dimensional_change"]["examples_computed"]
    assert worked  # white fir and Sitka spruce, by Eq. 13-2
    sitka = species("Sitka spruce")
    assert width_change_mm(400, sitka, 90, 8, 11) == pytest.approx(1.776, abs=1e-3)
    assert width_change_mm(200, sitka, 90, 8, 11) == pytest.approx(0.888, abs=1e-3)
    assert width_change_mm(400, sitka, 0, 8, 11) == pytest.approx(3.156, abs=1e-3)


# computed by the same equations, for a top of 381 mm of Sitka spruce at 70 F (trade's notes)
@pytest.mark.parametrize(
    ("rh", "to_rh", "moves_mm"),
    [(45, 30, -1.3), (45, 20, -2.2), (60, 30, -2.7), (70, 25, -4.4), (45, 60, 1.4), (67, 45, -2.2)],
)
def test_what_a_top_does_when_the_air_changes(rh: float, to_rh: float, moves_mm: float) -> None:
    air = judge_air(celsius(70), rh, to_rh_pct=to_rh, width_mm=381, species_name="Sitka spruce")
    assert air.movement_mm == pytest.approx(moves_mm, abs=0.06)


def test_a_cut_between_quarter_and_flat_lies_between(topics: dict[str, Any]) -> None:
    table = topics["dimensional_change"]["species"]
    maple = species("sugar maple")
    across = [movement_across(maple, angle) for angle in (90, 60, 45, 30, 0)]
    values = [figure.value for figure in across if figure is not None]
    assert values == sorted(values)
    assert values[0] == table["Sugar maple"]["C_R"]
    assert values[-1] == table["Sugar maple"]["C_T"]
    assert values[2] == pytest.approx((values[0] + values[-1]) / 2)
