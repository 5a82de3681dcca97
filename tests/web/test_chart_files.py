"""A chart's files: whole by themselves, in the pages' colours."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from seamlight.seam import Bench, glue_up
from seamlight.web.chart_files import ACCENT, ChartForm, chart_bytes, chart_file, new_chart
from seamlight.web.seam_clamps import clamp_plan


def _drawn(form: ChartForm) -> bytes:
    figure, axes = new_chart("T4: the gap", "from the neck end, mm", "gap, mm")
    axes.plot([0, 275, 550], [0.0, 0.1, 0.0], color=ACCENT)
    return chart_bytes(figure, form)


def test_an_svg_needs_nothing_beside_it() -> None:
    text = _drawn("svg").decode()
    root = ElementTree.fromstring(text)
    assert root.tag.endswith("svg")
    assert ACCENT in text
    addresses = [value for one in root.iter() for name, value in one.attrib.items() if name.endswith("href")]
    assert addresses
    assert all(address.startswith("#") for address in addresses)
    assert not root.findall(".//{http://www.w3.org/2000/svg}text")  # letters are outlines: no font is missed
    assert "var(" not in text


def test_a_png_is_large_enough_to_print() -> None:
    with Image.open(io.BytesIO(_drawn("png"))) as picture:
        assert picture.size == (1600, 800)
        rgb = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    accent = [int(ACCENT[i : i + 2], 16) for i in (1, 3, 5)]
    assert (np.abs(rgb.astype(int) - accent).max(axis=1) < 8).sum() > 500


@pytest.mark.parametrize("form", ["png", "svg"])
def test_a_file_is_named_whatever_letters_the_label_has(form: ChartForm) -> None:
    figure, _ = new_chart("x", "", "")
    sent = chart_file(figure, form, "Ö4 gap")
    assert sent.headers["content-disposition"] == (
        f"attachment; filename=\"_4 gap.{form}\"; filename*=UTF-8''%C3%964%20gap.{form}"
    )


def test_a_clamps_pressure_spreads_at_45_degrees_and_ends_with_the_leaf() -> None:
    glue = glue_up(Bench(width_mm=200.0), 550.0)
    plan = clamp_plan(glue, Bench(width_mm=200.0), 550.0, "mm")
    assert [clamp.over for clamp in plan.clamps] == [number % 2 == 1 for number in range(glue.clamps)]
    for clamp in plan.clamps:
        for cone in clamp.cones:
            x = np.array(cone)[:, 0]
            assert x.min() >= 0.0
            assert x.max() <= 550.0
            wide = abs(cone[0][1])
            slant = [(a, b) for a, b in cone[1:] if b != 0.0 or abs(a - clamp.at_mm) == pytest.approx(wide)]
            assert slant
            assert all(abs(a - clamp.at_mm) + abs(b) == pytest.approx(wide) for a, b in slant)
    # every place of the joint is reached
    reached = np.zeros(551, bool)
    for clamp in plan.clamps:
        on = [x for x, y in clamp.cones[0] if y == 0.0]
        reached[round(min(on)) : round(max(on)) + 1] = True
    assert reached.all()
