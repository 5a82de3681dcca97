"""Whose turn it is to change: within one program nobody waits by asking the database again and again."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager


class Turn:
    """A turn that one thread has at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._holder: int | None = None

    @contextmanager
    def taken(self) -> Iterator[None]:
        """Wait for the turn, and have it until the block ends.

        Raises:
            RuntimeError: this thread has it already; a change inside a change would wait for itself.
        """
        me = threading.get_ident()
        if self._holder == me:
            raise RuntimeError("a change inside a change")
        with self._lock:
            self._holder = me
            try:
                yield
            finally:
                self._holder = None
