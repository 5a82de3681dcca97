"""Killed with SIGKILL hundreds of times: everything acknowledged is there, and nothing is broken."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent


def kill(folder: Path, kind: str, rounds: int, seed: int, *url: str) -> dict[str, Any]:
    """Run the killing in a program of its own: it forks."""
    if not hasattr(os, "fork"):
        pytest.skip("needs a system that forks")
    folder.mkdir()
    command = [sys.executable, str(HERE / "kill_it.py"), str(folder), kind, str(rounds), str(seed), *url]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=500)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize(("kind", "rounds"), [("taking_in", 90), ("editing", 70), ("backing_up", 25)])
def test_nothing_acknowledged_is_lost(tmp_path: Path, kind: str, rounds: int) -> None:
    found = kill(tmp_path / "place", kind, rounds, seed=1)
    assert found["losses"] == []
    assert found["kills"] == rounds
    assert found["told"] > rounds


def test_nothing_acknowledged_is_lost_on_postgres(tmp_path: Path, ready: Callable[[], str]) -> None:
    found = kill(tmp_path / "place", "taking_in", 20, 3, ready())
    assert found["losses"] == []
    assert found["told"] > found["kills"] == 20


def test_an_upgrade_is_done_or_not_begun(tmp_path: Path) -> None:
    found = kill(tmp_path / "place", "upgrading", 40, seed=2)
    assert found["losses"] == []
    assert set(found["seen"]) == {"0001", found["newest"]}  # killed before as well as after
