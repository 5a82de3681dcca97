"""Rendered leaves that the room's tests share."""

from collections.abc import Callable
from functools import cache

import pytest

from seamlight.demo import saw, wood
from seamlight.demo.truth import FaceTruth


@cache
def _pair(species: str, seed: int) -> tuple[FaceTruth, FaceTruth]:
    log = wood.grow_log(seed, species=species)
    pair = saw.saw_pair(log, seed, length_mm=560, width_mm=215, thickness_mm=4.5)
    a, b = (saw.face(leaf, "sawn", px_per_mm=4.0) for leaf in (pair.a, pair.b))
    return a, b


@pytest.fixture(scope="session")
def grown() -> Callable[[str], tuple[FaceTruth, FaceTruth]]:
    """The sawn faces of a pair of that species."""
    return lambda species: _pair(species, 4100)
