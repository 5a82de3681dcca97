"""The free plate's forward model against scikit-fem to the same accuracy, and the inverse, in one run.

The peer: Bogner-Fox-Schmit squares, the coarsest mesh whose first eight frequencies are within 0.1 %; mesh
and
basis are made beforehand. Once it assembles and solves; once its matrices for unit stiffness are made
beforehand too,
and it only adds and solves, as ours does. Run: python benchmarks/bench_plate.py
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
import skfem as fem
from numpy.typing import NDArray
from scipy.linalg import eigh
from skfem.helpers import dd

from least_of import least_seconds
from seamlight.outline import named
from seamlight.plate.invert import invert
from seamlight.plate.model import frequencies_hz
from seamlight.plate.modes import identify
from seamlight.plate.outline_plate import outline_mesh, outline_plate
from seamlight.plate.peaks import Peak
from seamlight.plate.piece import Piece
from seamlight.plate.ritz import TERMS, free_plate_hz
from seamlight.plate.stiffness import Elastic, bending, mass_t_mm2

BOARD = Elastic(11000, 858, 704, 0.372, 671, 33)
SIZES = ((500.0, 200.0, 3.0), (550.0, 420.0, 3.0))
COUNT, WITHIN, ROUNDS = 8, 1e-3, 40
Array = NDArray[np.float64]
Size = tuple[float, float, float]
Work = Callable[[], Array]


def peer_forms() -> list[fem.BilinearForm]:
    """Energy for unit stiffness along, coupling, across, twist; and mass."""
    return [
        fem.BilinearForm(lambda u, v, _w: dd(u)[0, 0] * dd(v)[0, 0]),
        fem.BilinearForm(lambda u, v, _w: dd(u)[0, 0] * dd(v)[1, 1] + dd(u)[1, 1] * dd(v)[0, 0]),
        fem.BilinearForm(lambda u, v, _w: dd(u)[1, 1] * dd(v)[1, 1]),
        fem.BilinearForm(lambda u, v, _w: 4 * dd(u)[0, 1] * dd(v)[0, 1]),
        fem.BilinearForm(lambda u, v, _w: u * v),
    ]


def peer(
    size: tuple[float, float, float], nx: int, ny: int
) -> tuple[Callable[[], Array], Callable[[], Array]]:
    """The peer's work: assembling and solving; adding prepared matrices and solving."""
    length, width, thick = size
    plate, mass = bending(BOARD, thick), mass_t_mm2(400, thick)
    grid = fem.MeshQuad.init_tensor(np.linspace(0, length, nx + 1), np.linspace(0, width, ny + 1))
    basis = fem.Basis(grid, fem.ElementQuadBFS(), intorder=6)
    stiffness = (plate.along, plate.coupling, plate.across, plate.twist)

    @fem.BilinearForm
    def strain(u, v, _w):  # type: ignore[no-untyped-def]
        a, b = dd(u), dd(v)
        return (
            plate.along * a[0, 0] * b[0, 0]
            + plate.coupling * (a[0, 0] * b[1, 1] + a[1, 1] * b[0, 0])
            + plate.across * a[1, 1] * b[1, 1]
            + 4 * plate.twist * a[0, 1] * b[0, 1]
        )

    *units, inertia = peer_forms()
    prepared = [form.assemble(basis).toarray() for form in units]
    whole = inertia.assemble(basis).toarray()

    def solved(k: Array, m: Array) -> Array:
        squared = eigh(k, m, eigvals_only=True, subset_by_index=(3, 2 + COUNT))
        return np.asarray(np.sqrt(squared) / (2 * np.pi))

    def assembling() -> Array:
        return solved(strain.assemble(basis).toarray(), mass * inertia.assemble(basis).toarray())

    def adding() -> Array:
        return solved(sum(s * k for s, k in zip(stiffness, prepared, strict=True)), mass * whole)

    return assembling, adding


def coarsest(size: Size, true: Array) -> tuple[int, int]:
    """The peer's smallest mesh within 0.1 %."""
    meshes = [(nx, ny) for nx in range(3, 15) for ny in range(2, 13)]
    meshes.sort(key=lambda mesh: (mesh[0] + 1) * (mesh[1] + 1))
    for nx, ny in meshes:
        if np.abs(peer(size, nx, ny)[1]() / true - 1).max() < WITHIN:
            return nx, ny
    raise RuntimeError("no mesh is fine enough")


def ritz(size: Size, terms: int) -> Work:
    """Our work."""
    length, width, thick = size
    plate, mass = bending(BOARD, thick), mass_t_mm2(400, thick)
    return lambda: free_plate_hz(plate, length, width, mass, COUNT, terms)


def forward() -> None:
    """Print the table of the forward model."""
    print("| plate, mm | work | error % | ms | the peer takes |\n| --- | --- | --- | --- | --- |")
    for size in SIZES:
        true = ritz(size, 20)()
        enough = next(n for n in (6, 8, 10, 12) if np.abs(ritz(size, n)() / true - 1).max() < WITHIN)
        nx, ny = coarsest(size, true)
        assembling, adding = peer(size, nx, ny)
        works = {f"Ritz, {n} terms": ritz(size, n) for n in sorted({enough, TERMS})}
        works |= {f"scikit-fem, {nx} x {ny} squares": assembling, "the same, matrices prepared": adding}
        ours = least_seconds(ritz(size, enough), 10 * ROUNDS)
        for name, work in works.items():
            seconds, error = least_seconds(work, ROUNDS), 100 * np.abs(work() / true - 1).max()
            ratio = f"{seconds / ours:.0f} times" if "Ritz" not in name else ""
            print(f"| {size[0]:g} x {size[1]:g} | {name} | {error:.3f} | {1000 * seconds:.3f} | {ratio} |")


def inverse() -> None:
    """Print the table of the inverse and of the outline's plate."""
    print("\n| work | ms |\n| --- | --- |")
    leaf = Piece(540, 205, 205, 3.4, 154)
    pieces = {
        "leaf": leaf,
        "tapered leaf": Piece(540, 205, 190, 3.4, 149),
        "joined plate": Piece(550, 410, 410, 3.0, 277),
    }
    outline, works = named("dreadnought"), {}
    for name, piece in pieces.items():
        hz = frequencies_hz(piece, BOARD)
        works[f"{name}: E along, E across, G with spreads, in air"] = partial(
            invert, piece, hz, species="Sitka spruce"
        )
    peaks = [Peak(hz) for hz in sorted(frequencies_hz(leaf, BOARD).values())] + [Peak(150.0), Peak(190.0)]
    grid = outline_mesh(outline)
    works["which mode is which, five peaks"] = partial(identify, peaks, leaf)
    works[f"outline's plate, six modes and stiffness, {len(grid.nodes_mm)} nodes"] = partial(
        outline_plate, outline, BOARD, 400, 2.8, "hinged", grid=grid
    )
    works["its mesh"] = partial(outline_mesh, outline)
    for name, work in works.items():
        print(f"| {name} | {1000 * least_seconds(work, 15):.1f} |")


if __name__ == "__main__":
    forward()
    inverse()
