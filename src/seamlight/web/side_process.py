"""A process beside the server that computes, so that a page never waits and a crash takes no page with it."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib import import_module
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import Lock
from time import monotonic
from typing import Any

import cv2

from seamlight.mistake import Mistake

try:
    import resource
except ImportError:  # Windows
    resource = None  # type: ignore[assignment]

_PAGES = Path("/proc/self/statm")  # Linux: pages of this process; proc(5)
_LOOK_S = 0.2  # how often the caller's wish to stop is asked for


class Stopped(Exception):
    """The work was called off."""


class Failed(Exception):
    """The work broke down by a fault of the program; one line says how."""


class TooMuch(Mistake):
    """The work took more than it was allowed to."""


@dataclass(frozen=True)
class Bounds:
    """What a call over there may take, for what strangers' files make of it."""

    seconds: float
    memory_bytes: int  # beyond what the process holds at its start


class SideProcess:
    """One process, started when first needed and again after it was stopped or died.

    One call at a time; calls from several threads wait for one another.
    """

    def __init__(self) -> None:
        self._context = get_context("spawn")
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self._busy = Lock()

    def run(
        self,
        call: Callable[..., Any],
        *given: Any,
        stop: Callable[[], bool] = lambda: False,
        bounds: Bounds | None = None,
    ) -> Any:
        """What `call(*given)` returns, computed over there; both must be picklable.

        Args:
            stop: asked a few times a second; True calls the work off.
            bounds: time and memory; beyond them the work is called off.

        Raises:
            Mistake: the call raised one, or took more than `bounds` (TooMuch).
            Stopped: `stop` said so.
            Failed: the call raised anything else, or the process died.
        """
        with self._busy:
            line = self._started()
            line.send((call, given, bounds.memory_bytes if bounds else None))
            begun = monotonic()
            while not line.poll(_LOOK_S):
                if stop():
                    self._end()
                    raise Stopped
                if bounds is not None and monotonic() - begun > bounds.seconds:
                    self._end()
                    raise TooMuch(f"took more than {bounds.seconds:g} seconds", do="make it simpler")
            try:
                kind, value = line.recv()
            except (EOFError, OSError) as gone:
                self._end()
                raise Failed("the working process died; it is started again for the next piece") from gone
        if kind == "mistake":
            raise value
        if kind == "fault":
            raise Failed(value)
        return value

    def warm(self) -> None:
        """Start the process before a person waits for it, with the rooms that take long to import."""
        with suppress(Failed):
            self.run(_import_rooms)

    def close(self) -> None:
        """End the process; work under way there is lost and can be asked for again."""
        self._end()

    def _started(self) -> Connection:
        if self._line is not None and self._process is not None and self._process.is_alive():
            return self._line
        self._end()
        ours, theirs = self._context.Pipe()
        self._process = self._context.Process(target=_serve, args=(theirs,), daemon=True)
        self._process.start()
        theirs.close()
        self._line = ours
        return ours

    def _end(self) -> None:
        process, line, self._process, self._line = self._process, self._line, None, None
        if process is not None:
            process.terminate()
            process.join(5)
        if line is not None:
            line.close()


@contextmanager
def _memory(more_bytes: int | None) -> Iterator[None]:
    """Hold this process to so much more memory than it has now, where the system can do that."""
    if more_bytes is None or resource is None or not _PAGES.is_file():
        yield
        return
    before = resource.getrlimit(resource.RLIMIT_AS)
    now = int(_PAGES.read_text().split()[0]) * resource.getpagesize()
    limit = now + more_bytes
    if before[1] != resource.RLIM_INFINITY:
        limit = min(limit, before[1])
    resource.setrlimit(resource.RLIMIT_AS, (limit, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)


def _import_rooms() -> None:
    import_module("seamlight.web.once_reading")
    import_module("seamlight.web.seam_reading")


def _serve(line: Connection) -> None:
    """Answer calls until the other end is closed."""
    cv2.setNumThreads(1)  # the pages keep the other core
    while True:
        try:
            call, given, memory_bytes = line.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        try:
            with _memory(memory_bytes):
                answer = ("value", call(*given))
        except Mistake as mistake:
            answer = ("mistake", mistake)
        except MemoryError:
            answer = ("mistake", TooMuch("took more memory than there is for it", do="make it simpler"))
        except Exception as error:
            traceback.print_exc()
            answer = ("fault", f"a fault of the program: {type(error).__name__}: {error}")
        line.send(answer)
