"""Timber figures against the USDA Wood Handbook and fact sheets, as collected beside the shared data.

FPL-GTR-190 (2010) Tables 4-3, 4-4 and 13-5 and Eq. 13-2 with its worked example; FPL-GTR-282 (2021) as
transcribed; Forest Products Laboratory fact sheets. Only figures that were read or transcribed are checked.
"""

import json
from pathlib import Path

import pytest

from seamlight.timber import Figure, degrees_of_slope, movement_mm, species, species_names

# Plain name here -> name of the row there, where it is more than a capital
ROWS = {
    "redwood": "Redwood, old-growth",
    "Douglas-fir": "Douglas-fir, coast",
    "Indian rosewood": "Rosewood, Indian (Dalbergia latifolia)",
    "mahogany": "Mahogany, true (Swietenia macrophylla)",
}


def collected(shared_data: Path) -> dict:
    return json.loads((shared_data.parent / "check-values.json").read_text(encoding="utf-8"))["topics"]


def test_shrinkage_and_movement(shared_data: Path) -> None:
    topics, checked = collected(shared_data), 0
    for name in species_names():
        one, row = species(name), ROWS.get(name, name[0].upper() + name[1:])
        for table, key, figure in (
            ("shrinkage", "R", one.shrinkage_radial_pct),
            ("shrinkage", "T", one.shrinkage_tangential_pct),
            ("dimensional_change", "C_R", one.movement_radial),
            ("dimensional_change", "C_T", one.movement_tangential),
        ):
            there = topics[table]["species"].get(row)
            if figure is not None and there is not None and there["status"] in ("A", "B"):
                assert figure.value == there[key]
                assert figure.standing == {"A": "read", "B": "transcribed"}[there["status"]]
                checked += 1
    assert checked >= 30


def test_basic_density(shared_data: Path) -> None:
    tables = collected(shared_data)["mechanical"]
    checked = 0
    for name in species_names():
        density = species(name).basic_density_kg_m3
        if density is None or density.standing == "from memory":
            continue
        wood = tables["species"].get(ROWS.get(name, name[0].upper() + name[1:]))
        gravity = (
            wood["SG_green"]
            if wood
            else tables["imported_read"][{"Indian rosewood": "Rosewood, Indian", "sapele": "Sapele"}[name]][
                "SG_basic"
            ]
        )
        assert density.value == pytest.approx(1000 * gravity)
        checked += 1
    assert checked >= 7


def test_the_worked_example_of_movement() -> None:
    # Wood Handbook FPL-GTR-190, chapter 13: white fir, flatsawn, 232 mm, 8 -> 11 %, C_T 0.00245: +1.7 mm
    assert movement_mm(232, Figure(0.00245, "read", "Table 13-5"), 8, 11) == pytest.approx(1.7, abs=0.05)


def test_slope_of_grain_in_degrees(shared_data: Path) -> None:
    for slope, angle_deg in collected(shared_data)["grain_angle"]["slope_to_degrees"].items():
        if ":" in slope:
            assert degrees_of_slope(float(slope.split(":")[1])) == pytest.approx(angle_deg, abs=0.001)
