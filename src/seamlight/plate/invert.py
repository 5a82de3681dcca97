"""From frequencies to E along, E across and G by least squares, with the spread of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from seamlight.mistake import Mistake
from seamlight.plate.legendre import Array
from seamlight.plate.model import (
    Corrections,
    Surroundings,
    air_share,
    corrections,
    named_modes,
    surroundings,
)
from seamlight.plate.named import NAMES, Name, NamedModes
from seamlight.plate.piece import Piece
from seamlight.plate.start import Expected, beam_e_mpa, expected, twist_g_mpa
from seamlight.plate.stiffness import Elastic

# The constant each mode mostly tells
TELLS: dict[Name, str] = {"twist": "g", "along": "e_along", "across": "e_across"}
_STEPS, _ENOUGH = 12, 1e-9


@dataclass(frozen=True)
class Doubts:
    """Standard deviations of what was measured, for ruler, calliper and kitchen scale; common practice."""

    length_mm: float = 0.5
    width_mm: float = 0.5
    thickness_mm: float = 0.03
    weight_g: float = 0.5
    hz_pct: float = 0.1  # where the taps give none
    nu: float = 0.05
    air_pct: float = 5.0  # of the air's own mass
    model_pct: float = 0.1  # of a frequency: the model
    shear_pct: float = 40.0  # of the shear correction: shear moduli through the thickness are the species'


@dataclass(frozen=True, eq=False)
class Inverted:
    """What the frequencies say.

    Attributes:
        elastic: constants; those in `assumed` are the expected ones of the species.
        spread_pct: standard deviation of each of "e_along", "e_across", "g", percent.
        stiffness_spread_pct: the same of the bending stiffness E h^3, which the calliper hardly touches.
        assumed: names of constants that no mode told.
        model_hz: frequencies of the model at these constants.
        air_pct: mass of the air moving along, percent of the plate's, by mode.
        shear_pct, taper_pct: how much shear and the taper change each frequency, percent.
        mixed: along and across have met and mix.
    """

    elastic: Elastic
    spread_pct: dict[str, float]
    stiffness_spread_pct: dict[str, float]
    assumed: tuple[str, ...]
    model_hz: dict[Name, float]
    air_pct: dict[Name, float]
    shear_pct: dict[Name, float]
    taper_pct: dict[Name, float]
    mixed: bool
    warnings: tuple[str, ...] = field(default=())


def _start(piece: Piece, hz: Mapping[Name, float], prior: Elastic) -> Elastic:
    """One-formula estimates where a mode is there, else the expected constant scaled to E along."""
    rho, h = piece.density_kg_m3, piece.thickness_mm
    along = beam_e_mpa(rho, hz["along"], piece.length_mm, h) if "along" in hz else prior.e_along_mpa
    scale = along / prior.e_along_mpa
    across = (
        beam_e_mpa(rho, hz["across"], piece.width_mm, h) if "across" in hz else prior.e_across_mpa * scale
    )
    g = 1.09 * twist_g_mpa(piece, hz["twist"]) if "twist" in hz else prior.g_mpa * scale
    return prior.at(along, across, g)


def _by_constant(named: NamedModes) -> Array:
    """(3 modes, 3 constants) derivative of log frequency by log E along, E across, G."""
    # Rayleigh: d(omega^2) / omega^2 is the share of strain energy by relative change of its stiffness; the
    # coupling goes with E across
    shares = [named.modes[name].shares for name in NAMES]
    return np.array([[s[0] / 2, (s[1] + s[2]) / 2, s[3] / 2] for s in shares])


def _with(elastic: Elastic, logs: Array) -> Elastic:
    return elastic.at(*(float(x) for x in np.exp(logs)))


def _logs(elastic: Elastic) -> Array:
    return np.log([elastic.e_along_mpa, elastic.e_across_mpa, elastic.g_mpa])


def _solve(
    piece: Piece,
    around: Surroundings,
    target: Array,
    weight: Array,
    prior_logs: Array,
    prior_weight: Array,
    start: Elastic,
) -> tuple[Elastic, NamedModes, Corrections]:
    """Gauss-Newton on logs of frequencies and constants; the corrections are brought up to date once near."""
    named = named_modes(piece, start, around)
    factors, near, elastic = corrections(piece.rectangle(), start, named), False, start
    for _ in range(_STEPS):
        model = np.log([named.modes[name].hz * factors.of(name) for name in NAMES])
        slope = _by_constant(named)
        logs = _logs(elastic)
        left = np.concatenate((slope * weight[:, None], np.diag(prior_weight)))
        right = np.concatenate(((target - model) * weight, (prior_logs - logs) * prior_weight))
        step = np.linalg.lstsq(left, right, rcond=None)[0]
        step *= min(1.0, 0.7 / max(float(np.abs(step).max()), 1e-12))
        elastic = _with(elastic, logs + step)
        named = named_modes(piece, elastic, around)
        if not near and np.abs(step).max() < 0.02:
            near, factors = True, corrections(piece, elastic, named)
        elif near and np.abs(step).max() < _ENOUGH:
            break
    return elastic, named, factors


def invert(
    piece: Piece,
    hz: Mapping[Name, float],
    *,
    hz_sd: Mapping[Name, float] | None = None,
    species: str | None = None,
    ring_to_face_deg: float | None = None,
    doubts: Doubts | None = None,
    around: Surroundings | None = None,
) -> Inverted:
    """Elastic constants of a free plate from the frequencies of its twist, along and across.

    Args:
        hz: what was heard, by mode; one or two suffice, the rest is then assumed from the species.
        hz_sd: standard deviation of each.
        around: the air; still air at 20 degrees C when None.

    Raises:
        Mistake: no frequency, or ones that no wood of this size gives.
    """
    if not hz:
        raise Mistake("no mode of the plate was named", do="say which peak is twist, along or across")
    said, air = doubts or Doubts(), around or surroundings(piece)
    prior = expected(species, piece.density_kg_m3, ring_to_face_deg)
    start = _start(piece, hz, prior.elastic)
    spread_hz = np.array([_log_sd(name, hz, hz_sd or {}, said) for name in NAMES])
    heard = np.array([name in hz for name in NAMES])
    target = np.array([np.log(hz[name]) if name in hz else 0.0 for name in NAMES])
    missing = np.array([key not in {TELLS[n] for n in hz} for key in ("e_along", "e_across", "g")])
    off = np.array([prior.e_along_off, prior.e_ratio_off, prior.g_ratio_off])
    elastic, named, factors = _solve(
        piece,
        air,
        target,
        np.where(heard, 1 / spread_hz, 0.0),
        _logs(start),
        np.where(missing, 1 / off, 0.0),
        start,
    )
    _check(elastic, piece)
    total, stiff = _spreads(piece, named, air, np.array(factors.shear), spread_hz, heard, missing, off, said)
    keys = ("e_along", "e_across", "g")
    return Inverted(
        elastic=elastic,
        spread_pct=dict(zip(keys, 100 * total, strict=True)),
        stiffness_spread_pct=dict(zip(keys, 100 * stiff, strict=True)),
        assumed=tuple(key for key, gone in zip(keys, missing, strict=True) if gone),
        model_hz={name: named.modes[name].hz * factors.of(name) for name in NAMES},
        air_pct={name: 100 * share for name, share in air_share(piece, named, air).items()},
        shear_pct=dict(zip(NAMES, (100 * (f - 1) for f in factors.shear), strict=True)),
        taper_pct=dict(zip(NAMES, (100 * (f - 1) for f in factors.taper), strict=True)),
        mixed=named.mixed,
        warnings=_warnings(named, prior, missing, piece),
    )


def _log_sd(name: Name, hz: Mapping[Name, float], hz_sd: Mapping[Name, float], said: Doubts) -> float:
    if name not in hz:
        return 1.0
    measured = hz_sd.get(name, 0.0) / hz[name] or said.hz_pct / 100
    return float(np.hypot(measured, said.model_pct / 100))


def _spreads(
    piece: Piece,
    named: NamedModes,
    air: Surroundings,
    shear: Array,
    spread_hz: Array,
    heard: Array,
    missing: Array,
    off: Array,
    said: Doubts,
) -> tuple[Array, Array]:
    """Relative standard deviations of the constants: of E and G, and of E h^3 and G h^3."""
    shares = np.array([named.modes[name].shares for name in NAMES])
    own = np.array([1 / (1 + share) for share in air_share(piece, named, air).values()])
    # log frequency by log of length, width, thickness (weight kept), weight, of the air's mass, and by nu
    length = -2 * shares[:, 0] - shares[:, 1] - shares[:, 3] + own / 2
    width = -2 * shares[:, 2] - shares[:, 1] - shares[:, 3] + own / 2
    thick = np.full(3, 1.5)
    by = (
        length * said.length_mm / piece.length_mm,
        width * said.width_mm / piece.width_mm,
        -own / 2 * said.weight_g / piece.weight_g,
        -(1 - own) / 2 * said.air_pct / 100,
        shares[:, 1] / 2 * said.nu / 0.37,
        (1 - shear) * said.shear_pct / 100,
    )
    slope = _by_constant(named)
    left = np.concatenate(
        (slope / spread_hz[:, None] * heard[:, None], np.diag(np.where(missing, 1 / off, 0.0)))
    )
    solve = np.linalg.pinv(left)
    from_hz = solve[:, :3] * heard / spread_hz  # constants by log frequency
    variance = np.einsum("ij,ij->i", solve, solve)
    for effect in by:
        variance = variance + (from_hz @ effect) ** 2
    # E h^3 follows from frequencies and mass alone, so the calliper's doubt is E's only
    calliper = (from_hz @ thick) * said.thickness_mm / piece.thickness_mm
    return np.sqrt(variance + calliper**2), np.sqrt(variance)


def _check(elastic: Elastic, piece: Piece) -> None:
    speed = np.sqrt(elastic.e_along_mpa * 1e6 / piece.density_kg_m3)
    # Woods run from about 2500 to 6500 m/s along the grain (from memory)
    if not 1500 < speed < 8000 or elastic.nu_along * elastic.nu_across > 0.9:
        raise Mistake(
            f"E along comes out {elastic.e_along_mpa / 1000:.3g} GPa, which no wood of"
            f" {piece.density_kg_m3:.0f} kg/m3 has",
            do="check which peak is which mode, and the size and weight",
        )


def _warnings(named: NamedModes, prior: Expected, missing: Array, piece: Piece) -> tuple[str, ...]:
    lines = []
    for gone, what in zip(missing, ("E along", "E across", "G"), strict=True):
        if gone:
            lines.append(f"no mode told {what}: it is assumed from the ratios of {prior.of}")
    if named.mixed:
        lines.append(
            "bending along and across ring at nearly one frequency and mix in this shape: trim the length or"
            " the width by a tenth, or tap strips, to tell them apart"
        )
    if piece.taper:
        lines.append(
            f"the leaf tapers by {100 * piece.taper:.1f} %: it is reckoned as a trapezoid, whose effect on"
            " the frequencies is stated"
        )
    return tuple(lines)
