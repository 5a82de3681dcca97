"""Linear algebra on one thread, where matrices are small.

For matrices of some hundred rows the threads of a BLAS library spend longer meeting than working: on two
cores the grain field takes three times as long with them.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import ParamSpec, TypeVar

from threadpoolctl import ThreadpoolController

Given = ParamSpec("Given")
Result = TypeVar("Result")


@lru_cache(maxsize=1)
def _threads() -> ThreadpoolController:
    """The thread pools of the libraries that are loaded; looking for them takes some milliseconds."""
    return ThreadpoolController()


def one_blas_thread(work: Callable[Given, Result]) -> Callable[Given, Result]:
    """`work` with the BLAS libraries held to one thread while it runs."""

    @wraps(work)
    def held(*args: Given.args, **kwargs: Given.kwargs) -> Result:
        with _threads().limit(limits=1, user_api="blas"):
            return work(*args, **kwargs)

    return held
