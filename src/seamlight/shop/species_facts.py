"""A species as a pair keeps it."""

from __future__ import annotations

from seamlight.mistake import Mistake
from seamlight.timber.species import species


def species_facts(common: str, botanical: str) -> dict[str, str | None]:
    """A species as it is kept: the tables' own name where they know it, else just what was typed."""
    if not common:
        return {"species_key": None, "species_common": None, "species_botanical": botanical or None}
    try:
        known = species(common)
    except Mistake:
        return {
            "species_key": common.casefold(),
            "species_common": common,
            "species_botanical": botanical or None,
        }
    return {
        "species_key": known.name.lower(),
        "species_common": known.name,
        "species_botanical": botanical or known.botanical,
    }
