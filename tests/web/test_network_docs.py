"""What docs/network.md says is so."""

from __future__ import annotations

from math import log2
from pathlib import Path

from seamlight.shop import devices
from seamlight.web.pairing import COOKIE_LASTS
from seamlight.web.seals import SECRET_FILE
from seamlight.web.serve import PORT

PAGE = " ".join((Path(__file__).parents[2] / "docs" / "network.md").read_text(encoding="utf-8").split())


def test_figures_in_the_docs_are_those_of_the_program() -> None:
    minutes = devices.LINK_LASTS.total_seconds() / 60
    assert f"after {minutes:.0f} minutes" in PAGE
    assert f"{devices.TOKEN_LETTERS * log2(len(devices.ALPHABET)):.0f} bits" in PAGE
    assert devices.FREE_TRIES == 5
    assert "After five wrong ones" in PAGE
    assert "after fifty wrong ones" in PAGE
    assert f"wait {devices.FIRST_WAIT.total_seconds():.0f} seconds" in PAGE
    assert devices.LONGEST_WAIT.total_seconds() == 1800
    assert "up to half an hour" in PAGE
    assert COOKIE_LASTS.days == 365
    assert f"`{SECRET_FILE}`" in PAGE
    assert f"than {PORT}" in PAGE
