"""Reading a minute of taps, whole and in its parts, beside decoding the same file and SciPy's spectrogram.

Run with OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1: python benchmarks/bench_taps.py
Goal: a minute in at most one second on one core.
"""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from scipy.signal import ShortTimeFFT
from scipy.signal.windows import hann

from least_of import least_seconds
from seamlight.demo.sound_files import write_sound
from seamlight.demo.tap_cases import leaf_of, top_of
from seamlight.demo.taps import TapScene, render
from seamlight.plate.spectrum import spectrum
from seamlight.plate.taps import open_taps, read_taps, reading_of
from seamlight.plate.taps_bands import pyramid
from seamlight.plate.taps_decode import decode

MINUTE_S, ROUNDS = 60.0, 5


def minute(scene: TapScene, folder: Path, name: str, gap_s: tuple[float, float], taps: int) -> Path:
    """A file of one minute."""
    made = render(replace(scene, tapping=replace(scene.tapping, taps=taps, gap_s=gap_s)), 42)
    return write_sound(folder / name, made.samples[: int(MINUTE_S * made.rate)], made.rate)


def main() -> None:
    """Print the tables."""
    print("| recording | work | s | of a minute, decoded |\n| --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        files = {
            "a leaf's M4A, 30 taps": minute(TapScene(*leaf_of(1)), folder, "a.m4a", (1.9, 2.1), 31),
            "the same as WAV": minute(TapScene(*leaf_of(1)), folder, "a.wav", (1.9, 2.1), 31),
            "a joined top's M4A, 30 taps": minute(TapScene(*top_of(1)), folder, "b.m4a", (1.9, 2.1), 31),
            "a leaf's M4A, 60 taps": minute(TapScene(*leaf_of(1)), folder, "c.m4a", (0.95, 1.05), 62),
        }
        for name, file in files.items():
            timed(name, file)


def timed(name: str, file: Path) -> None:
    """Print the rows of one file."""
    sound, taps = decode(file), open_taps([file])
    grams = ShortTimeFFT(hann(4096), hop=1024, fs=sound.rate)
    works = {
        "decode": lambda: decode(file),
        "SciPy's spectrogram": lambda: grams.spectrogram(sound.samples),
        "filter into octaves": lambda: pyramid(sound.samples, sound.rate),
        "open: decode, filter, find the taps": lambda: open_taps([file]),
        "fit and average": lambda: reading_of(taps),
        "spectrum for a page": lambda: spectrum(taps),
        "read, whole": lambda: read_taps([file]),
    }
    seconds = {work: least_seconds(run, ROUNDS) for work, run in works.items()}
    for work, one in seconds.items():
        print(f"| {name}, {sound.seconds:.0f} s | {work} | {one:.3f} | {one / seconds['decode']:.1f} |")


if __name__ == "__main__":
    main()
