"""The match number: the correlation of two figures, even spacing held back."""

from __future__ import annotations

import cv2
import numpy as np
import scipy.fft

from seamlight.layout.figure import ACROSS_PX_PER_MM, ALONG_PX_PER_MM, Lines, blurred
from seamlight.photo.flat import Mask

_BLURS_MM = ((0.0, 16.0), (0.3, 16.0))  # across and along
_EVERY = 2  # rows
_EVEN = 0.3  # power of the spectrum that is divided out: 0.5 would make all spacings count alike
_FLOOR = 0.02  # of the spectrum's peak
_SMOOTH = 9  # px of the spectrum
_DETAIL_MM = (2.0, 4.0, 8.0)  # along: pores, specks and fibres end within these

_ASIDE = (6, 3)  # px along and across


def match_number(a: Lines, b: Lines, kept: Mask) -> float:
    """The match of two figures (h, w) laid on each other, where `kept`: the best of three looks.

    Pores, fibres and speckle end within a kerf and match nowhere; seen a little blurred along the grain, or
    both ways, rings that are faint beside them show. Strangers stay strangers at every look.
    """
    weight = kept.astype(np.float32)

    def seen(lines: Lines, across_mm: float, along_mm: float) -> Lines:
        sigmas = across_mm * ACROSS_PX_PER_MM, along_mm * ALONG_PX_PER_MM
        return np.asarray(blurred(lines * weight, *sigmas) / np.maximum(blurred(weight, *sigmas), 0.2))

    looks = [(a, b)] + [(seen(a, *mm), seen(b, *mm)) for mm in _BLURS_MM]
    return max(likeness(one, two, kept) for one, two in looks)


def detail_match(a: Lines, b: Lines, kept: Mask) -> float:
    """How alike (-1..1) two figures (h, w) laid on each other are in what ends within millimetres of grain.

    Rings run on through a kerf; pores, specks and fibres do not. Only two pictures of one face share both, so
    a high number says that one leaf was photographed twice. The least of three looks counts, each at the best
    of shifts by a few px: a fit to rings that run on for long may lie a little off along them.
    """
    weight = kept.astype(np.float32)
    looks = []
    for along_mm in _DETAIL_MM:
        sigma = along_mm * ALONG_PX_PER_MM
        share = np.maximum(blurred(weight, 0.0, sigma), np.float32(0.2))
        one, two = ((lines - blurred(lines * weight, 0.0, sigma) / share) * weight for lines in (a, b))
        looks.append(_best_shifted(one.astype(np.float32), two.astype(np.float32)))
    return min(looks)


def _best_shifted(one: Lines, two: Lines) -> float:
    """The greatest correlation of two (h, w) over shifts by up to _ASIDE px; 0 where there is too little."""
    dy, dx = _ASIDE
    inner = np.ascontiguousarray(one[dy:-dy, dx:-dx])
    if min(inner.shape) < 1 or not inner.any():
        return 0.0
    found = cv2.matchTemplate(np.ascontiguousarray(two), inner, cv2.TM_CCORR_NORMED)
    return float(np.nan_to_num(found, nan=0.0, posinf=0.0, neginf=0.0).max())


def likeness(a: Lines, b: Lines, kept: Mask) -> float:
    """Correlation (-1..1) of two figures (h, w) laid on each other, where `kept`; 0 with nothing to compare.

    Rings of very even width look alike in any two logs: a comb laid on a comb. So the spacings that the two
    figures hold most of count a little less, the rest a little more (over half way to a whitened spectrum).
    """
    wood = kept[::_EVERY]
    spectra = [scipy.fft.rfft(lines[::_EVERY] * wood, axis=1) for lines in (a, b)]
    power = sum((np.abs(spectrum) ** 2).mean(axis=0) for spectrum in spectra)
    smooth = np.convolve(power, np.ones(_SMOOTH) / _SMOOTH, "same")
    if not smooth.any():
        return 0.0
    weight = ((smooth / smooth.max() + _FLOOR) ** -_EVEN).astype(np.float32)
    one, two = (scipy.fft.irfft(spectrum * weight, a.shape[1], axis=1)[wood] for spectrum in spectra)
    norm = float(np.sqrt(np.vdot(one, one) * np.vdot(two, two)))
    return float(np.vdot(one, two)) / norm if norm > 0 else 0.0
