"""Photographs of one invented pair, and the command run as a person runs it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from seamlight.demo import phone, saw, wood

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="session")
def photographs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Leaf A and B, A's other face, and A's end 1, photographed."""
    folder = tmp_path_factory.mktemp("photographs")
    pair = saw.saw_pair(wood.grow_log(611, species="Engelmann spruce", lean_deg=8.0), 611)
    paths = {name: folder / f"{name}.jpg" for name in ("a", "b", "other", "end")}
    shots = {
        "a": (saw.face(pair.a, "sawn", px_per_mm=4.0), 1),
        "b": (saw.face(pair.b, "sawn", px_per_mm=4.0), 2),
        "other": (saw.face(pair.a, "other", px_per_mm=4.0), 3),
    }
    for name, (face, seed) in shots.items():
        phone.photograph(face, seed, megapixels=8, tilt_deg=8).save(paths[name])
    phone.photograph_end(saw.end(pair.a, 1, px_per_mm=12), 4).save(paths["end"])
    return paths


@pytest.fixture(scope="session")
def run() -> Run:
    """Run `seamlight` in a process of its own."""

    def run(*args: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "seamlight", *map(str, args)]
        return subprocess.run(command, capture_output=True, text=True, check=False, cwd=cwd, timeout=300)

    return run
