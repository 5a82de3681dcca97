"""A chart's files: whole by themselves, in the pages' colours."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from seamlight.web.chart_files import ACCENT, ChartForm, chart_bytes, chart_file, new_chart


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
