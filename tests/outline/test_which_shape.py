"""The outline found among a drawing's other lines: axes, dimensions, borders, a second line inside."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from drawn import BODY, HALF, RING, dxf, polyline, svg, svg_path, turned
from hypothesis import given, settings
from hypothesis import strategies as st

from seamlight.mistake import Mistake
from seamlight.outline import Outline, half_width_at, load

PAGE = 'width="600mm" height="700mm" viewBox="-300 -80 600 700"'
AXIS = '<path d="M0,{top} L0,{bottom}" fill="none"/>'
HOLE = '<circle cx="0" cy="150" r="50" fill="none"/>'
BRIDGE = '<rect x="-90" y="330" width="180" height="32" fill="none"/>'


def assert_body(outline: Outline) -> None:
    y = np.linspace(4, 488, 80)
    assert outline.length_mm == pytest.approx(492, abs=0.05)
    assert half_width_at(outline, y) == pytest.approx(half_width_at(BODY, y), abs=0.1)


@pytest.mark.parametrize("over", [0.0, 0.5, 1.5, 8.0, 60.0])
@pytest.mark.parametrize("shape", [svg_path(RING, closed=True), svg_path(HALF)], ids=["whole", "half"])
def test_a_centre_line_longer_than_the_body_is_passed_over(tmp_path: Path, over: float, shape: str) -> None:
    axis = AXIS.format(top=-over, bottom=492 + over)
    assert_body(load(svg(tmp_path / "own.svg", shape + axis + HOLE + BRIDGE, PAGE)))


@settings(max_examples=15, deadline=None)
@given(
    angle=st.floats(0, 180),
    left=st.floats(5, 120),
    above=st.floats(5, 120),
    over=st.floats(-40, 80),
)
def test_a_border_an_axis_and_a_dimension_at_any_angle(
    tmp_path_factory: pytest.TempPathFactory, angle: float, left: float, above: float, over: float
) -> None:
    border = np.array([[-200 - left, -above], [200 + left, -above], [200 + left, 580], [-200 - left, 580]])
    measured = np.array([[210, 0], [260, 0], [260, 492], [210, 492]], dtype=float)
    axis = np.array([[0, -over], [0, 492 + over]])

    def draw(space: object) -> None:
        polyline(turned(RING, angle), closed=True)(space)
        polyline(turned(border, angle), closed=True)(space)
        polyline(turned(axis, angle))(space)
        polyline(turned(measured, angle))(space)

    assert_body(load(dxf(tmp_path_factory.mktemp("own") / "own.dxf", draw)))


def test_a_border_of_four_lines_with_a_block_in_its_corner(tmp_path: Path) -> None:
    def draw(space: object) -> None:
        polyline(RING, closed=True)(space)
        corners = np.array([[-260, -60], [260, -60], [260, 640], [-260, 640], [-260, -60]], dtype=float)
        for a, b in pairwise(corners):
            polyline(np.array([a, b]))(space)
        polyline(np.array([[100, 640], [100, 560], [260, 560]], dtype=float))(space)

    assert_body(load(dxf(tmp_path / "own.dxf", draw)))


def test_a_line_drawn_along_the_outline_is_said_with_its_distance(tmp_path: Path) -> None:
    inner = np.asarray(shapely.Polygon(RING).buffer(-2).exterior.coords)
    outline = load(svg(tmp_path / "own.svg", svg_path(RING, True) + svg_path(inner, True), PAGE))
    assert_body(outline)
    (told,) = [warning for warning in outline.warnings if "second line" in warning]
    assert "some 2 mm inside" in told


def test_a_box_alone_is_no_guitar(tmp_path: Path) -> None:
    box = np.array([[-190, 0], [190, 0], [190, 492], [-190, 492]], dtype=float)
    with pytest.raises(Mistake, match="no guitar's lower bout"):
        load(dxf(tmp_path / "own.dxf", polyline(box, closed=True)))
