"""What pins the phone's curve down: the shims, the lamp, and the likeness of all the line's profiles.

A gap narrower than a pixel makes a line whose shape is the lens's blur and whose amount is the gap. Both
shims and, where it is seen, the bare lamp are known points of the curve; in between it is bent only so much
that the lines of all widths look like one slit, wider or narrower, through one lens.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.special import expit, ndtr

from seamlight.seam.light_edge import Edge
from seamlight.seam.light_measure import END_MM, Cut, seen_px
from seamlight.seam.optics import Sight, offset_mm
from seamlight.seam.tone_curve import KNOTS, Tone

Floats = NDArray[np.float64]

SHIM_MM = 10.0  # the stretch at either end over which a shim's gap is read
SHIM_DOUBT = 0.015  # of a shim's light: even after the noise is averaged out
_BIN_MM = 12.0
_PER_PX = 3
_SHAPE_DOUBT = (0.001, 0.01)  # of full light, and of a line's own: the true blur is no Gaussian
_SHAPES = 500.0  # how many independent looks all the profiles together count as
_LAMP_DOUBT = 0.02
_AT_ODDS = (4.0, 4.5)  # shims, lamp: in units of their doubt
_EDGE_DOUBT, _EDGES = 0.005, 8.0  # of full light; independent looks at each edge
_BEND_DOUBT, _KINK_DOUBT = 3.0, 0.2  # of the log of light; of its second difference
_LEAST_SLOPE = 0.05  # of sRGB's: where a curve hardly rises, light says little of codes

# places of the parameters behind those of the curve
_N = len(KNOTS)
_SOFT, _BOX, _HALO, _WIDE, _LAMP, _WALLS, _GLOW, _FARTHER, _PEAK = range(_N, _N + 9)


def end_weights(s_mm: Floats, values: Floats, at_mm: float) -> Floats:
    """(n,) weights whose sum over values is their straight line's value at one end.

    The line is fitted over the stretch that a shim holds open; a shim's own shadow is left out.
    """
    away = np.abs(s_mm - at_mm)
    use = (away > END_MM) & (away < SHIM_MM)
    usual = float(np.median(values[use]))
    use &= (away > 5.0) | (values > 0.5 * usual)
    rows = np.column_stack([np.ones(use.sum()), away[use]])
    weights = np.zeros(len(s_mm))
    weights[use] = np.linalg.pinv(rows)[0]
    return weights


class LightFit:
    """Residuals of everything known about the light, in units of its doubt.

    Parameters: the curve at its knots; the blur: log of its softness and of its box (px), share of light in a
    halo, log of the halo's scale (px); log of the lamp's brightness over what it is taken for; gap lost to
    the walls (mm); how much more the wood glows at its edges (px of its glow beside); log of the blur at the
    leaves' ends over that at the seam; two numbers for a blur flatter or more peaked. Pixels enter once, as
    counts of codes.
    """

    def __init__(
        self,
        cut: Cut,
        lamp: Floats | None,
        shims: tuple[float, float],
        sight: Sight,
        edges: Sequence[Edge] = (),
    ) -> None:
        self.edges = edges
        self.lamp, self.shims, self.px_per_mm = lamp, np.array(shims), cut.px_per_mm
        self.usual_lost = offset_mm(sight)
        last = max(int(cut.length_mm // _BIN_MM) - 1, 0)
        self.bin = np.minimum(cut.s_mm / _BIN_MM, last).astype(int)
        self.bins = last + 1
        self._count_columns(cut)
        self._count_cells(cut)

    def _count_columns(self, cut: Cut) -> None:
        """Light of the seam in each bin and at each end as sums over codes."""
        first = seen_px(cut, Tone())
        inner = (cut.s_mm > END_MM) & (cut.s_mm < cut.length_mm - END_MM)
        per_bin = np.maximum(np.bincount(self.bin[inner], minlength=self.bins), 1)
        mean = np.zeros((self.bins, len(cut.s_mm)))
        mean[self.bin, np.arange(len(cut.s_mm))] = inner / per_bin[self.bin]
        ends = [end_weights(cut.s_mm, first, at) for at in (0.0, cut.length_mm)]
        self.mean, self.ends = mean, np.array(ends)
        within_count = cut.within.sum(axis=0) * cut.cosine
        within = _codes(cut, cut.within, np.broadcast_to(cut.cosine, cut.luma.shape))
        share = np.maximum(cut.beside.sum(axis=0), 1)
        has = np.asarray(cut.beside.any(axis=0), dtype=np.bool_)
        self.glow_codes = self._evened(mean, has) @ _codes(cut, cut.beside, 1.0 / share[None, :])
        self.ends_glow = self._evened(np.abs(self.ends), has) @ _codes(cut, cut.beside, 1.0 / share[None, :])
        self.bin_codes = mean @ within - (mean @ within_count)[:, None] * self.glow_codes
        self.end_codes = self.ends @ within - (self.ends @ within_count)[:, None] * self.ends_glow

    @staticmethod
    def _evened(weights: Floats, has: NDArray[np.bool_]) -> Floats:
        """Rows of weights kept to columns that show wood, summing to 1."""
        kept = weights * has[None, :]
        return np.asarray(kept / np.maximum(kept.sum(axis=1, keepdims=True), 1e-12))

    def _count_cells(self, cut: Cut) -> None:
        """Codes in each cell of bin and distance from the seam."""
        inner = (cut.s_mm > END_MM) & (cut.s_mm < cut.length_mm - END_MM)
        rows = cut.within & inner[None, :]
        fine = np.rint(cut.away_px[rows] * _PER_PX).astype(int)
        wide = int(np.ptp(fine)) + 1
        which = np.broadcast_to(self.bin, rows.shape)[rows] * wide + fine - fine.min()
        cells, cell = np.unique(which, return_inverse=True)
        ones = np.ones(len(cell))
        codes = csr_matrix((ones, (cell, cut.luma[rows])), shape=(len(cells), 256))
        count = np.bincount(cell)
        self.cell_codes = csr_matrix(codes.multiply(1.0 / count[:, None]))
        self.cell_away = np.bincount(cell, cut.away_px[rows]) / count
        self.cell_bin = cells // wide
        half = self.half_px = float(np.abs(self.cell_away).max())
        even = np.exp(-np.abs(self.cell_away) / half)
        self.cell_glow = even / (2 * half * (1 - np.exp(-1.0)))
        table = Tone().table()
        plain = np.ones(len(self.bin)) if self.lamp is None else self.lamp
        self.plain_lamp = self.mean @ plain
        width = self.bin_codes @ table / self.plain_lamp
        peak = np.clip(width / 2.5, 0.0, 1.0)[self.cell_bin]
        self.shape_doubt = _SHAPE_DOUBT[0] + _SHAPE_DOUBT[1] * peak
        self.looks = np.sqrt(np.minimum(count, 20) / 20 * _SHAPES / len(cells))

    def start(self) -> Floats:
        return np.asarray(self._columns()[0])

    def scales(self) -> Floats:
        return np.asarray(self._columns()[1])

    def bounds(self) -> tuple[Floats, Floats]:
        return self._columns()[2], self._columns()[3]

    def _columns(self) -> Floats:
        """(4, k) start, scale, least and most of each parameter."""
        lost, px = self.usual_lost, self.px_per_mm
        rest = [
            (-0.3, 0.2, -1.2, 1.5), (0.3, 0.2, -1.2, 2.0), (0.05, 0.05, 0.0, 0.3), (0.4, 0.2, 0.0, 1.2),
            (0.0, 0.1, -1.5, 1.5), (lost, 0.005, lost - 1e-6, lost + 0.15), (0.1 * px, 0.3, 0.0, 1.5 * px),
            (0.0, 0.1, -0.3, 0.7), (0.0, 0.02, -0.2, 0.2), (0.0, 0.02, -0.2, 0.2),
        ]  # fmt: skip
        return np.array([(0.0, 0.2, -3.0, 3.0)] * _N + rest).T

    def tone(self, p: Floats) -> Tone:
        """The curve."""
        return Tone(tuple(float(v) for v in p[:_N]))

    def bright(self, p: Floats) -> float:
        """The lamp's brightness over what it is taken for."""
        return float(np.exp(p[_LAMP]))

    def lost_mm(self, p: Floats) -> float:
        """Gap lost to the walls."""
        return float(p[_WALLS])

    def edge_glow_px(self, p: Floats) -> float:
        """How much more the wood glows at its edges."""
        return float(p[_GLOW])

    def lamp_at(self, p: Floats) -> Floats:
        """(n,) the lamp's light along the joint as the fitted curve has it."""
        if self.lamp is None:
            return np.full(len(self.bin), self.bright(p))
        return np.asarray(self.tone(p).light_of(self.lamp) * self.bright(p))

    def ends_mm(self, p: Floats) -> Floats:
        """(2,) width of bare lamp seen at the ends."""
        lamp = self.ends @ self.lamp_at(p)
        codes = self.end_codes - p[_GLOW] * self.ends_glow
        return np.asarray(codes @ self.tone(p).table() / lamp / self.px_per_mm / self.held(p))

    def held(self, p: Floats) -> float:
        """Share of a thin line's light within the columns' window: what strays farther is not summed."""
        x = np.array([-self.half_px, self.half_px])
        return float(np.diff(_edge_light(x, p))[0])

    def at_odds(self, p: Floats) -> bool:
        """Whether the best fit still leaves the shims or the lamp far from what they are known to be."""
        lamp = self.lamp is not None and abs(p[_LAMP]) / _LAMP_DOUBT > _AT_ODDS[1]
        return lamp or bool(np.any(np.abs(self._shim(p)) > _AT_ODDS[0]))

    def residuals(self, p: Floats) -> Floats:
        """All of them."""
        lamp = _LAMP_DOUBT if self.lamp is not None else 1.0
        priors = [
            *self._bends(p), p[_SOFT] / 1.0, p[_BOX] / 1.0, p[_HALO] / 0.1, (p[_WIDE] - 0.4) / 0.4,
            p[_LAMP] / lamp, (p[_WALLS] - self.usual_lost) / 0.01, (p[_GLOW] / self.px_per_mm - 0.1) / 0.2,
            p[_FARTHER] / 0.03, p[_PEAK] / 0.05, p[_PEAK + 1] / 0.05,
        ]  # fmt: skip
        return np.concatenate([self._shim(p), self._shape(p), self._edge(p), priors])

    @staticmethod
    def _bends(p: Floats) -> Floats:
        """How far the curve bends, and how it kinks."""
        x, f = np.array([*KNOTS, 1.0]), np.array([*p[:_N], 0.0])
        left, right = np.diff(x)[:-1], np.diff(x)[1:]
        slopes = np.diff(f) / np.diff(x)
        kinks = np.diff(slopes) * 2 * left * right / (left + right)
        return np.concatenate([f[:-1] / _BEND_DOUBT, kinks / _KINK_DOUBT])

    def _shim(self, p: Floats) -> Floats:
        """How far the light at both ends is from that of the shims."""
        ends = np.maximum(self.ends_mm(p), 1e-4)
        expected = np.maximum(self.shims - p[_WALLS], 2e-3)
        doubt = np.maximum(SHIM_DOUBT, 0.001 / self.shims)
        return np.asarray(np.log(ends / expected) / doubt)

    def _shape(self, p: Floats) -> Floats:
        """How far each profile is from a slit of its own width seen through one lens."""
        table = self.tone(p).table()
        lamp = self.mean @ self.lamp_at(p)
        above = self.cell_codes @ table - (self.glow_codes @ table)[self.cell_bin] * (
            1 + p[_GLOW] * self.cell_glow
        )
        bright = np.maximum(above, 0.0)
        weight = np.bincount(self.cell_bin, bright, self.bins) + 1e-9
        centre = np.bincount(self.cell_bin, bright * self.cell_away, self.bins) / weight
        width = (self.bin_codes - p[_GLOW] * self.glow_codes) @ table / lamp
        off, half = self.cell_away - centre[self.cell_bin], width[self.cell_bin] / 2
        slit = _edge_light(off + half, p) - _edge_light(off - half, p)
        differ = above / lamp[self.cell_bin] - slit
        # where exactly the line lies and how much light it has in all is not known that well
        shift = _edge_light(off + half + 0.05, p) - _edge_light(off - half + 0.05, p)
        shift -= _edge_light(off + half - 0.05, p) - _edge_light(off - half - 0.05, p)
        for way in (shift, slit):
            part = np.bincount(self.cell_bin, differ * way, self.bins)
            whole = np.bincount(self.cell_bin, way * way, self.bins) + 1e-12
            differ = differ - (part / whole)[self.cell_bin] * way
        # as a difference of codes: else a curve that makes everything darker would seem to fit better
        slope = np.maximum(self.cell_codes @ self.tone(p).slope(), _LEAST_SLOPE)
        as_coded = differ * lamp[self.cell_bin] / slope / self.plain_lamp[self.cell_bin]
        return np.asarray(as_coded / self.shape_doubt * self.looks)

    def _edge(self, p: Floats) -> Floats:
        """How far each leaf's end is from an even edge through the same lens."""
        table = self.tone(p).table()
        off, far = [np.zeros(0)], np.exp(p[_FARTHER])
        for edge in self.edges:
            x, light = edge.light(table)
            differ = light - _edge_light(x / far, p)
            # where exactly the edge lies is not known: what a shift would explain says nothing
            shift = _edge_light(x / far + 0.05, p) - _edge_light(x / far - 0.05, p)
            differ = differ - shift * (differ @ shift) / (shift @ shift)
            slope = np.maximum(edge.codes @ self.tone(p).slope(), _LEAST_SLOPE)
            differ = differ / slope * edge.span(table) / edge.span(Tone().table())
            off.append(differ / _EDGE_DOUBT * np.sqrt(_EDGES / len(x)))
        return np.concatenate(off)


