"""The examples in the room's docstrings hold."""

import doctest
import importlib
import pkgutil

import pytest

import seamlight.plate
from seamlight.timber import elastic, moisture

NAMES = [one.name for one in pkgutil.iter_modules(seamlight.plate.__path__)]
ROOM = [importlib.import_module(f"seamlight.plate.{name}") for name in NAMES]


@pytest.mark.parametrize("module", [*ROOM, elastic, moisture], ids=lambda module: module.__name__)
def test_examples(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]
