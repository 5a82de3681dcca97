"""Glues for an edge joint: times, temperature, moisture and pressure, each with its source. `glues.json`.

The glue's own sheet always comes first: these are typical ranges.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from seamlight.mistake import Mistake


@dataclass(frozen=True)
class Range:
    """From low to high, and where it comes from."""

    low: float
    high: float
    standing: Literal["read", "transcribed", "from memory"]
    source: str

    def holds(self, value: float) -> bool:
        """Whether a value lies in it, ends included."""
        return self.low <= value <= self.high


@dataclass(frozen=True)
class Glue:
    """One glue. Times say their unit; pressures are across the joint."""

    key: str
    name: str
    open_min: Range
    closed_min: Range
    clamp_min: Range
    work_h: Range  # before the seam is scraped or planed
    rest_days: Range  # before final thickness: its water must leave
    wood_temp_c: Range
    air_rh_pct: Range
    wood_mc_pct: Range
    pressure_softwood_mpa: Range
    pressure_hardwood_mpa: Range
    squeeze_out: str
    if_it_goes_wrong: str

    def pressure_mpa(self, kind: Literal["softwood", "hardwood"]) -> Range:
        """The pressure wanted on softwood or on hardwood."""
        return self.pressure_softwood_mpa if kind == "softwood" else self.pressure_hardwood_mpa


DEFAULT_GLUE = "pva"

# Woods whose resins keep glue off; by botanical genus (common practice, no source)
OILY_GENERA = ("Dalbergia", "Tectona", "Platymiscium", "Guibourtia")
OILY_CAUTION = (
    "oily wood: scrape or plane both edges fresh, wipe them with acetone and glue within minutes"
    " (acetone burns and its vapour is harmful: no flame, moving air, gloves)"
)


@cache
def _all() -> dict[str, Glue]:
    text = resources.files("seamlight.timber").joinpath("glues.json").read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = json.loads(text)["glues"]
    ranged: list[dict[str, Any]] = [
        {key: Range(**value) if isinstance(value, dict) else value for key, value in row.items()}
        for row in rows
    ]
    known = [Glue(**row) for row in ranged]
    return {one.key: one for one in known}


def glue_names() -> tuple[str, ...]:
    """The names there are figures for."""
    return tuple(_all())


def glue(name: str = DEFAULT_GLUE) -> Glue:
    """A glue by its name.

    Raises:
        Mistake: no such glue; lists those there are.
    """
    wanted = " ".join(name.lower().split())
    if wanted not in _all():
        raise Mistake(f"no glue is called {name!r}", do=f"choose one of: {', '.join(glue_names())}")
    return _all()[wanted]


def is_oily(botanical: str) -> bool:
    """Whether a wood, by its botanical name, belongs to those that glue shies from."""
    return botanical.split()[0] in OILY_GENERA if botanical.strip() else False
