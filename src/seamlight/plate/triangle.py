"""A triangle of thin orthotropic plate: the discrete Kirchhoff element, and a cubic for its mass.

Unknowns at each corner: w, w_x, w_y. All elements at once, as arrays over (n, ...).
"""

from __future__ import annotations

import numpy as np

from seamlight.plate.legendre import Array, gauss

Corners = Array  # (n, 3, 2) mm


def _turns(corners: Corners) -> Array:
    """(n, 12, 9) slopes (along x, along y) at corners and mid-sides from the unknowns."""
    # J.-L. Batoz, K.-J. Bathe, L.-W. Ho, Int. J. Numer. Meth. Eng. 15 (1980) 1771: at a mid-side the slope
    # along the side is that of the cubic through its ends, the slope across it the mean of theirs
    count = len(corners)
    turns = np.zeros((count, 12, 9))
    for corner in range(3):
        turns[:, 2 * corner, 3 * corner + 1] = 1
        turns[:, 2 * corner + 1, 3 * corner + 2] = 1
    for side, (i, j) in enumerate(((0, 1), (1, 2), (2, 0))):
        edge = corners[:, j] - corners[:, i]
        length = np.linalg.norm(edge, axis=1)
        tangent = edge / length[:, None]
        normal = np.stack((-tangent[:, 1], tangent[:, 0]), axis=1)
        row = 6 + 2 * side
        for axis in range(2):
            along, across = tangent[:, axis], normal[:, axis]
            turns[:, row + axis, 3 * j] = 1.5 / length * along
            turns[:, row + axis, 3 * i] = -1.5 / length * along
            for end in (i, j):
                for part in range(2):
                    turns[:, row + axis, 3 * end + 1 + part] = (
                        -0.25 * tangent[:, part] * along + 0.5 * normal[:, part] * across
                    )
    return turns


def _quadratic_slopes(l1: float, l2: float) -> Array:
    """(6, 3) derivative of the six-node shape functions by the three area coordinates."""
    l3 = 1 - l1 - l2
    lows = (l1, l2, l3)
    slopes = np.zeros((6, 3))
    for corner in range(3):
        slopes[corner, corner] = 4 * lows[corner] - 1
    for side, (i, j) in enumerate(((0, 1), (1, 2), (2, 0))):
        slopes[3 + side, i], slopes[3 + side, j] = 4 * lows[j], 4 * lows[i]
    return slopes


def _area_slopes(corners: Corners) -> tuple[Array, Array]:
    """(n, 3, 2) derivatives of the area coordinates by x and y, and (n) areas."""
    x, y = corners[..., 0], corners[..., 1]
    twice = (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (x[:, 2] - x[:, 0]) * (y[:, 1] - y[:, 0])
    ahead, behind = np.array([1, 2, 0]), np.array([2, 0, 1])
    slopes = np.stack((y[:, ahead] - y[:, behind], x[:, behind] - x[:, ahead]), axis=2)
    return slopes / twice[:, None, None], twice / 2


def stiffness(corners: Corners, rigidity: Array) -> Array:
    """(n, 9, 9) stiffness matrices.

    Args:
        corners: (n, 3, 2) mm, counter-clockwise.
        rigidity: (3, 3) bending stiffness, N mm, for the curvatures w_xx, w_yy, 2 w_xy.
    """
    turns, (by_xy, area) = _turns(corners), _area_slopes(corners)
    matrices = np.zeros((len(corners), 9, 9))
    for l1, l2 in ((1 / 6, 1 / 6), (2 / 3, 1 / 6), (1 / 6, 2 / 3)):  # exact: curvatures are linear
        slopes = np.einsum("kc,ncd->nkd", _quadratic_slopes(l1, l2), by_xy)  # (n, 6, 2)
        strain = np.zeros((len(corners), 3, 12))
        strain[:, 0, 0::2] = slopes[:, :, 0]
        strain[:, 1, 1::2] = slopes[:, :, 1]
        strain[:, 2, 0::2] = slopes[:, :, 1]
        strain[:, 2, 1::2] = slopes[:, :, 0]
        curvature = strain @ turns
        matrices += np.swapaxes(curvature, 1, 2) @ (rigidity @ curvature) * (area / 3)[:, None, None]
    return matrices


def displacement(corners: Corners, l1: Array, l2: Array) -> Array:
    """(n, p, 9) displacement at p places of each triangle from its unknowns.

    `l1`, `l2`: area coordinates, (p) the same in all triangles or (n, p).
    """
    # G. P. Bazeley, Y. K. Cheung, B. M. Irons, O. C. Zienkiewicz, Proc. Matrix Methods,
    # Wright-Patterson (1965), citation from memory: the incomplete cubic of three corners with slopes
    lows = (l1, l2, 1 - l1 - l2)
    bubble = lows[0] * lows[1] * lows[2] / 2
    shape = np.zeros((len(corners), l1.shape[-1], 9))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        a, b, c = lows[i], lows[j], lows[k]
        shape[:, :, 3 * i] = a + a**2 * b + a**2 * c - a * b**2 - a * c**2
        for axis in range(2):
            to_j = (corners[:, j, axis] - corners[:, i, axis])[:, None]
            to_k = (corners[:, k, axis] - corners[:, i, axis])[:, None]
            shape[:, :, 3 * i + 1 + axis] = to_j * (a**2 * b + bubble) + to_k * (a**2 * c + bubble)
    return shape


def _places() -> tuple[Array, Array, Array]:
    """Area coordinates and weights (sum 1) of a conical Gauss rule, exact to degree 6."""
    nodes, weights = gauss(4)
    u, v = (np.ravel(grid) for grid in np.meshgrid((nodes + 1) / 2, (nodes + 1) / 2, indexing="ij"))
    weight = np.outer(weights, weights).ravel() / 4
    return u, v * (1 - u), 2 * weight * (1 - u)


def mass(corners: Corners) -> Array:
    """(n, 9, 9) mass matrices for unit mass per area."""
    l1, l2, weight = _places()
    _, area = _area_slopes(corners)
    shape = displacement(corners, l1, l2)
    weighted = shape * weight[None, :, None]
    return np.asarray(np.swapaxes(shape, 1, 2) @ weighted * area[:, None, None], dtype=np.float64)