def _edge_light(x: Floats, p: Floats) -> Floats:
    """Light 0..1 across an even edge: a Gaussian widened by a box (pixel, focus), and a halo."""
    soft, box, halo, wide = np.exp(p[_SOFT]), np.exp(p[_BOX]), p[_HALO], np.exp(p[_WIDE])

    def ramp(at: Floats) -> Floats:
        # integral of the normal distribution function
        return np.asarray(at * ndtr(at / soft) + soft * np.exp(-0.5 * (at / soft) ** 2) / np.sqrt(2 * np.pi))

    core = (ramp(x + box / 2) - ramp(x - box / 2)) / box
    # Gram-Charlier series (Abramowitz and Stegun 26.2.47): flatter or more peaked, neither wider nor shifted
    z = x / np.sqrt(soft**2 + box**2 / 12)
    bell = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    core = core + bell * (p[_PEAK] * (z**3 - 3 * z) + p[_PEAK + 1] * (z**5 - 10 * z**3 + 15 * z) / 4)
    return np.asarray((1 - halo) * core + halo * expit(x / wide))


def _codes(cut: Cut, where: NDArray[np.bool_], weight: Floats) -> csr_matrix:
    """(n, 256) how much of each code lies in each column, weighted."""
    columns = np.broadcast_to(np.arange(len(cut.s_mm)), where.shape)[where]
    weights = np.broadcast_to(weight, where.shape)[where]
    return csr_matrix((weights, (columns, cut.luma[where])), shape=(len(cut.s_mm), 256))
