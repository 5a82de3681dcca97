"""Profiles across the grain, freed of noise and of the picture's blur.

A ring's dark line in a soft picture melts into its neighbour's. How soft the lines are shows in the power
spectrum: for lines drawn with a Gaussian of deviation s it falls as exp(-(2 pi s f)^2), whatever their
distances. The fall is fitted where the figure goes on along the grain, and lines are redrawn as narrow as in
a sharp picture: the inverse filter for a Gaussian, held down by Wiener's weights (Gonzalez and Woods, Digital
Image Processing, chapter on restoration).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from seamlight.grain.field_bands import Float32
from seamlight.grain.field_sharpen import wiener_gain
from seamlight.grain.row_filter import Complex64

Array = NDArray[np.float64]

SHARP_MM = 0.135  # deviation of a line in a sharp picture at 4 px/mm: nothing is made sharper than that
MOST_LIFT = 30.0
BIN_PER_MM = 0.1  # the spectrum's fall is fitted to means over so much,
LOWEST_PER_MM, HIGHEST_PER_MM = 0.5, 1.9  # from rings of 2 mm to the finest that 4 px/mm can show
SURE = 0.3  # least of Wiener's weight for a mean to count
SUREST = 0.8  # the clearest mean must have, else the lines are too rough to say how soft the picture is
FEWEST_BINS = 4
SPARE = 32  # columns that keep the two ends of a profile apart


def sharpened(
    profiles: Float32, seen: NDArray[np.bool_], column_mm: float, apart: int
) -> tuple[Float32, float]:
    """Profiles (stretches, columns) with noise and blur taken out, and the deviation of the noise left.

    Args:
        seen: where there is wood.
        apart: stretches this many apart share no wood, so their noise is independent.
    """
    columns = profiles.shape[1]
    length = fft.next_fast_len(columns + SPARE, real=True)
    spectrum = fft.rfft(profiles, length, axis=1)
    if len(spectrum) <= apart:
        return profiles, 0.0
    gain, noise = wiener_gain(spectrum, apart)
    per_mm = np.arange(len(gain)) / (length * column_mm)
    soft = max(0.0, softness_mm(spectrum, gain, per_mm, apart) ** 2 - SHARP_MM**2)
    lift = np.exp(np.minimum(2 * np.pi**2 * soft * per_mm**2, np.log(MOST_LIFT)))
    weight = (gain * lift).astype(np.float32)
    # Parseval: deviation of the noise that the weights let through, over the wood's share of the picture
    doubled = np.full(len(noise), 2.0)
    doubled[0] = 1.0
    share = max(float(seen.mean()), 0.05)
    left = float(np.sqrt((noise * weight**2 * doubled).sum() / length**2 / share))
    return np.asarray(fft.irfft(spectrum * weight, length, axis=1)[:, :columns], np.float32), left


def softness_mm(spectrum: Complex64, gain: Float32, per_mm: Array, apart: int) -> float:
    """Deviation of the Gaussian that lines are drawn with; 0 where too little of the spectrum is sure."""
    signal = np.real(spectrum[apart:] * np.conj(spectrum[:-apart])).mean(axis=0)
    in_bin = ((per_mm - LOWEST_PER_MM) / BIN_PER_MM).astype(int)
    used = (per_mm >= LOWEST_PER_MM) & (per_mm < HIGHEST_PER_MM)
    count = np.maximum(np.bincount(in_bin[used]), 1)
    power, sure, middle = (
        np.bincount(in_bin[used], weights=part[used]) / count for part in (signal, gain, per_mm)
    )
    told = (power > 0) & (sure > SURE)
    if told.sum() < FEWEST_BINS or sure.max() < SUREST:
        return 0.0
    # log power = a - (2 pi s f)^2
    fall, _ = np.polyfit((2 * np.pi * middle[told]) ** 2, np.log(power[told]), 1)
    return float(np.sqrt(max(0.0, -fall)))
