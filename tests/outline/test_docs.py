"""The examples in docs/outlines.md do what the page says."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from drawn import HALF, dxf, polyline

from seamlight.outline import half_width_at, load, names, widths
from seamlight.outline.measures_file import FIELDS
from seamlight.outline.zones_said import FIELDS as ZONE_FIELDS

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "outlines.md").read_text(encoding="utf-8")
DRAWING, MEASURES = re.findall(r"```json\n(.*?)```", PAGE, flags=re.DOTALL)


def test_the_measures_file_of_the_page(tmp_path: Path) -> None:
    path = tmp_path / "my-body.json"
    path.write_text(MEASURES, encoding="utf-8")
    outline = load(path)
    assert outline.name == "harbour parlour"
    assert outline.half_mm[-1, 1] == pytest.approx(18.25 * 25.4)
    assert widths(outline) == pytest.approx((241, 194, 13.25 * 25.4), abs=1e-6)
    assert outline.warnings == ()
    at = np.array([50.0])
    assert half_width_at(outline, at)[0] < 40 < half_width_at(outline, at, "left")[0]
    assert outline.zones.bridge_y_mm == pytest.approx(24.9 * 25.4 / 2 + 3)


def test_the_drawing_with_zones_of_the_page(tmp_path: Path) -> None:
    dxf(tmp_path / "my-body.dxf", polyline(HALF))
    path = tmp_path / "my-body.json"
    path.write_text(DRAWING, encoding="utf-8")
    outline = load(path)
    assert (outline.zones.soundhole_mm, outline.zones.soundhole_y_mm) == (98, 152)
    assert outline.zones.bridge_y_mm == pytest.approx(645.16 * 2 ** (-14 / 12) + 3)


def test_every_size_and_field_is_on_the_page() -> None:
    for name in (*names(), *FIELDS, *ZONE_FIELDS):
        assert f"`{name}`" in PAGE or f'"{name}"' in PAGE, name
    assert set(json.loads(MEASURES)) | {"drawing", "drawing unit"} == set(FIELDS)
