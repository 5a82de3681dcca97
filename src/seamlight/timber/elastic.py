"""Density and elastic constants of species, each figure with its source. `elastic.json` holds them.

All at 12 % moisture content. A species without ratios of its own borrows those of a well-known one of its
kind, and says so.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from seamlight.timber.species import Figure, species

# USDA Wood Handbook FPL-GTR-282 (2021), chapter 5, transcribed: the modulus along the grain is about a tenth
# above that from static bending, whose deflection includes shear
TRUE_OVER_BENDING = 1.10
# USDA Wood Handbook, Table 5-6, coefficients of variation of clear wood, from memory
E_VARIES, DENSITY_VARIES = 0.22, 0.10
_BORROWED: dict[str, str] = {"softwood": "Sitka spruce", "hardwood": "sugar maple"}
# Rolling shear where a hardwood lacks it (sugar maple's is not in Table 5-1): black walnut's, from memory
_ROLLING: dict[str, float] = {"softwood": 0.003, "hardwood": 0.021}


@dataclass(frozen=True)
class ElasticFacts:
    """One timber at 12 % moisture content; None where no figure was found.

    Moduli in MPa; `e_` and `g_` ratios to the modulus along the grain (l along, r radial, t tangential).
    """

    name: str
    kind: Literal["softwood", "hardwood"]
    density_kg_m3: Figure | None
    bending_e_mpa: Figure | None
    bending_e_green_mpa: Figure | None
    moisture_where_green_pct: Figure | None
    e_radial: Figure | None
    e_tangential: Figure | None
    g_lr: Figure | None
    g_lt: Figure | None
    g_rt: Figure | None
    nu_lr: Figure | None
    nu_lt: Figure | None
    nu_rt: Figure | None


@dataclass(frozen=True)
class Ratios:
    """Ratios of elastic constants with nothing missing, and whose they are."""

    e_radial: float
    e_tangential: float
    g_lr: float
    g_lt: float
    g_rt: float
    nu_lr: float
    nu_lt: float
    nu_rt: float
    of: str  # the species they were printed for


@cache
def _all() -> dict[str, ElasticFacts]:
    text = resources.files("seamlight.timber").joinpath("elastic.json").read_text(encoding="utf-8")

    def figure(value: Any) -> Any:
        return Figure(**value) if isinstance(value, dict) else value

    rows = [{key: figure(value) for key, value in row.items()} for row in json.loads(text)["species"]]
    return {row["name"].lower(): ElasticFacts(**row) for row in rows}


def elastic_facts(name: str) -> ElasticFacts:
    """Density and elasticity of a species by its plain name.

    Raises:
        Mistake: no such species; lists those there are.
    """
    return _all()[species(name).name.lower()]


def elastic_ratios(name: str | None) -> Ratios:
    """Ratios for a species, borrowed from one of its kind where it has none; a softwood where it isn't named.

    Raises:
        Mistake: no such species.

    >>> elastic_ratios("red spruce").of
    'Sitka spruce'
    """
    facts = elastic_facts(name or _BORROWED["softwood"])
    if facts.e_radial is None or facts.nu_lr is None:
        lender = facts.kind if facts.e_radial is None or facts.kind == "softwood" else "hardwood"
        lent = _all()[_BORROWED[lender].lower()]
    else:
        lent = facts
    own = facts if facts.e_radial is not None else lent
    nu = facts if facts.nu_lr is not None else lent

    def value(figure: Figure | None, missing: float = 0.0) -> float:
        return figure.value if figure is not None else missing

    return Ratios(
        e_radial=value(own.e_radial),
        e_tangential=value(own.e_tangential),
        g_lr=value(own.g_lr),
        g_lt=value(own.g_lt),
        g_rt=value(own.g_rt, _ROLLING[facts.kind]),
        nu_lr=value(nu.nu_lr),
        nu_lt=value(nu.nu_lt),
        nu_rt=value(nu.nu_rt),
        of=own.name,
    )
