"""From light to a phone's picture: noise, the phone's own tone curve, eight bits, JPEG."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]
Rgb = NDArray[np.uint8]
Tone = Literal["srgb", "contrast", "strong", "filmic", "flat"]


def expose(linear: F32, tone: Tone, noise: float, jpeg: int | None, dice: np.random.Generator) -> Rgb:
    """(h, w, 3) light, 1 just clipped, as a phone writes it.

    Args:
        noise: 1 is a phone in good light: shot noise of some 5000 electrons at full, and a floor.
        jpeg: quality, with colour at half size; None: not compressed.
    """
    spread = noise * np.sqrt(np.maximum(linear, 0.0) / 5000.0 + 1.2e-6)
    grainy = linear + spread * dice.standard_normal(linear.shape, dtype=np.float32)
    code = curve(np.clip(grainy, 0.0, 1.0), tone)
    rgb = np.clip(np.rint(code * 255.0), 0, 255).astype(np.uint8)
    if jpeg is None:
        return np.asarray(rgb, dtype=np.uint8)
    done, data = cv2.imencode(".jpg", rgb[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, jpeg])
    assert done
    decoded = cv2.imdecode(data, cv2.IMREAD_COLOR)
    assert decoded is not None
    return np.asarray(decoded[:, :, ::-1], dtype=np.uint8).copy()


def curve(linear: F32, tone: Tone) -> F32:
    """Code 0..1 of light 0..1; all but `srgb` are invented after what phones are known to do."""
    # IEC 61966-2-1
    code = np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
    if tone == "contrast":
        code = code - 0.35 / (2 * np.pi) * np.sin(2 * np.pi * code)
    elif tone == "strong":
        code = code - 0.6 / (2 * np.pi) * np.sin(2 * np.pi * code)
    elif tone == "filmic":
        code = code * (1 + 0.45 * (1 - code))
    elif tone == "flat":
        code = code**0.85
    return np.asarray(np.clip(code, 0.0, 1.0), dtype=np.float32)
