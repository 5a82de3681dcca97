"""How long a piece of work takes, as the benchmarks count it."""

from __future__ import annotations

import time
from collections.abc import Callable


def least_seconds(work: Callable[[], object], rounds: int) -> float:
    """The least of `rounds` runs after one to warm up: what else the machine does counts least there."""
    work()
    seconds = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return min(seconds)
