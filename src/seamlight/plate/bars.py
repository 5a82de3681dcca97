"""Free bars and brace blanks: bending with shear and rotary inertia, the shear being the wood's own.

Wood is soft in shear beside its stiffness along the grain, so the correction is about three times that of the
isotropic bars of ASTM E1876.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from math import log

import numpy as np
from scipy.linalg import eigh

from seamlight.mistake import Mistake
from seamlight.plate.air_load import AIR_KG_M3
from seamlight.plate.invert import Doubts
from seamlight.plate.legendre import Array, products
from seamlight.plate.piece import Piece
from seamlight.plate.ritz_shear import SHEAR_FACTOR
from seamlight.plate.start import beam_e_mpa, expected
from seamlight.plate.stiffness import TONNE_PER_MM3

_TERMS = 14
_SAME_WITHIN = 0.04  # a peak this near a predicted overtone is taken for it
_THICK_ENOUGH = 30.0  # length over thickness up to which overtones can tell G


@cache
def _bent_squared(slenderness: float, e_over_g: float, modes: int) -> tuple[float, ...]:
    """Squared frequencies of a free bar in units of E h^2 / (12 rho L^4), rising, rigid ones left out.

    `slenderness` is length over thickness.
    """
    # S. P. Timoshenko, Phil. Mag. 41 (1921) 744: fields w and turn p, energy EI p'^2 + kGA (w' + p)^2; L = 2
    bend = products(_TERMS, 1, 1)
    shear = SHEAR_FACTOR / e_over_g * 12 * slenderness**2 / 4  # k G A L^2 / 4 over E I
    cross = products(_TERMS, 1, 0)
    stiffness = np.block([[shear * bend, shear * cross], [shear * cross.T, bend + shear * np.eye(_TERMS)]])
    turning = 4 / slenderness**2 / 12  # rho I over rho A L^2 / 4
    scale = 1 / np.sqrt(np.concatenate((np.ones(_TERMS), np.full(_TERMS, turning))))
    squared = eigh(stiffness * np.outer(scale, scale), eigvals_only=True, subset_by_index=(2, 1 + modes))
    return tuple(float(x) * 16 for x in squared)


def bar_hz(
    e_mpa: float,
    g_mpa: float,
    density_kg_m3: float,
    length_mm: float,
    thickness_mm: float,
    modes: int = 1,
    air: float = 0.0,
) -> Array:
    """Bending frequencies of a free bar, Hz, rising; `air` is the moving air's mass over the bar's."""
    squared = np.array(_bent_squared(length_mm / thickness_mm, e_mpa / g_mpa, modes))
    rho = density_kg_m3 * TONNE_PER_MM3 * (1 + air)
    unit = e_mpa * thickness_mm**2 / (12 * rho * length_mm**4)
    return np.asarray(np.sqrt(squared * unit) / (2 * np.pi), dtype=np.float64)


def shear_correction(slenderness: float, e_over_g: float) -> float:
    """What E from the slender-beam formula is multiplied by, for the first bending.

    >>> round(shear_correction(20, 15.62), 3)
    1.058
    """
    # Euler-Bernoulli beam, free-free: beta L = 4.730040745
    return float(4.730040745**4 / _bent_squared(slenderness, e_over_g, 1)[0])


def bar_air_share(piece: Piece, air_kg_m3: float = AIR_KG_M3) -> float:
    """Mass of the air that moves with a long bar over its own."""
    # H. Lamb, Hydrodynamics, section 71: a strip moving broadside carries air of a cylinder of its own width
    strip = np.pi / 4 * piece.width_mm**2
    return float(air_kg_m3 * strip / (piece.density_kg_m3 * piece.width_mm * piece.thickness_mm))


@dataclass(frozen=True)
class BarInverted:
    """What a bar's frequencies say.

    Attributes:
        e_along_mpa, g_mpa: constants; `g_told` whether overtones told G, else it is the species'.
        spread_pct: standard deviations, percent.
        bending: index of the peak of the first, second, ... bending, None where unheard.
        shear_pct: how much shear and rotary inertia raise E over the slender-beam formula.
        air_pct: mass of the moving air over the bar's, percent.
    """

    e_along_mpa: float
    g_mpa: float
    g_told: bool
    spread_pct: dict[str, float]
    bending: tuple[int | None, ...]
    shear_pct: float
    air_pct: float
    warnings: tuple[str, ...] = field(default=())


def invert_bar(
    piece: Piece,
    hz: Sequence[float],
    *,
    species: str | None = None,
    first_hz: float | None = None,
    hz_sd: Sequence[float] = (),
    doubts: Doubts | None = None,
) -> BarInverted:
    """E along the grain of a free bar, and G where overtones tell it.

    Args:
        piece: length, width across the tap, and thickness in the direction of the tap.
        hz: peaks, rising.
        first_hz: the first bending as the person has it.

    Raises:
        Mistake: no peak that any wood of this size gives.
    """
    if not hz:
        raise Mistake("no peak of the bar was heard", do="tap again nearer the microphone")
    said, air = doubts or Doubts(), bar_air_share(piece)
    prior = expected(species, piece.density_kg_m3)
    e_over_g = prior.elastic.e_along_mpa / prior.elastic.g_along_thick_mpa
    first = _first(piece, hz, first_hz, e_over_g, air)
    bending, told, e_over_g, ratio_sd = _overtones(piece, hz, first, e_over_g, air, hz_sd, said)
    slenderness = piece.length_mm / piece.thickness_mm
    factor = shear_correction(slenderness, e_over_g)
    slender = beam_e_mpa(piece.density_kg_m3 * (1 + air), hz[first], piece.length_mm, piece.thickness_mm)
    e_mpa = float(slender * factor)
    by_ratio = (shear_correction(slenderness, e_over_g * 1.01) / factor - 1) / 0.01
    tone = (hz_sd[first] if len(hz_sd) == len(hz) else 0.0) / hz[first] or said.hz_pct / 100
    parts = (
        2 * float(np.hypot(tone, said.model_pct / 100)),
        3 * said.length_mm / piece.length_mm,
        3 * said.thickness_mm / piece.thickness_mm,
        said.width_mm / 5 / piece.width_mm,  # a blank's width is taken with the calliper
        said.weight_g / piece.weight_g,
        by_ratio * ratio_sd,
    )
    spread = float(np.sqrt(sum(part**2 for part in parts)))
    warnings = [] if told else [f"overtones did not tell G: the ratio of {prior.of} is assumed"]
    if len(hz) > 1 and first_hz is None and first > 0:
        warnings.append(f"the first bending is taken to be {hz[first]:.1f} Hz, not the lowest peak")
    return BarInverted(
        e_mpa,
        e_mpa / e_over_g,
        told,
        {"e_along": 100 * spread, "g": 100 * float(np.hypot(spread, ratio_sd))},
        bending,
        100 * (factor - 1),
        100 * air,
        tuple(warnings),
    )


def _first(piece: Piece, hz: Sequence[float], said_hz: float | None, e_over_g: float, air: float) -> int:
    """The peak of the first bending: E must be a wood's and the overtones must follow."""
    if said_hz is not None:
        near = min(range(len(hz)), key=lambda k: abs(hz[k] / said_hz - 1))
        if abs(hz[near] / said_hz - 1) > 0.03:
            raise Mistake(f"there is no peak at {said_hz:g} Hz", do="name one of the peaks")
        return near
    prior = expected(None, piece.density_kg_m3)
    slenderness = piece.length_mm / piece.thickness_mm
    factor = shear_correction(slenderness, e_over_g)
    overtones = np.sqrt(np.array(_bent_squared(slenderness, e_over_g, 3)))
    costs = []
    for one in hz:
        rho = piece.density_kg_m3 * (1 + air)
        e_mpa = beam_e_mpa(rho, one, piece.length_mm, piece.thickness_mm) * factor
        cost = (log(e_mpa / prior.elastic.e_along_mpa) / prior.e_along_off) ** 2 / 2
        for overtone in overtones[1:] / overtones[0] * one:
            cost -= 1.0 if min(abs(np.log(np.array(hz) / overtone))) < _SAME_WITHIN else 0.0
        costs.append(cost)
    best = int(np.argmin(costs))
    if costs[best] > 9:
        raise Mistake(
            "no peak gives a stiffness that wood of this weight has",
            do="check size and weight, and that the bar lies on two soft supports 22 % from its ends",
        )
    return best


