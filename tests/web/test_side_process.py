"""The process beside the server: what takes too long or too much is called off, the next call works."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest

from seamlight.mistake import Mistake
from seamlight.web.side_process import Bounds, SideProcess, TooMuch


@pytest.fixture(scope="module")
def side() -> Iterator[SideProcess]:
    process = SideProcess()
    yield process
    process.close()


def test_too_long_is_told_and_the_next_call_works(side: SideProcess) -> None:
    with pytest.raises(TooMuch, match=r"more than 0.5 seconds"):
        side.run(time.sleep, 60, bounds=Bounds(seconds=0.5, memory_bytes=1 << 30))
    assert side.run(divmod, 7, 2) == (3, 1)


def test_too_much_memory_is_told_and_the_next_call_has_all_again(side: SideProcess) -> None:
    little = Bounds(seconds=60, memory_bytes=64 << 20)
    with pytest.raises(Mistake, match="more memory"):
        side.run(bytearray, 512 << 20, bounds=little)
    assert len(side.run(bytearray, 128 << 20)) == 128 << 20
    assert side.run(len, b"abc", bounds=little) == 3
