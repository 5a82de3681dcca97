"""Elastic figures of species against the USDA Wood Handbook, as collected beside the shared data.

FPL-GTR-282 (2021) and FPL-GTR-190 (2010), Tables 5-1, 5-2, 5-3a, Eq. 5-3 with its worked example; fact
sheets of the
Forest Products Laboratory. Values the collection has from memory are marked so here too.
"""

import json
from pathlib import Path

import pytest

from seamlight.plate.meaning import radiation_coefficient
from seamlight.timber.elastic import elastic_facts, elastic_ratios
from seamlight.timber.moisture import property_ratio, stiffness_ratio

STANDING = {"A": "read", "B": "transcribed", "M": "from memory"}
TABLED = {
    "Sitka spruce": "Sitka spruce (metric Table 5-3a)",
    "Engelmann spruce": "Engelmann spruce",
    "red spruce": "Red spruce",
    "western redcedar": "Western redcedar",
    "redwood": "Redwood, old-growth",
    "Douglas-fir": "Douglas-fir, coast",
    "sugar maple": "Sugar maple",
    "bigleaf maple": "Bigleaf maple",
    "black walnut": "Black walnut",
    "black cherry": "Black cherry",
}


@pytest.fixture(scope="module")
def topics(shared_data: Path) -> dict:
    return json.loads((shared_data.parent / "check-values.json").read_text(encoding="utf-8"))["topics"]


@pytest.mark.parametrize(("name", "row"), TABLED.items())
def test_density_and_stiffness(topics: dict, name: str, row: str) -> None:
    facts, there = elastic_facts(name), topics["mechanical"]["species"][row]
    assert facts.bending_e_mpa is not None
    assert facts.density_kg_m3 is not None
    assert facts.bending_e_green_mpa is not None
    assert facts.bending_e_mpa.value == pytest.approx(1000 * there["MOE12_GPa"])
    assert facts.bending_e_green_mpa.value == pytest.approx(1000 * there["MOE_green_GPa"])
    assert facts.density_kg_m3.value == pytest.approx(1120 * there["SG12"], abs=0.6)
    assert facts.bending_e_mpa.standing == STANDING[there["status"]]


def test_ratios(topics: dict) -> None:
    for name, row in (
        ("Sitka spruce", "Sitka spruce"),
        ("sugar maple", "Sugar maple"),
        ("Douglas-fir", "Douglas-fir"),
    ):
        ours, there = elastic_ratios(name), topics["elastic_ratios_table_5_1"][row]
        assert (ours.e_radial, ours.e_tangential) == (there["ER_EL"], there["ET_EL"])
        assert (ours.g_lr, ours.g_lt) == (there["GLR_EL"], there["GLT_EL"])
        nu = topics["poisson_table_5_2"][row]
        assert (ours.nu_lr, ours.nu_lt) == (nu["LR"], nu["LT"])
    borrowed = elastic_ratios("sapele")
    assert borrowed.of == "sugar maple"


def test_the_worked_example_of_moisture(topics: dict) -> None:
    told = topics["mechanical"]["eq_5_3"]["worked_example"]
    found = told["P12_kPa"] * property_ratio(told["P12_kPa"], told["Pg_kPa"], told["M"], told["Mp"])
    assert found == pytest.approx(told["recomputed_kPa"], rel=1e-5)
    assert found == pytest.approx(told["printed_kPa"], rel=1e-3)


def test_trends_of_moisture_off_the_table() -> None:
    # Table 5-13 (from memory): across the grain +20 % at 6 %, -23 % at 20 %, beside 12 %
    assert stiffness_ratio("across", 12, 6, None) == pytest.approx(1.20)
    assert stiffness_ratio("across", 12, 20, None) == pytest.approx(0.77)
    assert stiffness_ratio("shear", 12, 20, None) == pytest.approx(0.80)


def test_radiation_coefficients_of_handbook_averages(topics: dict) -> None:
    values = topics["tonewood"]["radiation_coefficient_from_handbook"]["values"]
    for name, key in (
        ("Sitka spruce", "Sitka (0.36, 9.9)"),
        ("Engelmann spruce", "Engelmann"),
        ("sugar maple", "Sugar maple"),
    ):
        facts = elastic_facts(name)
        assert facts.bending_e_mpa is not None
        assert facts.density_kg_m3 is not None
        found = radiation_coefficient(facts.bending_e_mpa.value, facts.density_kg_m3.value)
        assert found == pytest.approx(values[key], abs=0.02)