def _overtones(
    piece: Piece,
    hz: Sequence[float],
    first: int,
    e_over_g: float,
    air: float,
    hz_sd: Sequence[float],
    said: Doubts,
) -> tuple[tuple[int | None, ...], bool, float, float]:
    """Peaks of the first three bendings; E over G by least squares with the species' as a weak wish.

    Each overtone narrows E over G, and so where the next one must lie.

    Returns:
        peaks, whether the overtones told more than the wish, E over G, and its relative spread.
    """
    slenderness, wish_sd = piece.length_mm / piece.thickness_mm, 0.25
    tone = float(np.hypot(said.hz_pct, said.model_pct)) / 100 * 2**0.5
    log_ratio, spread, found = log(e_over_g), wish_sd, [first]
    for n in (1, 2):
        overtone, slope = _overtone(slenderness, log_ratio, n)
        off = [log(one / hz[first]) - overtone for one in hz]
        near = min(range(len(hz)), key=lambda k: abs(off[k]))
        if near in found or abs(off[near]) > _SAME_WITHIN + 2 * abs(slope) * spread:
            break
        found.append(near)
        log_ratio, spread = _narrowed(slenderness, n, log(hz[near] / hz[first]), tone, log_ratio, spread)
    told = slenderness <= _THICK_ENOUGH and spread < wish_sd / 2
    heard = tuple(found[n] if n < len(found) else None for n in range(3))
    return heard, told, float(np.exp(log_ratio)), spread


def _narrowed(
    slenderness: float, n: int, heard: float, tone: float, wish: float, wish_sd: float
) -> tuple[float, float]:
    """Log of E over G and its spread from one overtone, by least squares with a wish."""
    at, information = wish, wish_sd**-2
    for _ in range(4):
        overtone, slope = _overtone(slenderness, at, n)
        information = wish_sd**-2 + (slope / tone) ** 2
        at += ((wish - at) / wish_sd**2 + slope * (heard - overtone) / tone**2) / information
    return at, information**-0.5


def _overtone(slenderness: float, log_ratio: float, n: int) -> tuple[float, float]:
    """Log of overtone n over the first bending, and its derivative by log of E over G."""
    now, more = (
        np.sqrt(np.array(_bent_squared(slenderness, float(np.exp(log_ratio + d)), 3))) for d in (0, 0.01)
    )
    overtone = log(now[n] / now[0])
    return overtone, (log(more[n] / more[0]) - overtone) / 0.01
