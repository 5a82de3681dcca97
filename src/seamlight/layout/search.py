"""The coarse search: which of the four ways leaf B lies, and roughly where its figure meets A's."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import cv2
import numpy as np
import scipy.fft
from scipy.ndimage import maximum_filter1d

from seamlight.layout.carry import carry_to_b
from seamlight.layout.figure import ACROSS_PX_PER_MM, ALONG_PX_PER_MM, STEPS, VOID, Figure, Lines
from seamlight.layout.lean import STRAIGHT, Lean, lean_shift, leans
from seamlight.layout.pair import Registration
from seamlight.photo.flat import Mask, Points

Way = tuple[Literal["sawn", "other"], bool]  # the face B shows, and whether it was turned end for end
WAYS: tuple[Way, ...] = (("sawn", False), ("other", False), ("sawn", True), ("other", True))

_ROW_MM = 2.0  # of the coarse picture, along
_BAND_ROWS = 20
_COLUMN_MM = 36.0
_REACH_ACROSS_MM = 16.0
_REACH_ALONG_MM = 40.0
_TURNS_DEG = np.arange(-1.6, 1.61, 0.1)
_KIN_MM = (-500.0, -120.0, -60.0, -20.0, 20.0, 60.0, 120.0)  # piths that give like leans lie between these
_NEAR_ROWS = 4  # of slide that the lean may still change
_BEND_MM = 1.0  # how much more one column may have moved than its neighbour


@dataclass(frozen=True, eq=False)
class Start:
    """Where the fine fit starts: a way, its rigid registration and how well the coarse picture agrees."""

    score: float
    registration: Registration
    lean: Lean

    @property
    def way(self) -> Way:
        """How B lies."""
        return self.registration.b_shows, self.registration.b_turned


@dataclass(frozen=True, eq=False)
class Ground:
    """A's grid as B is laid on it: both leaves' sizes and B's sheet of values."""

    sheet_b: Lines
    size_a_mm: tuple[float, float]
    size_b_mm: tuple[float, float]
    shape: tuple[int, int]  # of A's grid

    @classmethod
    def of(cls, figure_a: Figure, figure_b: Figure) -> Ground:
        """The ground of two figures."""
        shape = (figure_a.lines.shape[0], figure_a.lines.shape[1])
        return cls(figure_b.sheet(), figure_a.size_mm, figure_b.size_mm, shape)

    def lay(
        self, registration: Registration, shift_mm: tuple[Lines, Lines] | None = None, every: int = 1
    ) -> tuple[Lines, Mask]:
        """B's figure as it lies in A's frame: (h, w) values and where they are wood.

        `shift_mm` (across, along) moves each place of A's grid further, as the fine fit found, on rows
        `every` px apart.
        """
        matrix = self._to_b(registration)
        height, width = self.shape
        if shift_mm is None:
            flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
            laid = cv2.warpAffine(self.sheet_b, matrix, (width, height), flags=flags, borderValue=VOID)
        else:
            columns = np.arange(width, dtype=np.float32) - shift_mm[0] * np.float32(ACROSS_PX_PER_MM)
            rows = np.arange(0, height, every, dtype=np.float32)[:, None] - shift_mm[1]
            x, y = (np.float32(m[0]) * columns + np.float32(m[1]) * rows + np.float32(m[2]) for m in matrix)
            laid = cv2.remap(
                self.sheet_b, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=VOID
            )
        kept = laid > -128 / STEPS  # less wherever anything void has mixed in
        return np.where(kept, laid, np.float32(0)), kept

    def _to_b(self, registration: Registration) -> Points:
        """The (2, 3) matrix from A's px to B's px."""
        per_mm = np.array([ACROSS_PX_PER_MM, ALONG_PX_PER_MM])
        corners = np.array([[0.5, 0.5], [1.5, 0.5], [0.5, 1.5]]) / per_mm
        in_b = carry_to_b(registration, self.size_a_mm, self.size_b_mm, corners) * per_mm
        return np.column_stack([in_b[1] - in_b[0], in_b[2] - in_b[0], in_b[0] - 0.5])


def starts(figure_a: Figure, figure_b: Figure) -> list[Start]:
    """Starts for every way that B may lie and several leans, the likeliest first.

    Tiles of B are correlated with A around the place where they should lie; sums over tiles then tell the
    turn (the shift across grows down the leaf) and the lean (it changes across the leaf) as well.
    """
    tiles = _Tiles.cut(figure_a)
    ground = Ground.of(figure_a, figure_b)
    found = [start for way in WAYS for start in tiles.starts(ground.lay(_lying(way))[0], way)]
    return sorted(found, key=lambda start: -start.score)


def _lying(way: Way) -> Registration:
    return Registration(0.0, b_shows=way[0], b_turned=way[1])


