"""The fine fit: B's figure slid, turned and gently bent until it meets A's.

Two faces a kerf apart are not quite the same: rings that lean to the face have moved across by kerf times
the cotangent of their angle, a little more at one edge than at the other. The fit follows that (`lean`) and
a few slight bends; it is too stiff to make strangers alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from seamlight.layout.figure import ACROSS_PX_PER_MM, Figure, Lines, blurred
from seamlight.layout.lean import Lean, lean_shift
from seamlight.layout.match import likeness
from seamlight.layout.pair import Registration
from seamlight.layout.search import Ground, Start
from seamlight.photo.flat import Mask, Points

_ALIKE_PX = 400.0  # px of the full grid that tell the same
# Amounts: turn and across (mm at the ends), slide, the lean's pith and spread, how far the pith runs askew
# (mm at the ends), then slight bends (mm). How far each may be expected to go, and trial steps of the lean.
_EXPECTED = np.array([4.0, 2.0, 4.0, 40.0, 1.0, 6.0, 0.2, 0.2, 0.2, 0.1])
_TRIAL = {3: 0.5, 4: 0.02, 5: 0.5}
_ROUNDS = (
    (0.3, 8, 8, 5),
    (0.0, 8, 6, 10),
    (0.0, 4, 3, 10),
)  # blur across (mm), px between rows, steps, amounts free


@dataclass(frozen=True, eq=False)
class Fit:
    """B's figure laid on A's grid as well as it will go."""

    registration: Registration  # match not yet set
    laid: Lines  # (h, w)
    kept: Mask  # (h, w), wood of both leaves
    likeness: float  # at the sharpest look


def fine_fit(figure_a: Figure, ground: Ground, start: Start) -> Fit:
    """Least squares on the difference of the two figures, coarse to fine.

    Sources: Lucas and Kanade, "An iterative image registration technique", IJCAI 1981, with a prior on each
    amount; damping as in Marquardt, SIAM J. Appl. Math. 11 (1963) 431.
    """
    terms = _Terms.on(figure_a)
    amounts = np.zeros(len(_EXPECTED))
    amounts[3:5] = start.lean.pith_mm, start.lean.spread_mm
    middle = amounts.copy()
    middle[4] = 0.0
    for blur_mm, every, steps, free in _ROUNDS:
        rows = _Rows.of(figure_a, ground, start.registration, terms, middle, every, blur_mm)
        here = rows.laid(amounts)
        normal, wish = rows.equations(here, amounts, free)
        damping = 1e-3
        for _ in range(steps):
            step = np.zeros_like(amounts)
            step[:free] = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), wish)
            there = rows.laid(amounts + step)
            gained = there.likeness - here.likeness
            if gained <= 0:
                damping *= 8
                continue
            amounts, here, damping = amounts + step, there, damping / 5
            if gained < 1e-4:
                break
            normal, wish = rows.equations(here, amounts, free)
    laid, kept = ground.lay(start.registration, terms.shift(amounts, 1))
    kept &= figure_a.wood()
    alike = likeness(figure_a.values(), laid, kept)
    return Fit(_folded(start.registration, amounts, terms), laid, kept, alike)


@dataclass(frozen=True, eq=False)
class _Terms:
    """The shift of B over A's grid as a function of the amounts; places in mm from the leaf's middle."""

    x: Points  # (w,)
    y: Points  # (h,)
    half: tuple[float, float]

    @classmethod
    def on(cls, figure: Figure) -> _Terms:
        height, width = figure.lines.shape
        x = (np.arange(width) + 0.5) / ACROSS_PX_PER_MM - figure.width_mm / 2
        y = np.arange(height) + 0.5 - figure.length_mm / 2
        return cls(
            np.asarray(x, np.float64), np.asarray(y, np.float64), (figure.width_mm / 2, figure.length_mm / 2)
        )

    def lean(self, amounts: Points, every: int) -> Lines:
        """What the lean adds to the shift across: B is moved back by what its lines have moved."""
        pith, spread, askew = amounts[3:6].tolist()
        along = askew * self.y[::every, None] / self.half[1] if askew else np.zeros((1, 1))
        return -lean_shift(Lean(pith, spread), self.x, 2 * self.half[0], along).astype(np.float32)

    def straight(self, every: int) -> list[tuple[Lines, Lines] | None]:
        """The shift across and along that one unit of each amount gives; None for those of the lean."""
        x = self.x[None, :].astype(np.float32)
        y = self.y[::every, None].astype(np.float32)
        u, v = x / np.float32(self.half[0]), y / np.float32(self.half[1])
        none = np.zeros((1, 1), np.float32)
        one = none + 1
        bend_u, bend_v = (3 * u**2 - 1) / 2, (3 * v**2 - 1) / 2
        turn = (v, -x / np.float32(self.half[1]))
        bends = [(np.asarray(b, np.float32), none) for b in (v * u, bend_u, bend_v, v * bend_u)]
        return [turn, (one, none), (none, one), None, None, None, *bends]

    def shift(self, amounts: Points, every: int) -> tuple[Lines, Lines]:
        """Shift across and along (mm) at every place of A's grid, in rows `every` px apart."""
        across, along = self.lean(amounts, every), np.zeros((1, 1), np.float32)
        for amount, unit in zip(amounts, self.straight(every), strict=True):
            if unit is not None and amount:
                across = across + np.float32(amount) * unit[0]
                along = along + np.float32(amount) * unit[1]
        shape = (len(self.y[::every]), len(self.x))
        return np.broadcast_to(across, shape), np.broadcast_to(along, shape)

    def slopes(self, amounts: Points, free: int, every: int) -> list[tuple[Lines, Lines]]:
        """How the shift across and along changes with each of the first `free` amounts."""
        here = self.lean(amounts, every)
        found = []
        for index, unit in enumerate(self.straight(every)[:free]):
            if unit is None:
                there = amounts.copy()
                there[index] += _TRIAL[index]
                unit = (
                    (self.lean(there, every) - here) / np.float32(_TRIAL[index]),
                    np.zeros((1, 1), np.float32),
                )
            found.append(unit)
        return found


