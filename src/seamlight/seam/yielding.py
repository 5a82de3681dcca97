"""The same leaf when its section may change its depth: the wood behind the edge gives where it is pressed.

A beam of higher order: straight pieces along the joint, polynomials across the leaf. With their degree it
goes over into plane stress.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial import legendre
from scipy.sparse import bmat, csc_matrix, kron
from scipy.sparse.linalg import splu

from seamlight.seam.leaf import STATIONS, Floats, Leaf

DEGREE = 8  # of the polynomials across the leaf


def _nodes(degree: int) -> Floats:
    """(degree + 1,) Gauss-Lobatto nodes on -1..1: the ends and where Legendre's derivative vanishes."""
    inner = legendre.legroots(legendre.legder([0.0] * degree + [1.0]))
    return np.concatenate([[-1.0], np.sort(np.real(inner)), [1.0]])


def _across(degree: int, width_mm: float) -> tuple[Floats, Floats, Floats]:
    """Products of the polynomials across the leaf, from joint edge outward: values, mixed, slopes."""
    nodes = _nodes(degree)
    inverse = np.linalg.inv(legendre.legvander(nodes, degree))  # columns: Lagrange polynomials in Legendre's
    points, weights = legendre.leggauss(degree + 1)
    values = legendre.legvander(points, degree) @ inverse
    slopes = legendre.legval(points, legendre.legder(inverse)).T * 2 / width_mm
    weights = weights * width_mm / 2
    products = [
        (left.T * weights) @ right for left, right in ((values, values), (values, slopes), (slopes, slopes))
    ]
    return products[0], products[1], products[2]


def _along(count: int, step: float) -> tuple[csc_matrix, csc_matrix, csc_matrix]:
    """The same for straight pieces along the joint."""
    values = np.zeros((count, count))
    mixed, slopes = values.copy(), values.copy()
    for i in range(count - 1):
        at = np.ix_([i, i + 1], [i, i + 1])
        values[at] += step / 6 * np.array([[2, 1], [1, 2]])
        mixed[at] += 0.5 * np.array([[-1, 1], [-1, 1]])
        slopes[at] += np.array([[1, -1], [-1, 1]]) / step
    return csc_matrix(values), csc_matrix(mixed), csc_matrix(slopes)


def yielding_stiffness(leaf: Leaf, count: int = STATIONS, degree: int = DEGREE) -> tuple[Floats, Floats]:
    """The joint edge's stiffness, and how an even pressure on the outer edge reaches it.

    Returns:
        (count, count) N/mm, and (count,) mm: the load that 1 N/mm on the outer edge puts on the joint edge's
        stations.
    """
    # plane stress of an orthotropic sheet: Jones, Mechanics of Composite Materials (1999), Eq. 2.61-2.66
    slack = 1 - leaf.poisson**2 * leaf.e_across_mpa / leaf.e_along_mpa
    c11, c22 = leaf.e_along_mpa / slack, leaf.e_across_mpa / slack
    c12, c66 = leaf.poisson * leaf.e_across_mpa / slack, leaf.g_mpa
    xv, xm, xs = _along(count, leaf.length_mm / (count - 1))
    yv, ym, ys = _across(degree, leaf.width_mm)
    uu = c11 * kron(xs, yv) + c66 * kron(xv, ys)
    vv = c22 * kron(xv, ys) + c66 * kron(xs, yv)
    uv = c12 * kron(xm.T, ym) + c66 * kron(xm, ym.T)
    size = count * (degree + 1)
    whole = leaf.thickness_mm * bmat([[uu, uv], [uv.T, vv]], format="csc")
    edge = size + np.arange(count) * (degree + 1)  # v on the joint edge
    outer = edge + degree
    inner = np.setdiff1d(np.arange(1, 2 * size), edge)  # the first u is held: no sliding along
    solve = splu(whole[inner][:, inner].tocsc())
    across = whole[inner][:, edge].toarray()
    stiffness = whole[edge][:, edge].toarray() - across.T @ solve.solve(across)
    load = np.zeros(2 * size)
    load[outer] = np.asarray(xv.sum(axis=1)).ravel()
    reach = -across.T @ solve.solve(load[inner])
    return np.asarray(stiffness), np.asarray(reach)
