"""What a pair's record brings to its plate: size, weight, species, air; earlier readings and past plates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.plate import TapDocument
from seamlight.shop.air import newest_air
from seamlight.shop.readings import newest, readings
from seamlight.shop.tables import Pair, Reading
from seamlight.shop.tally import weights
from seamlight.shop.wood import pair
from seamlight.timber.elastic import elastic_facts
from seamlight.timber.species import species

PieceName = Literal["a", "b", "joined", "blank"]
TAP, DEFLECT, THICKNESS, BRACE, RUNOUT = "tap", "deflect", "thickness", "brace", "runout"
PIECES: dict[PieceName, str] = {
    "a": "leaf A",
    "b": "leaf B",
    "joined": "the joined plate",
    "blank": "the blank",
}
JOINED_STAGES = ("joined", "rested", "thicknessed", "used")


@dataclass(frozen=True)
class OnRecord:
    """What is known of one piece before anything is typed; mm, g, deg C, %; None where it is not."""

    length_mm: float | None = None
    width1_mm: float | None = None
    width2_mm: float | None = None
    thickness_mm: float | None = None
    weight_g: float | None = None
    species: str | None = None
    temp_c: float | None = None
    rh_pct: float | None = None
    runout_deg: float | None = None
    ring_to_face_deg: float | None = None


@dataclass(frozen=True)
class PlateRead:
    """One kept reading of a piece by taps or by a weight."""

    id: int
    verb: Literal["tap", "deflect"]
    piece: PieceName
    document: TapDocument
    files: tuple[str, ...]
    says: dict[str, Any]
    at: datetime
    by: str


@dataclass(frozen=True)
class PastPlate:
    """A plate that was tapped in this shop: kg/m3 and MPa."""

    reading_id: int
    pair_id: int
    label: str
    species: str | None
    density_kg_m3: float
    e_along_mpa: float


def on_record(session: Session, pair_id: int, piece: PieceName) -> OnRecord:
    """What a pair's record says of a piece of it."""
    found, air = pair(session, pair_id), newest_air(session)
    a, b = _leaf(session, pair_id, "a"), _leaf(session, pair_id, "b")
    b = b or a
    length, width1, width2 = b if piece == "b" and b is not None else (a or (None, None, None))
    if piece == "joined" and a is not None and b is not None:
        length, width1, width2 = min(a[0], b[0]), a[1] + b[1], a[2] + b[2]
    return OnRecord(
        length_mm=length,
        width1_mm=width1,
        width2_mm=width2,
        thickness_mm=found.thickness_mm,
        weight_g=_weight(session, pair_id, piece),
        species=wood_named(found.species_common),
        temp_c=air.temp_c if air else None,
        rh_pct=air.rh_pct if air else None,
        runout_deg=_runout(session, pair_id),
        ring_to_face_deg=_rings(session, pair_id, "b" if piece == "b" else "a"),
    )


def _runout(session: Session, pair_id: int) -> float | None:
    row = newest(session, RUNOUT, pair_id=pair_id)
    found = row.document.get("runout_deg") if row is not None else None
    return None if found is None else float(found)


def _rings(session: Session, pair_id: int, leaf: str) -> float | None:
    """Ring to face of a leaf, the mean of its thirds as its end grain showed them."""
    row = newest(session, "read", pair_id=pair_id, leaf=leaf)
    thirds = (row.document.get("grain") or {}).get("ring_to_face_deg") if row is not None else None
    known = [float(value) for value in (thirds or {}).values() if value is not None]
    return sum(known) / len(known) if known else None


def _leaf(session: Session, pair_id: int, leaf: str) -> tuple[float, float, float] | None:
    """Length and the widths at both ends of a leaf, as it was read from its photograph."""
    row = newest(session, "read", pair_id=pair_id, leaf=leaf)
    said = row.document.get("leaf") if row is not None else None
    if not said:
        return None
    return float(said["length_mm"]), float(said["width_end1_mm"]), float(said["width_end2_mm"])


def _weight(session: Session, pair_id: int, piece: PieceName) -> float | None:
    """The newest weight of a piece; both leaves' together where the pair was not weighed whole."""
    newest_of = {row.leaf: row.grams for row in weights(session, pair_id)}
    if piece in ("a", "b"):
        return newest_of.get(piece)
    if "both" not in newest_of and {"a", "b"} <= newest_of.keys():
        return newest_of["a"] + newest_of["b"]
    return newest_of.get("both")


def wood_named(name: str | None) -> str | None:
    """A wood's name where the tables have its stiffness."""
    try:
        return elastic_facts(species(name).name).name if name else None
    except Mistake:
        return None


def plate_readings(session: Session, pair_id: int) -> tuple[PlateRead, ...]:
    """A pair's readings by taps and by a weight, oldest first."""
    return tuple(_read(row) for row in readings(session, pair_id=pair_id) if row.verb in (TAP, DEFLECT))


def newest_of(read: tuple[PlateRead, ...], piece: PieceName, verb: str) -> PlateRead | None:
    """The reading that counts of one piece and one way."""
    return next((one for one in reversed(read) if one.piece == piece and one.verb == verb), None)


def usual_piece(stage: str, kind: str) -> PieceName:
    """Which piece is on the bench: the joined plate once it is one."""
    if kind == "brace stock":
        return "blank"
    return "joined" if stage in JOINED_STAGES else "a"


def past_plates(session: Session) -> tuple[PastPlate, ...]:
    """Every plate tapped in this shop, each piece as it was read last."""
    rows = session.execute(
        select(Reading, Pair)
        .join(Pair, Pair.id == Reading.pair_id)
        .where(Reading.verb == TAP, Reading.deleted_at.is_(None), Pair.deleted_at.is_(None))
        .order_by(Reading.id)
    )
    last: dict[tuple[int, str], PastPlate] = {}
    for row, wood in rows:
        said = row.document
        if said["kind"] != "plate" or not said["density_kg_m3"] or not said["e_along_mpa"]:
            continue
        piece = _piece(row)
        label = wood.label if piece == "joined" else f"{wood.label}, {PIECES[piece]}"
        last[wood.id, piece] = PastPlate(
            row.id, wood.id, label, wood.species_common, said["density_kg_m3"], said["e_along_mpa"]
        )
    return tuple(last.values())


def drawn_key(reading_id: int) -> str:
    """Where the spectrum of a reading lies among the made things."""
    return f"plate-{reading_id}.json"


def _piece(row: Reading) -> PieceName:
    return next((name for name in PIECES if name == row.says.get("piece")), "a")


def _read(row: Reading) -> PlateRead:
    return PlateRead(
        id=row.id,
        verb="tap" if row.verb == TAP else "deflect",
        piece=_piece(row),
        document=TapDocument.model_validate(row.document),
        files=tuple(row.files),
        says=dict(row.says),
        at=row.at,
        by=row.by,
    )
