"""From the peaks of a tapped plate or bar to its constants and what they mean."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from seamlight.mistake import Mistake
from seamlight.plate.air_load import air_density_kg_m3
from seamlight.plate.bars import invert_bar
from seamlight.plate.grain_angle import grain_words
from seamlight.plate.invert import Doubts, Inverted, invert
from seamlight.plate.meaning import STANDARD_MC_PCT, Beside, at_moisture, beside_species, loss
from seamlight.plate.model import surroundings
from seamlight.plate.modes import Identified, identify
from seamlight.plate.named import NAMES, Name
from seamlight.plate.peaks import Mode, Peak, TapReading
from seamlight.plate.piece import Kind, Piece
from seamlight.plate.result import AtMoisture, PlateResult
from seamlight.plate.start import expected
from seamlight.timber.elastic import elastic_ratios
from seamlight.timber.moisture import emc_pct

_ROUGH_PCT = 2.5  # half of the 5 % that a loss is wanted to


@dataclass(frozen=True)
class Circumstances:
    """What is known of the wood and the day; None where it is not."""

    species: str | None = None
    temp_c: float | None = None
    rh_pct: float | None = None
    standard_mc_pct: float = STANDARD_MC_PCT
    runout_deg: float | None = None
    ring_to_face_deg: float | None = None


def tapped_plate(
    reading: TapReading,
    piece: Piece,
    day: Circumstances,
    *,
    said: Mapping[Name, float] | None = None,
    doubts: Doubts | None = None,
) -> PlateResult:
    """Constants of a free plate from its taps.

    Args:
        said: modes as the person has them, by frequency; they win.

    Raises:
        Mistake: no peak of the wood, or constants that no wood has.
    """
    who = identify(
        reading.peaks,
        piece,
        species=day.species,
        ring_to_face_deg=day.ring_to_face_deg,
        said=said,
        places=reading.places,
    )
    if not who.hz:
        raise Mistake("no mode of the plate was told", do="tap again, or name the peaks")
    spread_hz = {
        name: peak.hz_sd for peak, name in zip(reading.peaks, who.modes, strict=True) if name != "other"
    }
    air = surroundings(piece, air_density_kg_m3(20.0 if day.temp_c is None else day.temp_c))
    found = invert(
        piece,
        who.hz,
        hz_sd=spread_hz,
        species=day.species,
        ring_to_face_deg=day.ring_to_face_deg,
        doubts=doubts,
        around=air,
    )
    return with_meaning(_plate_result(reading, piece, who, found), day)


def peaks_alone(
    reading: TapReading, piece: Piece, day: Circumstances, why: str, *, kind: Kind = "plate"
) -> PlateResult:
    """What was heard where no mode could be told: the peaks, so that a person can name them, and why.

    Raises:
        Mistake: no such species.
    """
    return PlateResult(
        way="taps",
        kind=kind,
        piece=piece,
        elastic=expected(day.species, piece.density_kg_m3, day.ring_to_face_deg).elastic,
        density_kg_m3=piece.density_kg_m3,
        e_along_mpa=None,
        e_across_mpa=None,
        g_mpa=None,
        spread_pct={"e_along": None, "e_across": None, "g": None},
        stiffness_spread_pct=(100.0, 100.0),
        peaks=tuple((peak, "other") for peak in reading.peaks),
        sure=0.0,
        warnings=(why, *reading.warnings),
    )


def _plate_result(reading: TapReading, piece: Piece, who: Identified, found: Inverted) -> PlateResult:
    told = {
        "e_along": found.elastic.e_along_mpa,
        "e_across": found.elastic.e_across_mpa,
        "g": found.elastic.g_mpa,
    }
    shown = {key: None if key in found.assumed else value for key, value in told.items()}
    quality = dict(zip(who.modes, reading.peaks, strict=True))
    effects: dict[str, float] = {}
    for name in NAMES:
        effects[f"air_mass_{name}"] = found.air_pct[name]
        effects[f"shear_{name}"] = found.shear_pct[name]
        effects[f"taper_{name}"] = found.taper_pct[name]
    return PlateResult(
        way="taps",
        kind="plate",
        piece=piece,
        elastic=found.elastic,
        density_kg_m3=piece.density_kg_m3,
        e_along_mpa=shown["e_along"],
        e_across_mpa=shown["e_across"],
        g_mpa=shown["g"],
        spread_pct={key: None if key in found.assumed else found.spread_pct[key] for key in told},
        stiffness_spread_pct=(found.stiffness_spread_pct["e_along"], found.stiffness_spread_pct["e_across"]),
        peaks=tuple(zip(reading.peaks, who.modes, strict=True)),
        loss_along=_loss(quality.get("along")),
        loss_across=_loss(quality.get("across")),
        sure=who.sure,
        mixed=found.mixed,
        effects_pct=effects,
        warnings=(*reading.warnings, *who.warnings, *found.warnings),
        notes=_unsure_losses(quality, reading.taps),
    )


def _unsure_losses(quality: Mapping[Mode, Peak], taps: int) -> tuple[str, ...]:
    """Losses that so few taps tell only roughly."""
    lines = []
    for name in ("along", "across"):
        peak = quality.get(name)
        if peak is None or not peak.q:
            continue
        # standard deviation of a mean
        off_pct = 100 * peak.q_sd / peak.q / taps**0.5
        if off_pct > _ROUGH_PCT:
            lines.append(
                f"the loss {name} is known to {off_pct:.0f} % from {taps} taps: twenty taps tell it better"
            )
    return tuple(lines)


def _loss(peak: Peak | None) -> float | None:
    return None if peak is None else loss(peak.q)


def tapped_bar(
    reading: TapReading,
    piece: Piece,
    day: Circumstances,
    *,
    first_hz: float | None = None,
    doubts: Doubts | None = None,
) -> PlateResult:
    """Constants of a free bar from its taps.

    Raises:
        Mistake: no peak that any wood of this size gives.
    """
    wood = [peak for peak in reading.peaks if peak.kind == "wood"]
    found = invert_bar(
        piece,
        [peak.hz for peak in wood],
        species=day.species,
        first_hz=first_hz,
        hz_sd=[peak.hz_sd for peak in wood],
        doubts=doubts,
    )
    first = found.bending[0]
    along = wood[first] if first is not None else None
    modes: list[Mode] = ["along" if peak is along else "other" for peak in reading.peaks]
    prior = expected(day.species, piece.density_kg_m3).elastic
    scale = found.e_along_mpa / prior.e_along_mpa
    elastic = replace(
        prior.at(found.e_along_mpa, prior.e_across_mpa * scale, prior.g_mpa * scale),
        g_along_thick_mpa=found.g_mpa,
    )
    g_spread = found.spread_pct["g"] if found.g_told else None
    result = PlateResult(
        way="taps",
        kind="bar",
        piece=piece,
        elastic=elastic,
        density_kg_m3=piece.density_kg_m3,
        e_along_mpa=found.e_along_mpa,
        e_across_mpa=None,
        g_mpa=found.g_mpa if found.g_told else None,
        spread_pct={"e_along": found.spread_pct["e_along"], "e_across": None, "g": g_spread},
        stiffness_spread_pct=(found.spread_pct["e_along"], 100.0),
        peaks=tuple(zip(reading.peaks, modes, strict=True)),
        loss_along=_loss(along),
        effects_pct={"air_mass_along": found.air_pct, "shear_of_e": found.shear_pct},
        warnings=(*reading.warnings, *found.warnings, "a bar tells nothing across the grain"),
    )
    return with_meaning(result, day)


def with_meaning(result: PlateResult, day: Circumstances) -> PlateResult:
    """A result with the day's moisture, the species' range and the grain beside it.

    Raises:
        Mistake: no such species or air.
    """
    notes = list(result.notes)
    ratios = elastic_ratios(day.species)
    if result.e_along_mpa is not None:
        notes += grain_words(result.elastic, ratios, day.runout_deg, day.ring_to_face_deg)
    moisture, now_pct = None, None
    if day.temp_c is not None and day.rh_pct is not None:
        now_pct = emc_pct(day.temp_c, day.rh_pct)
        moisture = _standard(result, now_pct, day)
        notes.append("moisture is what this air gives in time: wood that came in lately may differ")
    beside: tuple[Beside, ...] = ()
    if day.species and result.e_along_mpa is not None and result.density_kg_m3:
        at_12 = result.elastic, result.density_kg_m3
        if now_pct is not None:
            at_12 = at_moisture(result.elastic, result.density_kg_m3, now_pct, 12.0, day.species)
        beside = beside_species(day.species, at_12[0].e_along_mpa, at_12[1])
        notes += [f"{row.what.split(',')[0]} is {row.words}" for row in beside]
    return replace(result, moisture=moisture, beside=beside, notes=tuple(notes))


def _standard(result: PlateResult, now_pct: float, day: Circumstances) -> AtMoisture:
    """The constants at the shop's standard moisture."""
    density = result.density_kg_m3
    moved, heavy = at_moisture(result.elastic, density or 400.0, now_pct, day.standard_mc_pct, day.species)
    return AtMoisture(
        now_pct,
        day.standard_mc_pct,
        None if result.e_along_mpa is None else moved.e_along_mpa,
        None if result.e_across_mpa is None else moved.e_across_mpa,
        # the G that was told: a bar bends by its shear through the thickness, a plate twists in its plane
        None if result.g_mpa is None else (moved.g_along_thick_mpa if result.kind == "bar" else moved.g_mpa),
        None if density is None else heavy,
    )
