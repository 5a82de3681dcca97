"""What is measured on an outline, checked by hand-made shapes."""

import numpy as np
import pytest
import shapely

from seamlight.mistake import Mistake
from seamlight.outline import (
    Outline,
    area_m2,
    for_back,
    half_perimeter_mm,
    half_width_at,
    named,
    names,
    polygon,
    scale_check,
    widths,
    zone_polygons,
)

ZONES = named("auditorium").zones
SQUARE = Outline("square", np.array([[0, 0], [100, 0], [100, 400], [0, 400]], dtype=float), ZONES)
# a horn that reaches up again beside its own hollow: x is 80, 40 and 60 at y = 100
HORN = Outline(
    "horn",
    np.array([[0, 0], [30, 0], [30, 150], [60, 50], [80, 100], [120, 300], [0, 400]], dtype=float),
    ZONES,
    left_half_mm=np.array([[0, 0], [30, 0], [90, 100], [120, 300], [0, 400]], dtype=float),
)


def test_half_width_of_a_square() -> None:
    assert half_width_at(SQUARE, np.array([-1, 0, 200, 400, 401.0])).tolist() == [0, 100, 100, 100, 0]


def test_half_width_takes_the_greatest_of_several_and_each_side_its_own() -> None:
    assert half_width_at(HORN, np.array([100.0]))[0] == pytest.approx(80)
    assert half_width_at(HORN, np.array([50.0]))[0] == pytest.approx(60)
    assert half_width_at(HORN, np.array([100.0]), "left")[0] == pytest.approx(90)


@pytest.mark.parametrize("name", names())
def test_half_width_agrees_with_shapely(name: str) -> None:
    outline = named(name)
    body = shapely.Polygon(polygon(outline))
    for y in np.linspace(1, outline.half_mm[-1, 1] - 1, 40):
        cut = body.intersection(shapely.LineString([(0, y), (400, y)]))
        assert half_width_at(outline, np.array([y]))[0] == pytest.approx(cut.length, abs=1e-9)


def test_perimeter_and_area_of_a_square() -> None:
    assert half_perimeter_mm(SQUARE) == 600
    assert area_m2(SQUARE) == pytest.approx(0.08)


def test_a_shape_without_a_waist_says_its_width_at_a_third() -> None:
    assert widths(SQUARE) == (200, 200, 200)


def test_a_cutaway_takes_no_bout_away() -> None:
    body = named("auditorium")
    cut = body.half_mm.copy()
    cut[:, 0] = np.where(cut[:, 1] < 80, np.minimum(cut[:, 0], 60), cut[:, 0])
    assert widths(Outline("cut", cut, ZONES, left_half_mm=body.half_mm)) == widths(body)


@pytest.mark.parametrize("name", names())
def test_the_body_is_one_valid_ring_and_its_zones_lie_inside(name: str) -> None:
    outline = named(name)
    body = shapely.Polygon(polygon(outline))
    assert body.is_valid
    zones = {zone: shapely.Polygon(ring) for zone, ring in zone_polygons(outline).items()}
    assert set(zones) == {"soundhole", "bridge", "fingerboard", "edge"}
    assert all(body.buffer(1e-9).covers(zone) for zone in zones.values())
    assert zones["edge"].boundary.distance(body.boundary) == pytest.approx(
        outline.zones.edge_band_mm, abs=0.01
    )
    assert not zones["soundhole"].intersects(zones["bridge"])
    assert not zones["soundhole"].intersects(zones["fingerboard"])


def test_the_bridge_stands_at_the_saddle() -> None:
    # 14-fret body, 25.4 inch scale: 287 mm and the compensation. Common practice, no source
    assert named("dreadnought").zones.bridge_y_mm == pytest.approx(287.4 + 3, abs=0.05)
    # 12-fret body: half the scale and the compensation
    assert named("classical").zones.bridge_y_mm == pytest.approx(325 + 2, abs=0.01)


def test_a_back_has_only_its_edge_band() -> None:
    back = for_back(named("jumbo"))
    assert set(zone_polygons(back)) == {"edge"}
    assert back.half_mm is named("jumbo").half_mm


def test_no_guitars_size_is_a_mistake_that_says_what_was_meant() -> None:
    huge = Outline("huge", named("large auditorium").half_mm * 1000, ZONES)
    with pytest.raises(Mistake, match="perhaps 508 mm"):
        scale_check(huge)
    scale_check(named("parlour"))


def test_a_back_is_seen_from_behind() -> None:
    back = for_back(HORN)
    assert back.left_half_mm is HORN.half_mm
    assert back.half_mm is HORN.left_half_mm