@dataclass(frozen=True, eq=False)
class _Laid:
    """B on A's thinned rows, and how alike the two are there."""

    lines: Lines
    weight: Lines
    likeness: float  # correlation


@dataclass(frozen=True, eq=False)
class _Rows:
    """Rows of A's figure, some way apart, for B to be fitted to."""

    ground: Ground
    start: Registration
    terms: _Terms
    middle: Points  # what each amount is expected to be
    every: int  # px between rows
    sigma: float  # px of blur across
    target: Lines
    wood: Mask

    @classmethod
    def of(
        cls,
        figure: Figure,
        ground: Ground,
        start: Registration,
        terms: _Terms,
        middle: Points,
        every: int,
        blur_mm: float,
    ) -> _Rows:
        """Thin out A's rows and blur them across."""
        sigma = blur_mm * ACROSS_PX_PER_MM
        target = blurred(figure.values()[::every], sigma, 0.0)
        return cls(ground, start, terms, middle, every, sigma, target, figure.wood()[::every])

    def laid(self, amounts: Points) -> _Laid:
        """B laid with these amounts."""
        shift = self.terms.shift(amounts, self.every)
        lines, kept = self.ground.lay(self.start, shift, self.every)
        weight = (kept & self.wood).astype(np.float32)
        lines = blurred(lines, self.sigma, 0.0) * weight
        target = self.target * weight
        norm = np.sqrt(float(np.vdot(lines, lines)) * float(np.vdot(target, target))) + 1e-9
        return _Laid(lines, weight, float(np.vdot(lines, target)) / norm)

    def _slope_along(self, amounts: Points) -> Lines:
        """How B's values change as it is slid: 1 mm either way, as rows may lie further apart."""
        across, along = self.terms.shift(amounts, self.every)
        ahead, behind = (
            self.ground.lay(self.start, (across, along + step), self.every)[0]
            for step in (np.float32(1), np.float32(-1))
        )
        return blurred((ahead - behind) / np.float32(2), self.sigma, 0.0)

    def equations(self, here: _Laid, amounts: Points, free: int) -> tuple[Points, Points]:
        """The normal equations of a step of the first `free` amounts."""
        lines, weight = here.lines, here.weight
        gain = max(float(np.vdot(self.target, lines)) / (float(np.vdot(lines, lines)) + 1e-9), 0.2)
        rest = (self.target - gain * lines) * weight
        slope_x = -np.gradient(lines, axis=1) * np.float32(gain * ACROSS_PX_PER_MM) * weight
        slope_y = self._slope_along(amounts) * np.float32(gain) * weight
        moved = [
            slope_x * across + slope_y * along if along.any() else slope_x * across
            for across, along in self.terms.slopes(amounts, free, self.every)
        ]
        jacobian = np.array(moved).reshape(free, -1)
        noise = float(np.vdot(rest, rest)) / max(float(weight.sum()), 1.0) * _ALIKE_PX / self.every + 1e-9
        prior = 1 / _EXPECTED[:free] ** 2
        normal = (jacobian @ jacobian.T) / noise + np.diag(prior)
        wish = jacobian @ rest.ravel() / noise - prior * (amounts - self.middle)[:free]
        return normal, wish


def _folded(start: Registration, amounts: Points, terms: _Terms) -> Registration:
    """The rigid terms taken into the registration."""
    return replace(
        start,
        slide_mm=(start.slide_mm or 0.0) + float(amounts[2]),
        across_mm=(start.across_mm or 0.0) + float(amounts[1]),
        rotate_deg=(start.rotate_deg or 0.0) + float(np.degrees(amounts[0] / terms.half[1])),
    )
