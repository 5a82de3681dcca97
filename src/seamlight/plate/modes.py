"""Which peak is twist, which bending along, which bending across: by predicted order and ratio, and by place.

Every choice of three peaks gives constants; those no wood has fall out, and the rest must also foretell the
other peaks. What a person says always wins.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import exp, log

import numpy as np

from seamlight.mistake import Mistake
from seamlight.plate.model import Surroundings, modes_of, surroundings
from seamlight.plate.named import NAMES, Name, NamedModes, name_modes
from seamlight.plate.peaks import Mode, Peak, Place
from seamlight.plate.piece import Piece
from seamlight.plate.places import place_score
from seamlight.plate.ritz import SYMMETRIES, RitzMode, Symmetry
from seamlight.plate.start import Expected, beam_e_mpa, expected, twist_g_mpa

_MOST_PEAKS = 12
_MOST_TRIED = 24
_PREDICTED_WITHIN = (
    0.02  # relative, standard deviation: shear, wandering grain and thickness are not in the guess
)
_PREDICTED_CAP = 2.0  # a peak that nothing foretells costs no more than this
_UNHEARD = 4.0  # a named mode that no peak shows
_SKIPPED = 0.7  # another mode that no peak shows, below the highest named one
_SURE_FROM = 0.8
_STILL_HZ = 1e-3  # where a trial is so far off that rounding leaves no frequency at all
EVEN_ODD: tuple[Symmetry, Symmetry] = ("ee", "oo")
MIXED: tuple[Symmetry, Symmetry] = ("eo", "oe")

# Quality of a mode: spruce loses 0.006 to 0.010 along the grain, 0.016 to 0.026 across it, and in between
# in shear
# (from memory); other woods, fingers and air scatter it
_QUALITY: dict[Name, float] = {"twist": 70.0, "along": 120.0, "across": 50.0}
_QUALITY_OFF, _QUALITY_CAP = 0.6, 2.0

Choice = dict[Name, int]  # index of the peak, by mode


@dataclass(frozen=True, eq=False)
class Identified:
    """Which peak is which.

    Attributes:
        modes: one a peak, in the order the peaks were given.
        hz: the frequency of each named mode that was heard.
        sure: 0..1, against the other ways to name the peaks; 1 where the person said all.
        warnings: what is in doubt.
    """

    modes: tuple[Mode, ...]
    hz: dict[Name, float]
    sure: float
    warnings: tuple[str, ...] = field(default=())


def identify(
    peaks: Sequence[Peak],
    piece: Piece,
    *,
    species: str | None = None,
    ring_to_face_deg: float | None = None,
    said: Mapping[Name, float] | None = None,
    places: Sequence[Place] = (),
) -> Identified:
    """Name the peaks of a plate.

    Args:
        peaks: what was heard; hum and room tones are passed over.
        said: frequencies of modes as the person has it, Hz; the nearest peak within 3 % is meant.
        places: where the groups of taps were made or the plate was held, as `Peak.level_at_db` counts them.

    Raises:
        Mistake: no peak of the wood, or a said frequency where no peak is.
    """
    wood = [k for k, peak in enumerate(peaks) if peak.kind == "wood"]
    if not wood:
        raise Mistake(
            "no peak of the wood was heard", do="tap again nearer the microphone, in a quieter room"
        )
    fixed = _said(peaks, said or {})
    loudest = sorted(wood, key=lambda k: -peaks[k].level_db)[:_MOST_PEAKS]
    tried = sorted(set(loudest) | set(fixed.values()))
    prior, around = (
        expected(species, piece.density_kg_m3, ring_to_face_deg),
        surroundings(piece, symmetries=SYMMETRIES),
    )
    choices = _choices(peaks, tried, fixed, piece, prior)
    scored = sorted(
        (_score(peaks, choice, start, tried, piece, prior, around, places), k)
        for k, (start, choice) in enumerate(choices)
    )
    best = choices[scored[0][1]][1]
    # each way is as likely as exp of minus its score: Bayes with equal odds beforehand
    odds = [exp(scored[0][0] - score) for score, _ in scored]
    sure = 1.0 if len(fixed) == len(NAMES) else 1 / sum(odds)
    named: list[Mode] = ["other"] * len(peaks)
    for name, k in best.items():
        named[k] = name
    hz = {name: peaks[k].hz for name, k in best.items()}
    second = choices[scored[1][1]][1] if len(scored) > 1 else None
    return Identified(tuple(named), hz, sure, _warnings(peaks, best, second, sure))


def _said(peaks: Sequence[Peak], said: Mapping[Name, float]) -> Choice:
    """The peaks a person named."""
    fixed: Choice = {}
    for name, hz in said.items():
        near = min(range(len(peaks)), key=lambda k: abs(log(peaks[k].hz / hz)))
        if abs(log(peaks[near].hz / hz)) > 0.03:
            raise Mistake(
                f"there is no peak at {hz:g} Hz for {name}",
                do="name one of: " + ", ".join(f"{peak.hz:.1f}" for peak in peaks) + " Hz",
            )
        fixed[name] = near
    if len(set(fixed.values())) < len(fixed):
        raise Mistake("one peak is named twice", do="give each mode a peak of its own")
    return fixed


def _choices(
    peaks: Sequence[Peak], tried: Sequence[int], fixed: Choice, piece: Piece, prior: Expected
) -> list[tuple[float, Choice]]:
    """The likeliest ways to name the peaks with what their one-formula constants cost, best first."""
    options = [[fixed[name]] if name in fixed else [*tried, None] for name in NAMES]
    found: list[tuple[float, Choice]] = []
    for picked in product(*options):
        used = [k for k in picked if k is not None]
        if not used or len(set(used)) < len(used):
            continue
        choice: Choice = {name: k for name, k in zip(NAMES, picked, strict=True) if k is not None}
        found.append((_prior_cost(peaks, choice, piece, prior), choice))
    found.sort(key=lambda one: one[0])
    return found[:_MOST_TRIED]


def _prior_cost(peaks: Sequence[Peak], choice: Choice, piece: Piece, prior: Expected) -> float:
    """How far the one-formula constants are from the wood's, with the long tails that boards have."""
    rho, h, want = piece.density_kg_m3, piece.thickness_mm, prior.elastic
    cost, along = 0.0, want.e_along_mpa
    if "along" in choice:
        along = beam_e_mpa(rho, peaks[choice["along"]].hz, piece.length_mm, h)
        cost += _tail(log(along / want.e_along_mpa) / prior.e_along_off)
    scale = along / want.e_along_mpa
    if "across" in choice:
        across = beam_e_mpa(rho, peaks[choice["across"]].hz, piece.width_mm, h)
        cost += _tail(log(across / want.e_across_mpa / scale) / prior.e_ratio_off)
    if "twist" in choice:
        g = 1.09 * twist_g_mpa(piece, peaks[choice["twist"]].hz)
        cost += _tail(log(g / want.g_mpa / scale) / prior.g_ratio_off)
    cost += sum(_quality_cost(name, peaks[k]) for name, k in choice.items())
    return cost + _UNHEARD * (len(NAMES) - len(choice))


