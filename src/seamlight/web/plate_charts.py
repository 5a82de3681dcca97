"""The charts of a plate's page as numbers for its template: spectrum, cloud of past plates, thickness map."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from math import log10

import numpy as np

from seamlight.plate import TapDocument
from seamlight.plate.document import PeakPart
from seamlight.plate.thickness_map import Readings, surface
from seamlight.shop.plate_bench import PastPlate

WIDE, HIGH = 1000.0, 340.0
FLOOR_DB, TOP_DB = -60.0, 6.0
_ROWS = {"twist": 0, "along": 1, "across": 2}
_FREQUENCIES = (10, 20, 30, 50, 70, 100, 150, 200, 300, 500, 700, 1000, 1500, 2000, 3000)


@dataclass(frozen=True)
class Mark:
    """One peak on the chart; `row` staggers the names of those that have one."""

    x: float
    y: float
    row: int
    peak: PeakPart


@dataclass(frozen=True)
class SpectrumChart:
    """A spectrum in a box of `WIDE` x `HIGH`, logarithmic in frequency; `data` is the same for the script."""

    line: str
    marks: tuple[Mark, ...]
    ticks: tuple[tuple[float, str], ...]
    data: str
    measured: bool


def spectrum_chart(
    document: TapDocument, curve: Sequence[tuple[float, float]] = (), decimals: int = 2
) -> SpectrumChart | None:
    """A reading's spectrum: as measured, where that is kept, else as its fitted peaks make it.

    Args:
        curve: (Hz, dB beside the loudest peak of the wood).
    """
    if not document.peaks:
        return None
    named = [peak.hz for peak in document.peaks if peak.mode != "other"] or [document.peaks[0].hz]
    low, high = min(named) / 1.8, max(max(named) * 2.2, min(named) * 5)
    most = max(high, max(peak.hz for peak in document.peaks) * 1.1)
    every = list(curve) or fitted_curve(document.peaks, low / 2, most)
    high = min(high, every[-1][0])
    points = [one for one in every if low <= one[0] <= high]
    span = log10(high / low)

    def x(hz: float) -> float:
        return WIDE * log10(hz / low) / span

    line = "M" + "L".join(f"{x(hz):.1f} {level_y(db):.1f}" for hz, db in points)
    tops = {peak.hz: _top(every, peak) for peak in document.peaks}
    marks = tuple(
        Mark(x(peak.hz), level_y(tops[peak.hz]), _ROWS.get(peak.mode, -1), peak)
        for peak in document.peaks
        if low <= peak.hz <= high
    )
    ticks = [(x(hz), f"{hz:,}".replace(",", "\N{NO-BREAK SPACE}")) for hz in _FREQUENCIES if low < hz < high]
    apart: list[tuple[float, str]] = []
    for tick in ticks:
        if not apart or tick[0] - apart[-1][0] > 120:
            apart.append(tick)
    data = json.dumps(
        {
            "low": round(low, decimals),
            "high": round(high, decimals),
            "curve": [(round(hz, decimals), round(db, 1)) for hz, db in every],
            "peaks": [(round(p.hz, decimals), round(tops[p.hz], 1), p.mode, p.kind) for p in document.peaks],
        }
    )
    return SpectrumChart(line, marks, tuple(apart), data, bool(curve))


def _top(curve: Sequence[tuple[float, float]], peak: PeakPart) -> float:
    """The curve's top at a peak, dB."""
    near = [db for hz, db in curve if abs(hz / peak.hz - 1) < 0.01]
    return max(near, default=peak.level_db)


def level_y(level_db: float) -> float:
    """Where a level lies, from the top."""
    return HIGH * (TOP_DB - max(FLOOR_DB, min(TOP_DB, level_db))) / (TOP_DB - FLOOR_DB)


def fitted_curve(peaks: Sequence[PeakPart], low_hz: float, high_hz: float) -> list[tuple[float, float]]:
    """What damped partials add up to, dB; a point at each peak's top, so that none is cut off."""
    even = np.geomspace(low_hz, high_hz, 500)
    near = [peak.hz * (1 + np.linspace(-2, 2, 17) / (2 * (peak.q or 60))) for peak in peaks]
    hz = np.unique(np.concatenate([even, *near]))
    hz = hz[(hz >= low_hz) & (hz <= high_hz)]
    power = np.full(len(hz), 10 ** (FLOOR_DB / 10))
    for peak in peaks:
        # resonance of one degree of freedom near its frequency: 1 / (1 + (2 Q (f - f0) / f0)^2)
        power += 10 ** (peak.level_db / 10) / (1 + (2 * (peak.q or 60) * (hz / peak.hz - 1)) ** 2)
    return list(zip(hz.tolist(), (10 * np.log10(power)).tolist(), strict=True))


@dataclass(frozen=True)
class CloudPoint:
    """One plate of the cloud; `this` is the one in hand."""

    x: float
    y: float
    says: str
    href: str
    this: bool


