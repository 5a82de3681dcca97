"""The outline's plate: mesh, edges, shapes, stiffness."""

import numpy as np
import pytest

from seamlight.mistake import Mistake
from seamlight.outline import area_m2, for_back, named
from seamlight.plate.finite import assemble, spread_load
from seamlight.plate.outline_mesh import mesh
from seamlight.plate.outline_plate import first_hz_per_mm, outline_mesh, outline_plate
from seamlight.plate.stiffness import Elastic, bending
from seamlight.plate.triangle import displacement, mass, stiffness

BOARD = Elastic(11000, 858, 704, 0.372)
OUTLINE = named("auditorium")
GRID = outline_mesh(OUTLINE, 16.0)


def test_mesh_covers_the_outline_less_its_hole() -> None:
    hole = np.pi * (OUTLINE.zones.soundhole_mm / 2) ** 2
    assert GRID.area_mm2() == pytest.approx(area_m2(OUTLINE) * 1e6 - hole, rel=5e-3)
    sides = np.linalg.norm(GRID.corners - np.roll(GRID.corners, 1, axis=1), axis=2)
    assert sides.max() < 2 * 16
    assert sides.min() > 16 / 4
    assert len(np.unique(GRID.triangles)) == len(GRID.nodes_mm)


def test_an_element_bends_and_moves_as_it_should() -> None:
    corners = np.array([[[0, 0], [20, 3], [7, 15]]], dtype=float)
    matrix = stiffness(corners, np.array([[3.0, 0.5, 0], [0.5, 2.0, 0], [0, 0, 1.0]]))[0]
    x, y = corners[0].T
    zero, one = np.zeros(3), np.ones(3)
    for w, wx, wy in ((one, zero, zero), (x, one, zero), (y, zero, one)):  # moves without bending
        assert np.abs(matrix @ np.stack((w, wx, wy), 1).ravel()).max() < 1e-9
    area = 0.5 * abs(20 * 15 - 7 * 3)
    for shape, energy in (((x**2, 2 * x, zero), 12.0), ((x * y, y, x), 4.0)):  # constant curvature is exact
        unknowns = np.stack(shape, 1).ravel()
        assert unknowns @ matrix @ unknowns == pytest.approx(energy * area)
    moved = mass(corners)[0]
    lifted = np.stack((one, zero, zero), 1).ravel()
    assert lifted @ moved @ lifted == pytest.approx(area)
    tilted = np.stack((x, one, zero), 1).ravel()
    assert lifted @ moved @ tilted == pytest.approx(area * x.mean())
    middle = displacement(corners, np.array([1 / 3]), np.array([1 / 3]))[0, 0]
    assert middle @ tilted == pytest.approx(x.mean())


def test_a_load_is_shared_by_its_places() -> None:
    parts = assemble(GRID, bending(BOARD, 2.8))
    places = np.array([[0.0, 300.0], [20.0, 310.0], [0.0, -500.0]])
    load = spread_load(GRID, parts, places)
    assert load[0::3].sum() == pytest.approx(1)
    x, y = GRID.nodes_mm.T
    flat = np.stack((y, np.zeros_like(y), np.ones_like(y)), 1).ravel()
    assert load @ flat == pytest.approx(305)  # the place off the plate bears nothing
    askew = np.stack((x, np.ones_like(y), np.zeros_like(y)), 1).ravel()
    assert load @ askew == pytest.approx(10)


def test_edges_stiffen() -> None:
    free, hinged, clamped = (
        outline_plate(OUTLINE, BOARD, 400, 2.8, edge, modes=4, grid=GRID)  # type: ignore[arg-type]
        for edge in ("free", "hinged", "clamped")
    )
    assert hinged.hz[0] < clamped.hz[0]
    assert hinged.stiffness_n_mm is not None
    assert clamped.stiffness_n_mm is not None
    assert 1.5 * hinged.stiffness_n_mm < clamped.stiffness_n_mm
    assert free.stiffness_n_mm is None
    assert list(free.hz) == sorted(free.hz)
    assert free.hz[0] > 10  # the three moves without bending are left out
    for plate in (free, hinged, clamped):
        assert plate.shapes.shape == (4, len(GRID.nodes_mm))
        assert np.abs(plate.shapes).max(axis=1) == pytest.approx(1)
    assert np.abs(clamped.shapes[:, GRID.rim]).max() == 0
    assert np.abs(hinged.shapes[:, GRID.hole]).max() > 0.05


def test_thickness_scales() -> None:
    thin, thick = (outline_plate(OUTLINE, BOARD, 400, h, grid=GRID, modes=3) for h in (2.0, 3.0))
    np.testing.assert_allclose(np.array(thick.hz) / thin.hz, 1.5, rtol=1e-6)
    assert thin.stiffness_n_mm is not None
    assert thick.stiffness_n_mm == pytest.approx(3.375 * thin.stiffness_n_mm, rel=1e-6)
    assert first_hz_per_mm(thick, 3.0) == pytest.approx(first_hz_per_mm(thin, 2.0))
    assert thick.weight_g(400, 3.0) == pytest.approx(GRID.area_mm2() * 3 * 400e-6)


def test_a_finer_mesh_changes_little() -> None:
    usual = outline_plate(OUTLINE, BOARD, 400, 2.8, modes=6)
    fine = outline_plate(OUTLINE, BOARD, 400, 2.8, modes=6, spacing_mm=7.0)
    np.testing.assert_allclose(usual.hz, fine.hz, rtol=0.01)
    assert usual.stiffness_n_mm == pytest.approx(fine.stiffness_n_mm, rel=0.01)


def test_a_back_has_no_hole_and_cutaways_work() -> None:
    back = outline_plate(for_back(OUTLINE), BOARD, 400, 2.8, modes=2, spacing_mm=16)
    assert back.area_mm2 > GRID.area_mm2()
    assert back.stiffness_n_mm is not None


def test_outlines_that_cannot_be() -> None:
    with pytest.raises(Mistake, match="crosses itself"):
        mesh(np.array([[0, 0], [100, 100], [100, 0], [0, 100.0]]), 10)
    with pytest.raises(Mistake, match="soundhole"):
        mesh(np.array([[0, 0], [100, 0], [100, 100], [0, 100.0]]), 10, (100.0, 50.0, 30.0))
