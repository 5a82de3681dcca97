"""A rounded cutaway: down along the neck, round the hollow, round the horn and on to the waist.

The curve is a straight along the heel, the arc of the hollow, the arc of the horn and a bend into the waist,
joined by clothoids, so its curvature has no jump anywhere and meets that of the body at the waist. Of all
such curves with the wanted depth, width and horn radius that stay within the body the one whose curvature
varies least is taken, as for the rest of the outline. The one corner is where it leaves the neck flat.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
from scipy.optimize import minimize

from seamlight.mistake import Mistake
from seamlight.outline.curve import Array
from seamlight.outline.measures import Cutaway, Measures
from seamlight.outline.side import side_line
from seamlight.outline.spiral import Spiral

_SCALE_MM = 50.0  # unknowns are near 1 in it
_LEAST_HOLLOW_MM = 18.0  # radius; a tighter one can hardly be bent: common practice, no source
_MET_MM = 1e-7
_INSIDE = np.linspace(0.02, 0.99, 40)  # of the way from the horn's tip to the waist

# Unknowns: lengths of the straight, into the hollow, hollow, on to the horn, horn, out of the horn, flank,
# into the waist; the hollow's radius; how far along lie the hollow's bottom and the horn's tip; and, the only
# one that is no length, how bent the flank is, of the horn's bend.
_LEAST = np.array([0.05, 4, 0.05, 6, 0.05, 6, 0.05, 10, _LEAST_HOLLOW_MM, 5, 5, 0]) / _SCALE_MM
_MOST = np.array([150.0, 150, 150, 200, 120, 200, 150, 250, 90, 400, 500, 40]) / _SCALE_MM


class _Search:
    """What the wanted cutaway asks of the unknowns."""

    def __init__(self, m: Measures, cut: Cutaway) -> None:
        found, (_, waist_s, _) = side_line(replace(m, cutaway=None))
        self.m, self.cut, self.flat_mm = m, cut, m.neck_flat_mm / 2
        self.waist_bend = float(found.line.curvature(np.array([waist_s]))[0])
        plain = found.line.points(np.linspace(0, waist_s, 400))
        self.plain_x, self.plain_y = plain.T

    def line(self, z: Array) -> Spiral:
        mm = z * _SCALE_MM
        hollow, horn = -1 / mm[8], 1 / self.cut.horn_radius_mm
        flank = z[11] * horn
        bends = np.array([0.0, 0.0, hollow, hollow, horn, horn, flank, flank, self.waist_bend])
        return Spiral((self.flat_mm, 0.0), np.pi / 2, mm[:8], bends)

    def misses(self, z: Array) -> Array:
        """Depth at the hollow's bottom, width at the horn's tip, place and direction at the waist."""
        line = self.line(z)
        places, headings = line.at(np.array([*z[9:11] * _SCALE_MM, line.length_mm]))
        off_mm = (
            places[0, 1] - self.cut.depth_mm,
            places[1, 0] - self.flat_mm - self.cut.width_mm,
            places[2, 0] - self.m.waist_mm / 2,
            places[2, 1] - self.m.waist_at_mm,
        )
        return np.array([*(mm / _SCALE_MM for mm in off_mm), *(headings - (0.0, 0.0, np.pi / 2))])

    def slopes(self, z: Array) -> Array:
        steps = 1e-6 * np.eye(len(z))
        return np.stack([(self.misses(z + d) - self.misses(z - d)) / 2e-6 for d in steps], axis=1)

    def room(self, z: Array) -> Array:
        """Not below 0 where the tip follows the bottom and the horn stays within the plain body."""
        line, tip = self.line(z), z[10] * _SCALE_MM
        places, _ = line.at(tip + _INSIDE * (line.length_mm - tip))
        wide = np.interp(places[:, 1], self.plain_y, self.plain_x)
        room = np.concatenate(([z[10] - z[9] - 0.02], (wide - places[:, 0]) / _SCALE_MM))
        return np.asarray(room, dtype=np.float64)

    def roughness(self, z: Array) -> float:
        """The integral of the squared change of curvature along the curve, scaled near 1."""
        line = self.line(z)
        return float((np.diff(line.curvature_1_mm)[1:] ** 2 / line.pieces_mm[1:]).sum() * _SCALE_MM**3 / 100)

    def start(self, hollow_mm: float, straight: float) -> Array:
        """Unknowns to begin from, by the hollow's radius and the share of the depth that is straight."""
        down = straight * self.cut.depth_mm
        onto_tip = (down, 20.0, 1.2 * hollow_mm, 30.0)
        last = max(self.m.waist_at_mm - self.cut.depth_mm - 20, 20.0)
        bottom = down + 20.0 + 1.2 * hollow_mm
        mm = (*onto_tip, self.cut.horn_radius_mm, 35.0, 5.0, last, hollow_mm, bottom, bottom + 40, 2.0)
        return np.clip(np.array(mm) / _SCALE_MM, _LEAST, _MOST)


def _solved(search: _Search, z: Array, whole: bool) -> Array:
    """The fairest unknowns found from z; `whole`: the horn kept within the body too."""
    equal = {"type": "eq", "fun": search.misses, "jac": search.slopes}
    room = {"type": "ineq", "fun": search.room if whole else lambda z: search.room(z)[:1]}
    solved = minimize(
        search.roughness,
        z,
        method="SLSQP",
        bounds=list(zip(_LEAST, _MOST, strict=True)),
        constraints=[equal, room],
        options={"maxiter": 100, "ftol": 1e-9},
    )
    return np.asarray(solved.x, dtype=np.float64)


def _best(search: _Search) -> Array | None:
    """The unknowns of the fairest curve, or None where none meets what is wanted."""
    for hollow_mm, straight in ((25.0, 0.3), (35.0, 0.1)):  # where both arrive they arrive at the same curve
        # first without the body's bounds: with them from the start the search strays
        z = _solved(search, search.start(hollow_mm, straight), whole=False)
        z = _solved(search, z, whole=True)
        if np.abs(search.misses(z)).max() < 1e-5 and search.room(z).min() > -1e-4:
            return z
    return None


@lru_cache(maxsize=64)
def cutaway_line(m: Measures) -> Spiral:
    """The side line of the half with the cutaway, from the end of the neck flat to the waist.

    Raises:
        Mistake: there is none with these measures within this body.
    """
    assert m.cutaway is not None
    search = _Search(m, m.cutaway)
    z = _best(search)
    if z is not None:
        for _ in range(3):  # Newton steps of least change take what is left of the misses
            z = z - np.linalg.lstsq(search.slopes(z), search.misses(z), rcond=None)[0]
        if np.abs(search.misses(z)).max() * _SCALE_MM < _MET_MM and z[:11].min() > 0:
            return search.line(z)
    over = m.neck_flat_mm / 2 + m.cutaway.width_mm + m.cutaway.horn_radius_mm - m.upper_bout_mm / 2
    raise Mistake(
        "no fair cutaway has this depth, width and horn radius in this body",
        where=m.name,
        do="make it narrower or the horn radius smaller"
        if over > 0
        else "make it wider, the horn radius larger, or the depth less",
    )
