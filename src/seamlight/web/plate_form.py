"""What is typed about a plate or a blank, as values; a mistake names the field it was typed in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal, NoReturn

from seamlight.mistake import Mistake
from seamlight.plate import Circumstances, Piece, Place, Rig
from seamlight.plate.named import NAMES, Name
from seamlight.plate.piece import Kind, check_density, check_sizes
from seamlight.shop.air import parse_humidity, parse_temperature
from seamlight.shop.plate_bench import OnRecord
from seamlight.timber.elastic import elastic_facts
from seamlight.units import MM_PER_INCH, Unit, parse_length

# Where a maker taps or holds, in parts of length and width; anything else is typed as two parts of 1
SPOTS = {
    "corner": (0.97, 0.97),
    "middle": (0.5, 0.5),
    "end": (0.03, 0.5),
    "edge": (0.5, 0.97),
    "quarter": (0.25, 0.5),
}
GRAMS_PER = {"": 1.0, "g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}
# Standard gravity, m/s2: ISO 80000-3
STANDARD_GRAVITY = 9.80665
SIZES = ("length", "width", "width2", "thickness", "weight")
_NUMBER = r"\s*(?P<number>\d*[.,]?\d+)\s*(?P<unit>[a-z]*)\.?\s*"
_FIELD_OF = {"--span": "span", "--load": "load", "--at": "load_at", "--deflection": "deflection"}


def said_by_record(found: OnRecord, unit: Unit) -> dict[str, str]:
    """Fields as they are filled in before anyone types."""
    even = found.width1_mm is None or found.width2_mm is None or abs(found.width1_mm - found.width2_mm) < 0.5
    return {
        "length": plain_length(found.length_mm, unit),
        "width": plain_length(found.width1_mm, unit),
        "width2": "" if even else plain_length(found.width2_mm, unit),
        "thickness": plain_length(found.thickness_mm, unit),
        "weight": "" if found.weight_g is None else f"{found.weight_g:g} g",
        "species": found.species or "",
        "temp": "" if found.temp_c is None else f"{found.temp_c:g} C",
        "rh": "" if found.rh_pct is None else f"{found.rh_pct:g} %",
        "runout": "" if found.runout_deg is None else f"{found.runout_deg:.2g}",
        "rings": "" if found.ring_to_face_deg is None else f"{found.ring_to_face_deg:.0f}",
    }


def plain_length(length_mm: float | None, unit: Unit) -> str:
    """A length for a field, finer than a page shows it.

    >>> plain_length(3.6, "mm"), plain_length(3.6, "inch")
    ('3.6 mm', '0.142 in')
    """
    if length_mm is None:
        return ""
    return f"{length_mm:.5g} mm" if unit == "mm" else f"{length_mm / MM_PER_INCH:.3f} in"


def length_of(typed: Mapping[str, str], name: str, unit: Unit, what: str = "") -> float:
    """A typed length, mm.

    Raises:
        Mistake: none is typed, or it is none.
    """
    text = typed.get(name, "")
    if not text.strip():
        raise Mistake(f"{what or name.replace('_', ' ')} is not given", where=name, do="measure it")
    return parse_length(text, unit, where=name)


def piece_of(typed: Mapping[str, str], kind: Kind, unit: Unit, *, weighed: bool = True) -> Piece:
    """The piece on the bench.

    Raises:
        Mistake: a size or a weight is missing or cannot be meant.
    """
    length = length_of(typed, "length", unit, "the length along the grain")
    width = length_of(typed, "width", unit, "the width")
    width2 = parse_length(typed["width2"], unit, where="width2") if typed.get("width2", "").strip() else width
    thickness = length_of(typed, "thickness", unit, "the thickness")
    if weighed and not typed.get("weight", "").strip():
        raise Mistake("the weight is not given", where="weight", do="weigh it; a kitchen scale will do")
    weight = grams(typed["weight"]) if typed.get("weight", "").strip() else 0.0
    piece = Piece(length, width, width2, thickness, weight)
    try:
        check_sizes(piece, kind)
    except Mistake as mistake:
        _size_at_its_field(mistake, piece)
    if weight:
        try:
            check_density(piece)
        except Mistake as mistake:
            raise Mistake(mistake.what, where="weight", do=mistake.do) from mistake
    return piece


def _size_at_its_field(mistake: Mistake, piece: Piece) -> NoReturn:
    named = re.match(r"a (length|width|thickness) ", mistake.what)
    field = named[1] if named else ("width2" if piece.taper > 0.1 else "length")
    raise Mistake(mistake.what, where=field, do=mistake.do) from mistake


def grams(text: str, where: str = "weight") -> float:
    """A typed weight, g.

    >>> grams("158"), round(grams("5.5 oz"), 1)
    (158.0, 155.9)
    """
    found = re.fullmatch(_NUMBER, text.strip().lower())
    if found is None or found["unit"] not in GRAMS_PER:
        raise Mistake(f"{text!r} is no weight", where=where, do="write it like 158, 158 g or 5.6 oz")
    value = float(found["number"].replace(",", ".")) * GRAMS_PER[found["unit"]]
    if value <= 0:
        raise Mistake("the weight must be above 0", where=where, do="weigh it")
    return value


def newtons(text: str, where: str = "load") -> float:
    """A typed load, N: as a force, or as the weight that hangs on it.

    >>> round(newtons("2 kg"), 2), newtons("22.2 N"), round(newtons("5 lb"), 1)
    (19.61, 22.2, 22.2)
    """
    found = re.fullmatch(_NUMBER, text.strip().lower())
    if found is not None and found["unit"] == "n":
        return float(found["number"].replace(",", "."))
    if found is None or not found["unit"]:
        raise Mistake(f"{text!r} says no unit", where=where, do="write it like 2 kg, 500 g, 5 lb or 22 N")
    return grams(text, where) / 1000 * STANDARD_GRAVITY


def day_of(typed: Mapping[str, str]) -> Circumstances:
    """The wood and the day.

    Raises:
        Mistake: a wood the tables do not know; one of temperature and humidity without the other.
    """
    wood = " ".join(typed.get("species", "").split())
    if wood:
        try:
            wood = elastic_facts(wood).name
        except Mistake as mistake:
            raise Mistake(
                mistake.what, where="species", do="choose one of the list, or leave it"
            ) from mistake
    temp_c = parse_temperature(typed.get("temp", ""), where="temp")
    rh_pct = parse_humidity(typed.get("rh", ""), where="rh")
    if (temp_c is None) != (rh_pct is None):
        missing = "temp" if temp_c is None else "rh"
        raise Mistake("temperature and humidity go together", where=missing, do="give both or none")
    return Circumstances(
        wood or None,
        temp_c,
        rh_pct,
        runout_deg=_degrees(typed, "runout", 45.0),
        ring_to_face_deg=_degrees(typed, "rings", 90.0),
    )


def _degrees(typed: Mapping[str, str], name: str, most: float) -> float | None:
    text = typed.get(name, "").strip().lower().removesuffix("deg").removesuffix("°").strip()
    if not text:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0 <= value <= most:
        raise Mistake(f"{text!r} is no such angle", where=name, do=f"write 0 to {most:g} degrees")
    return value


def places_of(typed: Mapping[str, str], recordings: int) -> tuple[Place, ...]:
    """Where each recording was tapped or held; none where all were alike.

    Raises:
        Mistake: a place that is none, or not one for each recording.
    """
    what: Literal["tapped", "held"] = "held" if typed.get("changed") == "held" else "tapped"
    lines = [line.strip() for line in re.split(r"[\n;]", typed.get("places", "")) if line.strip()]
    if not typed.get("changed") or not lines:
        return ()
    if len(lines) != recordings:
        raise Mistake(
            f"{len(lines)} places for {recordings} recordings", where="places", do="write one line for each"
        )
    return tuple(Place(*_spot(line), what) for line in lines)


def _spot(text: str) -> tuple[float, float]:
    if text.lower() in SPOTS:
        return SPOTS[text.lower()]
    try:
        along, across = (float(part) for part in text.replace(",", " ").split())
    except ValueError:
        along = across = -1.0
    if not (0 <= along <= 1 and 0 <= across <= 1):
        raise Mistake(
            f"{text!r} is no place", where="places", do=f"write {', '.join(SPOTS)}, or two parts of 1"
        )
    return along, across


def said_modes(typed: Mapping[str, str]) -> dict[Name, float]:
    """Which peak is which, as the person has it; a name left alone is not said.

    Raises:
        Mistake: a frequency that is none.
    """
    said: dict[Name, float] = {}
    for name in NAMES:
        text = typed.get(f"said_{name}", "").strip()
        if not text:
            continue
        try:
            said[name] = float(text)
        except ValueError:
            raise Mistake(f"{text!r} is no frequency", where=f"said_{name}", do="choose a peak") from None
    return said


def rig_of(typed: Mapping[str, str], unit: Unit) -> Rig:
    """The bench's two supports and its weight.

    Raises:
        Mistake: what is missing or cannot be read.
    """
    span = length_of(typed, "span", unit, "the distance between the supports")
    load = typed.get("load", "")
    if not load.strip():
        raise Mistake("the weight on it is not given", where="load", do="write it like 2 kg")
    at = typed.get("load_at", "").strip()
    at_mm = parse_length(at, unit, where="load_at") if at else span / 2
    return Rig(span, newtons(load), at_mm, "load" if typed.get("read_at") == "load" else "middle")


def at_a_field(mistake: Mistake) -> Mistake:
    """A mistake of the command line's options, said as one of the page's fields."""
    where = mistake.where
    if not where.startswith("--"):
        return mistake
    field = next((name for option, name in _FIELD_OF.items() if where.startswith(option)), "")
    return Mistake(mistake.what, where=field, do=mistake.do)
