"""The averaged spectrum a page draws."""

from pathlib import Path

import numpy as np
import pytest

from seamlight.demo.sound_files import write_sound
from seamlight.demo.tap_cases import leaf_of
from seamlight.demo.taps import RenderedTaps, Room, TapScene, render
from seamlight.plate.spectrum import spectrum, spectrum_of
from seamlight.plate.taps import open_taps


@pytest.fixture(scope="module")
def taps() -> RenderedTaps:
    return render(TapScene(*leaf_of(202), room=Room(hum_db=None, reverb_db=None, noise_db=-40)), 202)


def test_it_peaks_where_the_plate_rings(taps: RenderedTaps, tmp_path: Path) -> None:
    file = write_sound(tmp_path / "t.wav", taps.samples, taps.rate)
    seen = spectrum_of([file])
    assert len(seen.hz) == len(seen.level_db) == 2000
    assert seen.level_db.max() == pytest.approx(0, abs=1e-6)
    for mode in taps.modes[:3]:
        near = np.abs(seen.hz / mode.hz - 1) < 0.02
        assert abs(seen.hz[near][np.argmax(seen.level_db[near])] / mode.hz - 1) < 0.006


def test_zooming_in_shows_the_same_finer(taps: RenderedTaps, tmp_path: Path) -> None:
    opened = open_taps([write_sound(tmp_path / "t.wav", taps.samples, taps.rate)])
    hz = taps.modes[0].hz
    whole, part = spectrum(opened), spectrum(opened, hz * 0.9, hz * 1.1, 400)
    assert part.hz[0] == pytest.approx(hz * 0.9)
    assert part.hz[-1] == pytest.approx(hz * 1.1)
    at = part.hz[np.argmax(part.level_db)]
    assert at == pytest.approx(hz, rel=2e-3)
    assert np.interp(at, whole.hz, whole.level_db) > -40