def _quality_cost(name: Name, peak: Peak) -> float:
    """A mode too sharp or too dull for wood is likely none of its own."""
    if not peak.q or peak.q <= 0:
        return 0.0
    return min((log(peak.q / _QUALITY[name]) / _QUALITY_OFF) ** 2 / 2, _QUALITY_CAP)


def _tail(off: float) -> float:
    """Cost of being off by so many standard deviations; a rift board is unlikely, not impossible."""
    # Student's t of eight degrees of freedom, less a constant
    return 4.5 * log(1 + off**2 / 8)


def _score(
    peaks: Sequence[Peak],
    choice: Choice,
    start_cost: float,
    tried: Sequence[int],
    piece: Piece,
    prior: Expected,
    around: Surroundings,
    places: Sequence[Place],
) -> float:
    """The cost of one way to name the peaks: of its constants, its silence on other peaks, and its places."""
    hz = {name: peaks[k].hz for name, k in choice.items()}
    named, every = _fitted(piece, hz, prior, around)
    score = start_cost
    for name in choice:
        score += min((log(max(named.modes[name].hz, _STILL_HZ) / hz[name]) / 0.01) ** 2 / 2, 8.0)
    predicted = np.array([max(mode.hz, _STILL_HZ) for mode in every])
    others = np.array([peaks[k].hz for k in tried if k not in choice.values()])
    if len(others):
        off = np.abs(np.log(others[:, None] / predicted)).min(axis=1) / _PREDICTED_WITHIN
        score += float(np.minimum(off**2 / 2, _PREDICTED_CAP).sum())
    heard = np.array([peaks[k].hz for k in tried])
    below = predicted[predicted < max(hz.values()) * 0.98]
    near = np.abs(np.log(below[:, None] / heard)).min(axis=1) if len(below) else np.zeros(0)
    score += _SKIPPED * float((near > 2 * _PREDICTED_WITHIN).sum())
    if len(places) > 1:
        score += sum(place_score(named.modes[name], peaks[k], places) for name, k in choice.items())
    return score


def _fitted(
    piece: Piece, hz: Mapping[Name, float], prior: Expected, around: Surroundings
) -> tuple[NamedModes, list[RitzMode]]:
    """The thin plate fitted to the named peaks, and all of its lower modes."""
    rho, h, want = piece.density_kg_m3, piece.thickness_mm, prior.elastic
    along = beam_e_mpa(rho, hz["along"], piece.length_mm, h) if "along" in hz else want.e_along_mpa
    scale = along / want.e_along_mpa
    logs = np.log([along, want.e_across_mpa * scale, want.g_mpa * scale])
    if "across" in hz:
        logs[1] = log(beam_e_mpa(rho, hz["across"], piece.width_mm, h))
    if "twist" in hz:
        logs[2] = log(1.09 * twist_g_mpa(piece, hz["twist"]))
    own: dict[Name, int] = {"along": 0, "across": 1, "twist": 2}
    even: list[RitzMode] = []
    odd: list[RitzMode] = []
    for _ in range(4):
        elastic = want.at(*(float(x) for x in np.exp(logs)))
        even, odd = (modes_of(s, piece, elastic, around, 4) for s in EVEN_ODD)
        named = name_modes(even, odd)
        steps = {name: 2 * log(hz[name] / max(named.modes[name].hz, _STILL_HZ)) for name in hz}
        if max(abs(step) for step in steps.values()) < 2e-3:
            break
        for name, step in steps.items():
            logs[own[name]] += float(np.clip(step, -0.7, 0.7))
    elastic = want.at(*(float(x) for x in np.exp(logs)))
    rest = [mode for s in MIXED for mode in modes_of(s, piece, elastic, around, 4)]
    return name_modes(even, odd), sorted([*even, *odd, *rest], key=lambda mode: mode.hz)


def _warnings(peaks: Sequence[Peak], best: Choice, second: Choice | None, sure: float) -> tuple[str, ...]:
    lines = [f"no peak was taken for {name}: its constant is not told" for name in NAMES if name not in best]
    if sure < _SURE_FROM and second is not None:
        other = ", ".join(f"{name} {peaks[k].hz:.1f} Hz" for name, k in second.items())
        lines.append(
            f"which peak is which is not sure ({100 * sure:.0f} %); it could also be {other}: tap again at"
            " another place, or name the peaks"
        )
    return tuple(lines)
