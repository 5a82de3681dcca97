"""Numbers, lengths and times as pages show them."""

from __future__ import annotations

from datetime import UTC, date, datetime

from jinja2 import Environment, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from seamlight.layout.spare_words import least_room, spare_words
from seamlight.units import Unit, said_in, show_length, show_temperature
from seamlight.units.show import nearest_64th

MINUS = "\N{MINUS SIGN}"
MM_PER_INCH = 25.4
NOT_KNOWN = "not known"
FINE = 2  # decimals of a mm from which inches are decimal, too: a gap of 0.1 mm is no 64th


def length_in(length_mm: float | None, unit: Unit, decimals: int = 1) -> str:
    """A length in one unit: `198.5 mm` or the nearest 1/64 `7 13/16 in`; finer: `0.10 mm`, `0.004 in`."""
    if length_mm is None:
        return NOT_KNOWN
    if unit == "inch" and decimals >= FINE:
        return f"{length_mm / MM_PER_INCH:.{decimals + 1}f} in".replace("-", MINUS)
    if unit == "inch":
        return f"{nearest_64th(length_mm / MM_PER_INCH)} in".replace("-", MINUS, 1 if length_mm < 0 else 0)
    return show_length(length_mm, "mm", decimals).replace("-", MINUS)


@pass_context
def length(context: Context, length_mm: float | None, decimals: int = 1) -> Markup:
    """A length in the shop's unit, the other small beside it."""
    if length_mm is None:
        return Markup(NOT_KNOWN)
    unit: Unit = context["unit"]
    other: Unit = "mm" if unit == "inch" else "inch"
    shown = length_in(length_mm, unit, decimals).replace(" ", "\N{NO-BREAK SPACE}")
    return Markup('<span class="length">{} <small>{}</small></span>').format(
        shown, length_in(length_mm, other, decimals)
    )


@pass_context
def length_plain(context: Context, length_mm: float | None, decimals: int = 1) -> str:
    """A length in the shop's unit as plain text, for a field's value or a sentence."""
    return length_in(length_mm, context["unit"], decimals)


@pass_context
def said(context: Context, text: str) -> str:
    """A sentence written in mm, its lengths in the shop's unit."""
    unit: Unit = context["unit"]
    return said_in(text, unit)


@pass_context
def room(context: Context, beside_mm: float | None, ends_mm: float | None) -> str:
    """The room to spare beside an outline and at its ends, or what is short, in the shop's unit."""
    unit: Unit = context["unit"]
    if beside_mm is None:
        return "does not fit"
    least, where = least_room(beside_mm, ends_mm)
    if least < 0:
        return f"short by {length_in(-least, unit)} {where}"
    return spare_words(beside_mm, ends_mm, lambda mm: length_in(mm, unit))


def number(value: float | None, decimals: int | None = None, unit: str = "") -> str:
    """A number with thousands apart and a true minus: `1 250`, `−0.5 g`."""
    if value is None:
        return NOT_KNOWN
    shown = f"{value:,.{decimals}f}" if decimals is not None else f"{value:,.10g}"
    shown = shown.replace(",", "\N{NO-BREAK SPACE}").replace("-", MINUS)
    if not any(digit in shown for digit in "123456789"):
        shown = shown.replace(MINUS, "")
    return f"{shown}\N{NO-BREAK SPACE}{unit}" if unit else shown


def temperature(temp_c: float | None) -> str:
    """A temperature, always in °C: `20 °C`, `20.5 °C`; units of length say nothing about it."""
    if temp_c is None:
        return NOT_KNOWN
    return show_temperature(temp_c).replace("-", MINUS).replace(" ", "\N{NO-BREAK SPACE}")


@pass_context
def when(context: Context, at: datetime | date | None, clock: bool = True) -> Markup | str:
    """A date or a time by the shop's clock: `25 Nov 2026, 14:05`."""
    if at is None:
        return "never"
    if isinstance(at, datetime):
        here = (at if at.tzinfo else at.replace(tzinfo=UTC)).astimezone(context["zone"])
        shown = f"{here.day} {here:%b %Y}" + (f", {here:%H:%M}" if clock else "")
        return Markup('<time datetime="{}">{}</time>').format(at.isoformat(timespec="seconds"), shown)
    return Markup('<time datetime="{}">{}</time>').format(at.isoformat(), f"{at.day} {at:%b %Y}")


def size(count: int | None) -> str:
    """Bytes as a person reads them: `4.2 MB`."""
    if count is None:
        return NOT_KNOWN
    amount = float(count)
    for unit in ("bytes", "kB", "MB"):
        if amount < 1000:
            return f"{amount:.0f} {unit}" if unit == "bytes" else f"{amount:.1f} {unit}"
        amount /= 1000
    return f"{amount:.1f} GB"


def add_filters(pages: Environment) -> None:
    """Make them known to the templates."""
    pages.filters.update(
        length=length,
        length_in=length_in,
        length_plain=length_plain,
        number=number,
        when=when,
        size=size,
        room=room,
        said=said,
        temperature=temperature,
    )