@dataclass(frozen=True)
class Cloud:
    """Past plates by density and E along in a box of `WIDE` x 640, with the species' published range."""

    points: tuple[CloudPoint, ...]
    band: tuple[float, float, float, float] | None  # x, y, width, height
    x_ticks: tuple[tuple[float, str], ...]
    y_ticks: tuple[tuple[float, str], ...]
    source: str


CLOUD_HIGH = 640.0


def cloud(document: TapDocument, past: Sequence[PastPlate], this_id: int | None) -> Cloud | None:
    """This plate among the shop's and its species'; None where its density or E along is not known."""
    if not document.density_kg_m3 or not document.e_along_mpa:
        return None
    others = [one for one in past if one.reading_id != this_id]
    beside = {row.what.split(",")[0]: row for row in document.beside}
    range_e, range_d = beside.get("E along"), beside.get("density")
    densities = [document.density_kg_m3, *(one.density_kg_m3 for one in others)]
    moduli = [document.e_along_mpa, *(one.e_along_mpa for one in others)]
    if range_e and range_d:
        densities += [range_d.low, range_d.high]
        moduli += [range_e.low, range_e.high]
    x0, x1 = _ends(densities, 50.0)
    y0, y1 = _ends([one / 1000 for one in moduli], 2.0)

    def place(density: float, e_mpa: float) -> tuple[float, float]:
        return WIDE * (density - x0) / (x1 - x0), CLOUD_HIGH * (1 - (e_mpa / 1000 - y0) / (y1 - y0))

    points = [
        CloudPoint(
            *place(one.density_kg_m3, one.e_along_mpa),
            f"{one.label}{', ' + one.species if one.species else ''}: {one.density_kg_m3:.0f} kg/m³, E along"
            f" {one.e_along_mpa / 1000:.1f} GPa",
            f"/wood/pairs/{one.pair_id}/plate",
            False,
        )
        for one in others
    ]
    here = place(document.density_kg_m3, document.e_along_mpa)
    points.append(
        CloudPoint(
            *here,
            f"this plate: {document.density_kg_m3:.0f} kg/m³, E along {document.e_along_mpa / 1000:.1f} GPa",
            "",
            True,
        )
    )
    band = None
    if range_e and range_d:
        left, top = place(range_d.low, range_e.high)
        right, bottom = place(range_d.high, range_e.low)
        band = (left, top, right - left, bottom - top)
    return Cloud(
        tuple(points),
        band,
        tuple((WIDE * (v - x0) / (x1 - x0), f"{v:.0f}") for v in _steps(x0, x1)),
        tuple((CLOUD_HIGH * (1 - (v - y0) / (y1 - y0)), f"{v:g}") for v in _steps(y0, y1)),
        range_e.source if range_e else "",
    )


def _ends(values: Sequence[float], step: float) -> tuple[float, float]:
    """Round ends of an axis with room on both sides."""
    low, high = min(values), max(values)
    return step * np.floor(low / step - 0.4), step * np.ceil(high / step + 0.4)


def _steps(low: float, high: float) -> list[float]:
    """Three to six round values on an axis."""
    raw = (high - low) / 4
    size = 10 ** np.floor(np.log10(raw))
    step = float(next(size * times for times in (1, 2, 5, 10) if size * times >= raw))
    first = step * np.ceil(low / step)
    return [float(v) for v in np.arange(first, high + step / 100, step)]


@dataclass(frozen=True)
class MapChart:
    """A thickness map, grain upright, in mm: squares (x, y, wide, high, class), figures (x, y, mm left)."""

    wide_mm: float
    long_mm: float
    squares: tuple[tuple[float, float, float, float, str], ...]
    figures: tuple[tuple[float, float, float], ...]


def map_chart(readings: Readings, left_mm: Sequence[float], long_mm: float, wide_mm: float) -> MapChart:
    """What is left over the target, between the readings too."""
    left = np.asarray(left_mm, dtype=np.float64)
    rows, columns = 28, 14
    along, across = (
        (np.arange(rows) + 0.5) / rows * long_mm,
        (np.arange(columns) + 0.5) / columns * wide_mm,
    )
    values = surface(readings, left, along, across)
    squares = tuple(
        (j * wide_mm / columns, i * long_mm / rows, wide_mm / columns, long_mm / rows, _step(values[i, j]))
        for i in range(rows)
        for j in range(columns)
        if np.isfinite(values[i, j])
    )
    figures = tuple(
        (float(y), float(x), float(value)) for (x, y), value in zip(readings.at_mm, left, strict=True)
    )
    return MapChart(wide_mm, long_mm, squares, figures)


def _step(left_mm: float) -> str:
    """How a place is shaded: under the target, at it, or more and more over it."""
    if left_mm < -0.05:
        return "under"
    return next(
        (name for name, most in (("at", 0.05), ("some", 0.3), ("more", 0.8)) if left_mm <= most), "most"
    )
