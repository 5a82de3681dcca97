"""Whether two pictures were exposed alike, as their files say."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PIL import Image

from seamlight.mistake import Mistake

# CIPA DC-008 (EXIF 2.32): exposure time, f-number, sensitivity
_EXIF_IFD, _TIME, _F_NUMBER, _SPEED = 0x8769, 0x829A, 0x829D, 0x8827
_ALIKE = 1.06


def exposure_of(path: Path) -> float | None:
    """Time x sensitivity / f-number squared; None where the file does not say."""
    try:
        with Image.open(path) as picture:
            exif = picture.getexif().get_ifd(_EXIF_IFD)
        time, speed = float(exif[_TIME]), exif[_SPEED]
        speed = float(speed[0] if isinstance(speed, tuple) else speed)
        value = time * speed / float(exif.get(_F_NUMBER, 1.8)) ** 2
    except (OSError, KeyError, ValueError, TypeError, ZeroDivisionError, SyntaxError):
        return None
    return value if value > 0 else None


def check_exposures(paths: Sequence[Path]) -> None:
    """All pictures that say so were exposed alike.

    Raises:
        Mistake: they were not.
    """
    said = [(path, value) for path in paths if (value := exposure_of(path)) is not None]
    for path, value in said[1:]:
        if max(value, said[0][1]) / min(value, said[0][1]) > _ALIKE:
            raise Mistake(
                f"the exposure changed between {said[0][0].name} and {path.name}",
                do="lock exposure and white balance on the phone, then take all of them",
            )