@dataclass(frozen=True, eq=False)
class _Tiles:
    """A's figure cut into overlapping tiles, ready to be correlated."""

    spectra: Lines  # (bands, columns, fft rows, fft columns) complex
    shape: tuple[int, int]  # of the coarse picture
    energy: float
    rows: Points  # (bands,) first row of each band
    lefts: Points  # (columns,) first px of each column
    wide: int
    grid: tuple[int, int]  # fft rows and columns

    @classmethod
    def cut(cls, figure: Figure) -> _Tiles:
        lines = _coarse(figure.values())
        height, width = lines.shape
        wide = min(int(_COLUMN_MM * ACROSS_PX_PER_MM), width)
        columns = max(round(width / wide), 1)
        lefts = np.linspace(0, width - wide, columns).astype(int)
        rows = np.arange(0, max(height - _BAND_ROWS // 2, 1), _BAND_ROWS)
        reach_x, reach_y = _reach()
        grid = (
            scipy.fft.next_fast_len(_BAND_ROWS + 2 * reach_y, real=True),
            scipy.fft.next_fast_len(wide + 2 * reach_x, real=True),
        )
        spectra = scipy.fft.rfft2(_windows(lines, rows, lefts, wide, reach_x, reach_y), s=grid)
        return cls(spectra, lines.shape, float((lines * lines).sum()), rows, lefts, wide, grid)

    def starts(self, laid: Lines, way: Way) -> list[Start]:
        """The best turn, shift across and slide of B laid on A this way, for each kind of lean."""
        lines = _coarse(laid)
        tiles = _windows(lines, self.rows, self.lefts, self.wide, 0, 0)
        product = self.spectra * np.conj(scipy.fft.rfft2(tiles, s=self.grid))
        reach_x, reach_y = _reach()
        surface = scipy.fft.irfft2(product, s=self.grid)[..., : 2 * reach_y + 1, : 2 * reach_x + 1]
        norm = np.sqrt(self.energy * float((lines * lines).sum())) + 1e-9
        return self._summed(surface / np.float32(norm), way)

    def _summed(self, surface: Lines, way: Way) -> list[Start]:
        """Tile surfaces (bands, columns, slide, across) summed along every turn: the best, then the lean.

        While the turn is sought neighbouring columns may differ a little across, since rings that lean more
        move more: chains of columns are summed as Viterbi's algorithm does, for every slide at once.
        """
        middle_y = (self.rows + _BAND_ROWS / 2) * _ROW_MM - self.shape[0] * _ROW_MM / 2
        size = 2 * round(_BEND_MM * ACROSS_PX_PER_MM) + 1
        best, chosen = -1.0, (0.0, 0, surface[0])
        for turn_deg in _TURNS_DEG:
            lean = np.tan(np.radians(turn_deg))
            columns = _shifted_sum(surface, middle_y * lean * ACROSS_PX_PER_MM)
            total = columns[0]
            for column in columns[1:]:
                total = column + maximum_filter1d(total, size, axis=-1, mode="nearest")
            peak = int(np.argmax(total))
            if float(total.flat[peak]) > best:
                best, chosen = float(total.flat[peak]), (float(turn_deg), peak // total.shape[1], columns)
        turn, slide, columns = chosen
        near = max(slide - _NEAR_ROWS, 0)
        return self._leaning(columns[:, near : slide + _NEAR_ROWS + 1], near, turn, way)

    def _leaning(self, columns: Lines, first: int, turn_deg: float, way: Way) -> list[Start]:
        """The best shift across and slide of columns (n, slide, across) that are turned already, from row
        `first` of slide on, for each kin of lean: none; the pith far, near, or under the leaf."""
        reach_x, reach_y = _reach()
        places = (self.lefts + self.wide / 2 - self.shape[1] / 2) / ACROSS_PX_PER_MM
        best: dict[int, Start] = {}
        width_mm = self.shape[1] / ACROSS_PX_PER_MM
        for lean, shifts in _lean_table(tuple(places.round().tolist()), float(round(width_mm))):
            total = _shifted_sum(columns, shifts * -ACROSS_PX_PER_MM)
            peak = int(np.argmax(total))
            score = float(total.flat[peak]) * (1.0 if lean is STRAIGHT else 0.99)
            kin = int(np.digitize(lean.pith_mm, _KIN_MM))
            if kin not in best or score > best[kin].score:
                slide, across = divmod(peak, total.shape[1])
                where = Registration(
                    0.0,
                    b_shows=way[0],
                    b_turned=way[1],
                    slide_mm=(first + slide - reach_y) * _ROW_MM,
                    across_mm=(across - reach_x) / ACROSS_PX_PER_MM,
                    rotate_deg=turn_deg,
                )
                best[kin] = Start(score, where, lean)
        return list(best.values())


@lru_cache(maxsize=16)
def _lean_table(places_mm: tuple[float, ...], width_mm: float) -> list[tuple[Lean, Points]]:
    """Every lean to start from with its shift at these places."""
    return [(lean, lean_shift(lean, np.array(places_mm), width_mm)) for lean in leans()]


def _shifted_sum(surfaces: Lines, shifts_px: Points) -> Lines:
    """Sum over the first axis, each surface first moved back by its own shift along its last axis."""
    total = np.zeros(surfaces.shape[1:], np.float32)
    width = surfaces.shape[-1]
    for surface, shift in zip(surfaces, np.round(shifts_px).astype(int), strict=True):
        low, high = max(0, -shift), min(width, width - shift)
        if low < high:
            total[..., low:high] += surface[..., low + shift : high + shift]
    return total


def _coarse(lines: Lines) -> Lines:
    """Rows of 2 mm."""
    step = int(_ROW_MM * ALONG_PX_PER_MM)
    rows = lines.shape[0] // step
    if rows == 0:
        return lines
    return np.asarray(lines[: rows * step].reshape(rows, step, -1).mean(axis=1), dtype=np.float32)


def _reach() -> tuple[int, int]:
    return int(_REACH_ACROSS_MM * ACROSS_PX_PER_MM), int(_REACH_ALONG_MM / _ROW_MM)


def _windows(lines: Lines, rows: Points, lefts: Points, wide: int, reach_x: int, reach_y: int) -> Lines:
    """(bands, columns, rows, px) pieces with a reach of neighbours all round; 0 beyond the picture."""
    padded = np.pad(lines, ((reach_y, reach_y + _BAND_ROWS), (reach_x, reach_x)))
    high = _BAND_ROWS + 2 * reach_y
    pieces = [
        [padded[row : row + high, left : left + wide + 2 * reach_x] for left in lefts.tolist()]
        for row in rows.tolist()
    ]
    return np.array(pieces, dtype=np.float32)
