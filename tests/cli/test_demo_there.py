"""A demo that lies there already, whole or left by a kill: how to open it is said."""

from __future__ import annotations

import argparse
from pathlib import Path

import pytest

from seamlight.cli.demo import run
from seamlight.mistake import Mistake
from seamlight.shop import open_shop


def args(into: Path) -> argparse.Namespace:
    return argparse.Namespace(into=into, no_serve=True, port=None)


def test_the_command_that_opens_it_is_said(tmp_path: Path) -> None:
    into = tmp_path / "two words"
    open_shop(into / "shop", create=True).close()
    with pytest.raises(Mistake, match="holds a demo already") as told:
        run(args(into))
    assert f"seamlight serve --shop '{into}/shop'; or name another folder" in str(told.value)


def test_a_folder_without_a_database_opens_nothing(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    with pytest.raises(Mistake, match="holds a demo already") as told:
        run(args(tmp_path))
    assert "serve" not in str(told.value)
