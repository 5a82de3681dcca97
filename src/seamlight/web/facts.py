"""What is typed about a piece of wood, as the fields of a pair."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from seamlight.mistake import Mistake
from seamlight.shop.species_facts import species_facts
from seamlight.shop.tables import Pair
from seamlight.shop.texts import check_texts
from seamlight.shop.unlikely import ask, thickness_slip
from seamlight.shop.wood import LONGEST
from seamlight.units import Unit, parse_length
from seamlight.web.filters import length_in

NO_FACTS = {
    "kind": "top",
    "label": "",
    "species": "",
    "botanical": "",
    "supplier": "",
    "price": "",
    "bought": "",
    "thickness": "",
    "lies_at": "",
    "reserved_for": "",
    "notes": "",
}
_MONEY = re.compile(
    r"(?P<before>[A-Za-z]{3}|[€$£¥])?\s*(?P<amount>\d+(?:[.,]\d{1,2})?)\s*(?P<after>[A-Za-z]{3}|[€$£¥])?"
)
_SIGNS = {"€": "EUR", "$": "USD", "£": "GBP", "¥": "JPY"}
FIRST_YEAR, LAST_YEAR = 1500, 2199
_TEXTS = ("label", "supplier", "lies_at", "reserved_for", "notes")


def facts_of(typed: Mapping[str, str], unit: Unit) -> dict[str, Any]:
    """The fields of a pair that were typed; what was left empty is None.

    Raises:
        Mistake: a length, a price or a date that cannot be; `where` is the field's name.
        Unlikely: a thickness that is hardly meant, and was not asked about before (`sure`).
    """
    said = {name: " ".join(typed.get(name, "").split()) for name in NO_FACTS}
    check_texts(said, {**LONGEST, "species": 80, "botanical": 120})
    fields: dict[str, Any] = {"kind": said["kind"] or "other"}
    fields |= {name: said[name] or None for name in _TEXTS}
    fields["notes"] = lines_of(typed.get("notes", "")) or None
    fields |= species_facts(said["species"], said["botanical"])
    fields["price_minor"], fields["currency"] = price_of(said["price"])
    fields["bought_on"] = day_of(said["bought"])
    try:
        fields["thickness_mm"] = parse_length(said["thickness"], unit) if said["thickness"] else None
    except Mistake as mistake:
        raise Mistake(mistake.what, where="thickness", do=mistake.do) from mistake
    if fields["thickness_mm"] is not None:
        slip = thickness_slip(fields["kind"], fields["thickness_mm"])
        ask(slip, "thickness", typed["thickness"], typed.get("sure", ""))
    return fields


def lines_of(typed: str) -> str:
    """A text of lines as it was typed, without blanks at their ends and empty lines around them.

    >>> lines_of("  light in the waist \r\n\r\nknot at end 2\n")
    'light in the waist\n\nknot at end 2'
    """
    return "\n".join(line.rstrip() for line in typed.splitlines()).strip()


def thickness_as_shown(pair: Pair, unit: Unit) -> str:
    """A pair's thickness as it stands in its form."""
    return length_in(pair.thickness_mm, unit, 2) if pair.thickness_mm is not None else ""


def typed_of(pair: Pair, unit: Unit) -> dict[str, str]:
    """A pair's fields as they stand in its form."""
    price = "" if pair.price_minor is None else f"{pair.price_minor / 100:.2f} {pair.currency or ''}".strip()
    return {
        "kind": pair.kind,
        "label": pair.label,
        "species": pair.species_common or "",
        "botanical": pair.species_botanical or "",
        "supplier": pair.supplier or "",
        "price": price,
        "bought": pair.bought_on.isoformat() if pair.bought_on else "",
        "thickness": thickness_as_shown(pair, unit),
        "lies_at": pair.lies_at or "",
        "reserved_for": pair.reserved_for or "",
        "notes": pair.notes or "",
    }


def price_of(typed: str) -> tuple[int | None, str | None]:
    """A price in the currency's hundredths, and the currency's three letters.

    >>> price_of("EUR 85,50")
    (8550, 'EUR')

    Raises:
        Mistake: it is no price.
    """
    if not typed:
        return None, None
    found = _MONEY.fullmatch(typed) if len(typed) <= 40 else None
    if found is None:
        raise Mistake(f"{typed[:40]!r} is no price", where="price", do="write it like 85, 85.50 EUR or $85")
    currency = found["before"] or found["after"]
    minor = round(float(found["amount"].replace(",", ".")) * 100)
    return minor, _SIGNS.get(currency, currency.upper()) if currency else None


def day_of(typed: str, where: str = "bought") -> date | None:
    """A typed day.

    Raises:
        Mistake: there is no such day.
    """
    if not typed:
        return None
    do = "write it like 2026-11-25"
    try:
        day = date.fromisoformat(typed)
    except ValueError as error:
        raise Mistake(f"{typed[:40]!r} is no day", where=where, do=do) from error
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Mistake(f"the year {day.year} cannot be", where=where, do=do)
    return day
