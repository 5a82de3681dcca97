"""The camera and the places of the target sheets, fitted together to the corners of their tags.

Unknown at once: pose, focal length, centre, distortion, where each further sheet lies in the plane, and how
much the ink of the tags has spread. What the tags cannot fix is held by what is known beforehand, and what
remains open is in the covariance. B. Triggs and others, "Bundle adjustment, a modern synthesis", 2000.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from seamlight.photo.camera import Camera, pictured, pose_of, rotation_of
from seamlight.photo.flat import Points
from seamlight.photo.tags import FoundSheet

Array = NDArray[np.float64]

# Standard errors of what is known before the fit; from experience of phone cameras, no source.
FOCAL_DOUBT_EXIF = 0.02  # of the focal length; the 35 mm equivalent is a whole number near 26
FOCAL_DOUBT_NONE = 0.25
FOCAL_GUESS = 0.62  # of the picture's diagonal: a 27 mm equivalent
CENTRE_DOUBT = 0.004  # of the diagonal
K1_DOUBT, K2_DOUBT = 0.015, 0.004  # displacement in the corner, of the half diagonal
SPREAD_DOUBT_MM = 0.15  # ink beyond the tag's edge

_LEAST_DOUBT_PX = 0.05
# log focal, centre 2, k1, k2, turn 3, shift 3, ink spread; then x, y, angle of each further sheet
_FREE = 12
_INK = 11
_BELIEVED = [0, 1, 2, 3, 4, _INK]
_SMALL = 2**-26  # of a value, or of 1: the step over which slopes are taken; root of a double's precision
_SOFT_AT = 3.0  # standard errors beyond which a misfit counts less than its square


@dataclass(frozen=True, eq=False)
class PlaneFit:
    """The camera over the target plane, with what the fit leaves open."""

    camera: Camera
    values: Array  # (m,)
    covariance: Array  # (m, m)
    rms_px: float
    size_px: tuple[int, int]
    sheets: tuple[FoundSheet, ...] = ()

    def piece_to_px(self, piece: int, points_mm: Points) -> Points:
        """(n, 2) mm on a piece, as printed, -> (n, 2) px."""
        return self.camera.to_px(_placed(self.values, np.full(len(points_mm), piece), points_mm))

    def spread_of(self, measure: Callable[[Camera], float]) -> float:
        """Standard error of something measured through the camera, by first-order propagation."""
        steps = 1e-3 * np.sqrt(np.diag(self.covariance))
        slope = np.zeros(len(self.values))
        for index in range(_INK):
            if steps[index] > 0:
                up, down = self.values.copy(), self.values.copy()
                up[index] += steps[index]
                down[index] -= steps[index]
                rise = measure(_camera(up, self.size_px)) - measure(_camera(down, self.size_px))
                slope[index] = rise / (2 * steps[index])
        return float(np.sqrt(slope @ self.covariance @ slope))


def fit_plane(
    sheets: Sequence[FoundSheet], size_px: tuple[int, int], focal_px: float | None, print_scale: float = 1.0
) -> PlaneFit:
    """Fit the camera to the sheets.

    Args:
        sheets: at least one, the one with most tags first.
        size_px: width and height of the picture.
        focal_px: from EXIF, or None.
        print_scale: size of the print over the size meant (97 % is 0.97).
    """
    pieces = [
        Piece(
            print_scale * sheet.corners_mm(),
            sheet.corners_px(),
            np.hypot(sheet.doubt_px(), _LEAST_DOUBT_PX),
            np.tile(np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]]), (len(sheet.tags), 1)),
        )
        for sheet in sheets
    ]
    return replace(fit_pieces(pieces, size_px, focal_px), sheets=tuple(sheets))


@dataclass(frozen=True, eq=False)
class Piece:
    """Points known to lie flat together: where on the piece, where in the picture, and how ink moves them."""

    mm: Points  # (n, 2)
    px: Points  # (n, 2)
    doubt_px: Array  # (n,)
    ink: Points  # (n, 2) direction in which a corner moves as ink spreads; zeros where there is none


def fit_pieces(pieces: Sequence[Piece], size_px: tuple[int, int], focal_px: float | None) -> PlaneFit:
    """Fit the camera to flat pieces that lie anywhere in one plane; the first piece gives the frame."""
    diagonal = float(np.hypot(*size_px))
    guess = focal_px if focal_px is not None else FOCAL_GUESS * diagonal
    focal_doubt = FOCAL_DOUBT_EXIF if focal_px is not None else FOCAL_DOUBT_NONE
    centre_doubt = CENTRE_DOUBT * diagonal
    believed = np.array([np.log(guess), size_px[0] / 2, size_px[1] / 2, 0.0, 0.0, 0.0])
    belief = np.array([focal_doubt, centre_doubt, centre_doubt, K1_DOUBT, K2_DOUBT, SPREAD_DOUBT_MM])
    mm, px, ink = (np.concatenate([getattr(piece, name) for piece in pieces]) for name in ("mm", "px", "ink"))
    doubt = np.concatenate([piece.doubt_px for piece in pieces])[:, None]
    piece_of = np.repeat(np.arange(len(pieces)), [len(piece.mm) for piece in pieces])

    def off_px(values: Array) -> Array:
        points = _placed(values, piece_of, mm + values[..., _INK, None, None] * ink)
        return np.asarray(_seen_px(values, points, float(np.hypot(*size_px)) / 2) - px)

    def misfits(values: Array) -> Array:
        off = (off_px(values) / doubt).reshape(*values.shape[:-1], -1)
        return np.concatenate([_soft(off), (values[..., _BELIEVED] - believed) / belief], axis=-1)

    def slopes(values: Array) -> Array:
        steps = _SMALL * np.copysign(np.maximum(np.abs(values), 1.0), values)
        return np.asarray((misfits(values + np.diag(steps)) - misfits(values)).T / steps)

    start = _start(pieces, size_px, guess)
    found = least_squares(misfits, start, slopes, x_scale="jac", max_nfev=40, xtol=1e-7, ftol=1e-5)
    values = np.asarray(found.x, np.float64)
    off = off_px(values)
    loose = max(off.size - (len(values) - len(_BELIEVED)), 4)
    # Where the corners miss by more than their own doubt (paper not flat), everything is that much less sure.
    stretch = max(1.0, float(np.sum(_soft((off / doubt).ravel()) ** 2)) / loose)
    covariance = np.linalg.pinv(found.jac.T @ found.jac, hermitian=True) * stretch
    rms_px = float(np.sqrt(np.mean(np.sum(off**2, axis=1))))
    return PlaneFit(_camera(values, size_px), values, covariance, rms_px, size_px)


def _soft(misfit: Array) -> Array:
    """Misfits whose squares add up to the pseudo-Huber loss (P. Charbonnier and others, 1997)."""
    scaled = misfit / _SOFT_AT
    return np.asarray(misfit * np.sqrt(2 / (np.sqrt(1 + scaled**2) + 1)))


def _camera(values: Array, size_px: tuple[int, int]) -> Camera:
    return Camera(
        focal_px=float(np.exp(values[0])),
        centre_px=values[1:3],
        k1=float(values[3]),
        k2=float(values[4]),
        turn=values[5:8],
        shift_mm=values[8:11],
        half_diagonal_px=float(np.hypot(*size_px)) / 2,
    )


def _seen_px(values: Array, plane_mm: Points, half_diagonal_px: float) -> Array:
    """(..., n, 2) px of points (..., n, 2) of the plane: `Camera.to_px` for each row of values at once."""
    turns = np.array([rotation_of(turn) for turn in values[..., 5:8].reshape(-1, 3)])
    onto = turns.reshape(*values.shape[:-1], 3, 3)[..., :2].swapaxes(-1, -2)
    seen = plane_mm @ onto + values[..., None, 8:11]
    focal, k1, k2 = (values[..., index, None, None] for index in (0, 3, 4))
    return pictured(seen, np.exp(focal), k1, k2, half_diagonal_px) + values[..., None, 1:3]


def _placed(values: Array, piece_of: NDArray[np.intp], mm: Points) -> Points:
    """(..., n, 2) points of the pieces where those lie in the plane, for each row of values."""
    first = np.zeros((*values.shape[:-1], 3))
    places = np.concatenate([first, values[..., _FREE:]], axis=-1).reshape(*values.shape[:-1], -1, 3)
    x, y, angle = np.moveaxis(places[..., piece_of, :], -1, 0)
    cos, sin = np.cos(angle), np.sin(angle)
    return np.stack(
        [x + cos * mm[..., 0] - sin * mm[..., 1], y + sin * mm[..., 0] + cos * mm[..., 1]], axis=-1
    )


def _start(pieces: Sequence[Piece], size_px: tuple[int, int], focal_px: float) -> Array:
    """Where the fit begins: pose from the first piece alone, the others laid on its plane."""
    centre = np.array(size_px, np.float64) / 2
    turn, shift = pose_of(pieces[0].mm, pieces[0].px, focal_px, centre)
    values = np.concatenate([[np.log(focal_px), *centre, 0.0, 0.0], turn, shift, [0.0]])
    camera = _camera(values, size_px)
    for piece in pieces[1:]:
        seen = camera.to_plane(piece.px)
        values = np.concatenate([values, _laid(piece.mm, seen)])
    return values


def _laid(mm: Points, seen: Points) -> Array:
    """(3,) x, y, angle that lay `mm` on `seen` best (S. Umeyama, 1991, in the plane)."""
    one, two = mm - mm.mean(axis=0), seen - seen.mean(axis=0)
    angle = np.arctan2(np.sum(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]), np.sum(one * two))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return np.array([*(seen.mean(axis=0) - turn @ mm.mean(axis=0)), angle])
