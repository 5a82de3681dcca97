"""The fixed table of candled joints on which readings are judged; the readers were tuned on other seeds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from seamlight.demo.seam_light import CandledJoint, Candling

Array = NDArray[np.float64]
Shape = Literal["hollow", "small", "wavy", "wide", "bumps", "faint"]

LENGTH_MM = 550.0
FIRST_SEED = 101  # 1 to 99 are for tuning


@dataclass(frozen=True)
class SeamCase:
    """One picture: a gap's shape, its shims, how it was taken."""

    name: str
    seed: int
    shape: Shape
    candling: Candling
    glow: float = 0.003
    hard: bool = False  # reported apart: the light is bent or glows more than the tolerance is stated for

    @property
    def shims_mm(self) -> tuple[float, float]:
        """What holds both ends open."""
        return _SHIMS[self.shape]

    def joint(self) -> CandledJoint:
        """The joint with its shims in."""
        return CandledJoint(gap_of(self.shape, self.seed), LENGTH_MM, glow=self.glow)


_SHIMS: dict[Shape, tuple[float, float]] = {
    "hollow": (0.05, 0.15), "small": (0.03, 0.06), "wavy": (0.05, 0.2), "wide": (0.05, 0.2),
    "bumps": (0.04, 0.1), "faint": (0.03, 0.08),
}  # fmt: skip


def gap_of(shape: Shape, seed: int) -> Array:
    """(1101,) gap along the joint, shims in, 0.01 to 0.5 mm."""
    dice = np.random.default_rng([seed, 7])
    t = np.linspace(0.0, 1.0, 1101)
    first, last = _SHIMS[shape]
    wedge = first + (last - first) * t
    at = float(dice.uniform(0.35, 0.65))
    bow = np.sin(np.pi * np.interp(t, [0, at, 1], [0, 0.5, 1]))
    if shape == "hollow":
        return np.asarray(wedge + 0.2 * bow)
    if shape == "wide":
        return np.asarray(wedge + 0.34 * bow)
    if shape == "small":
        return np.asarray(wedge - 0.022 * bow)
    if shape == "wavy":
        return np.asarray(wedge + 0.015 * np.sin(np.pi * t) * np.sin(2 * np.pi * (4 * t + at)))
    if shape == "faint":
        return np.asarray(wedge - 0.035 * bow)
    bumps = sum(
        float(dice.uniform(0.02, 0.06)) * np.exp(-0.5 * ((t - float(dice.uniform(0.15, 0.85))) / 0.04) ** 2)
        for _ in range(4)
    )
    return np.asarray(wedge + bumps)


CASES: tuple[SeamCase, ...] = (
    SeamCase("plain", 101, "hollow", Candling(slant_deg=1.0)),
    SeamCase("contrast curve, uneven lamp", 102, "hollow",
             Candling(slant_deg=-2.2, tone="contrast", uneven=0.25, vignette=0.2)),
    SeamCase("filmic curve, uneven lamp, noise", 103, "bumps",
             Candling(slant_deg=3.1, tone="filmic", uneven=0.2, noise=2.0)),
    SeamCase("small gaps, turned upright", 104, "small",
             Candling(slant_deg=91.5, tone="contrast", uneven=0.2)),
    SeamCase("wavy, soft lens", 105, "wavy", Candling(slant_deg=0.7, tone="filmic", blur_px=1.2, uneven=0.2)),
    SeamCase("half a millimetre, coarse JPEG", 106, "wide", Candling(slant_deg=1.8, uneven=0.2, jpeg=85)),
    SeamCase("aslant, neck at the right", 107, "hollow",
             Candling(slant_deg=24.0, turned=True, uneven=0.2, tone="contrast")),
    SeamCase("faint, dim", 108, "faint", Candling(slant_deg=1.2, lamp_level=0.5, uneven=0.15)),
    SeamCase("strong curve, half a millimetre", 109, "wide",
             Candling(slant_deg=1.4, tone="strong", uneven=0.2), hard=True),
    SeamCase("flat curve, hollow", 110, "hollow",
             Candling(slant_deg=2.0, tone="flat", uneven=0.2), hard=True),
    SeamCase("glowing wood", 111, "wavy", Candling(slant_deg=1.5, uneven=0.2), glow=0.02, hard=True),
    SeamCase("glowing wood, contrast curve", 112, "small",
             Candling(slant_deg=1.5, tone="contrast", uneven=0.2), glow=0.02, hard=True),
    SeamCase("camera 2 mm off the plane", 113, "hollow",
             Candling(slant_deg=1.5, off_plane_mm=2.0, uneven=0.2), hard=True),
)  # fmt: skip
