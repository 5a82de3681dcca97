"""From what a maker types to millimetres.

A comma is a decimal comma. A bare decimal number takes the shop's unit; a bare fraction (`7/64`, `15 5/8`) is
inches in every shop, since no one writes millimetres as fractions (common practice, no source).
"""

from __future__ import annotations

import re
import unicodedata
from typing import Literal

from seamlight.mistake import Mistake

Unit = Literal["mm", "inch"]

# 1 in = 25.4 mm exactly: international yard and pound agreement of 1959 (value from memory)
MM_PER_INCH = 25.4

_MM_PER: dict[str, float] = {
    "mm": 1.0,
    "millimetre": 1.0,
    "millimetres": 1.0,
    "millimeter": 1.0,
    "millimeters": 1.0,
    "cm": 10.0,
    "centimetre": 10.0,
    "centimetres": 10.0,
    "centimeter": 10.0,
    "centimeters": 10.0,
    "m": 1000.0,
    "metre": 1000.0,
    "metres": 1000.0,
    "meter": 1000.0,
    "meters": 1000.0,
    '"': MM_PER_INCH,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    "'": 12 * MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
    "foot": 12 * MM_PER_INCH,
    "feet": 12 * MM_PER_INCH,
    "thou": MM_PER_INCH / 1000,
}
_FEET = {"'", "ft", "foot", "feet"}
_INCHES = {'"', "in", "inch", "inches"}

_DECIMAL = r"(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_FRACTION = r"\d+\s*/\s*\d+"
_NUMBER = rf"(?:\d+(?:\s*-\s*|\s+){_FRACTION}|{_FRACTION}|{_DECIMAL})"
_NAMES = "|".join(sorted((re.escape(name) for name in _MM_PER), key=len, reverse=True))
_TERM = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>{_NAMES})?\.?\s*", re.ASCII)
_MARKS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "×": "x", "⁄": "/", "–": "-"}
)

_DO = 'write it like 19, 19mm, 0.75in, 3/4", 1 3/16 in, 15\' 0" or 4,5'


def _plain(text: str) -> str:
    """Typographic quotes, dashes and fractions (½) as plain characters, lower case."""
    spaced = re.sub(r"(\d)(?=[¼-¾⅐-⅞])", r"\1 ", text)
    marked = unicodedata.normalize("NFKC", spaced.translate(_MARKS)).translate(_MARKS)
    return marked.replace("''", '"').strip().lower()


def _number(text: str) -> float:
    """A decimal, a fraction or a whole number with a fraction; ZeroDivisionError where it divides by 0."""
    if "/" not in text:
        return float(text.replace(",", "."))
    whole, top, bottom = re.fullmatch(r"(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)", text).groups()  # type: ignore[union-attr]
    return int(whole or 0) + int(top) / int(bottom)


def _terms(text: str, said: str, where: str) -> list[tuple[float, str, bool]]:
    """The number, unit ("" for none) and whether it is a fraction, for each term of one length."""
    found: list[tuple[float, str, bool]] = []
    at = 0
    while at < len(text):
        term = _TERM.match(text, at)
        if term is None:
            raise Mistake(f"{said!r} is not a length", where=where, do=_DO)
        try:
            found.append((_number(term["number"]), term["unit"] or "", "/" in term["number"]))
        except (ZeroDivisionError, ValueError, OverflowError):
            raise Mistake(f"{said!r} is not a length", where=where, do=_DO) from None
        at = term.end()
    return found


def parse_length(text: str, unit: Unit = "mm", *, where: str = "") -> float:
    """Millimetres of a typed length, zero or more.

    Args:
        text: such as `19`, `19mm`, `0.75in`, `3/4"`, `1 3/16 in`, `15-5/8"`, `15' 0"`, `4,5`, `110 thou`.
        unit: the shop's unit, which a bare decimal number takes; a bare fraction is inches.
        where: the option or field it was typed in, for the message.

    Raises:
        Mistake: it is not a length.

    >>> round(parse_length("1 3/16 in"), 4)
    30.1625
    >>> round(parse_length("15' 0\\""))
    4572
    >>> parse_length(".110", "inch") == parse_length("110 thou")
    True
    """
    terms = _terms(_plain(text), text, where)
    if len(terms) == 1:
        number, name, fraction = terms[0]
        bare = MM_PER_INCH if fraction or unit == "inch" else 1.0
        length_mm = number * (_MM_PER[name] if name else bare)
    elif len(terms) == 2 and terms[0][1] in _FEET and terms[1][1] in _INCHES | {""}:
        length_mm = terms[0][0] * 12 * MM_PER_INCH + terms[1][0] * MM_PER_INCH
    else:
        raise Mistake(f"{text!r} is not a length", where=where, do=_DO)
    if not length_mm < 1e6:
        raise Mistake(f"{text!r} is longer than any shop", where=where, do=_DO)
    return length_mm


def _says_unit(text: str) -> bool:
    return re.search(r"[a-z'\"]", text) is not None


def parse_size(text: str, unit: Unit = "mm", *, where: str = "") -> tuple[float, ...]:
    """Millimetres of a size typed as `560x215`, `560 x 215 x 185` or `22 x 8 1/2 in`.

    A unit said only at the end holds for all; otherwise each says its own or none does.

    Raises:
        Mistake: a part is no length, is 0, or units are said for some parts and not for others.
    """
    parts = [part.strip() for part in _plain(text).split("x")]
    said = [_says_unit(part) for part in parts]
    if len(parts) < 2 or not all(parts):
        raise Mistake(f"{text!r} is not a size", where=where, do="write it like 560x215 or 560x215x185")
    if any(said) and not all(said):
        last = re.search(rf"(?:{_NAMES})\.?$", parts[-1])
        if last is None or sum(said) != 1:
            raise Mistake(
                f"{text!r} says a unit for some measures only",
                where=where,
                do="say it for each, or at the end",
            )
        parts = [*(f"{part} {last[0]}" for part in parts[:-1]), parts[-1]]
    sizes = tuple(parse_length(part, unit, where=where) for part in parts)
    if min(sizes) == 0:
        raise Mistake(f"{text!r} has a measure of 0", where=where, do="write it like 560x215")
    return sizes
