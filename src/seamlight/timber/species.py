"""Species by their plain names; each figure carries its source. `species.json` holds them.

Standings: `read` in the source itself, `transcribed` where a secondary source was read, `from memory`.
"""

from __future__ import annotations

import difflib
import json
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from seamlight.mistake import Mistake


@dataclass(frozen=True)
class Figure:
    """A figure and where it comes from."""

    value: float
    standing: Literal["read", "transcribed", "from memory"]
    source: str


@dataclass(frozen=True)
class Species:
    """One timber. None where no figure was found.

    Shrinkage is green to ovendry, %; movement the fraction of width per 1 % moisture content, 6 to 14 %;
    basic density is ovendry mass over green volume.
    """

    name: str
    botanical: str
    kind: Literal["softwood", "hardwood"]
    shrinkage_radial_pct: Figure | None
    shrinkage_tangential_pct: Figure | None
    movement_radial: Figure | None
    movement_tangential: Figure | None
    basic_density_kg_m3: Figure | None


def _figure(value: Any) -> Any:
    return Figure(**value) if isinstance(value, dict) else value


@cache
def _all() -> dict[str, Species]:
    text = resources.files("seamlight.timber").joinpath("species.json").read_text(encoding="utf-8")
    rows = json.loads(text)["species"]
    known = [Species(**{key: _figure(value) for key, value in row.items()}) for row in rows]
    return {one.name.lower(): one for one in known}


def species_names() -> tuple[str, ...]:
    """The plain names there are figures for."""
    return tuple(one.name for one in _all().values())


def species(name: str) -> Species:
    """A species by its plain name.

    Raises:
        Mistake: no such species; lists those there are.
    """
    wanted = " ".join(name.lower().split())
    if wanted in _all():
        return _all()[wanted]
    near = difflib.get_close_matches(wanted, _all(), n=1)
    hint = f"did you mean {_all()[near[0]].name}? " if near else ""
    raise Mistake(f"no species is called {name!r}", do=f"{hint}choose one of: {', '.join(species_names())}")


def movement_mm(width_mm: float, movement: Figure, from_mc_pct: float, to_mc_pct: float) -> float:
    """How much a width changes between two moisture contents, mm; below 0 narrower."""
    # Wood Handbook FPL-GTR-190, Eq. 13-2: dD = D_I C (M_F - M_I)
    return width_mm * movement.value * (to_mc_pct - from_mc_pct)
