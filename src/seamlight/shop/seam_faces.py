"""Feelers, or light from the side, on both faces of a pair's joint: kept, and joined to its light reading."""

from __future__ import annotations

from sqlalchemy.orm import Session

from seamlight.seam import Readings, SeamDocument, join_faces, judge_readings, light_again
from seamlight.seam.readings import Of
from seamlight.shop.change import Change
from seamlight.shop.readings import as_fields, keep_reading, readings
from seamlight.shop.seam_bench import FEELER, LIGHT, STROKES, JointRead, bench_of, joint_readings
from seamlight.shop.tables import Fields, Reading
from seamlight.shop.tally import planed
from seamlight.units import Unit


def light_as_it_is(session: Session, pair_id: int) -> JointRead | None:
    """The newest light reading, where nothing was taken off since as far as the shop knows."""
    light = next((one for one in reversed(joint_readings(session, pair_id)) if one.verb == LIGHT), None)
    if light is None:
        return None
    stroked = any(row.id > light.id for row in readings(session, pair_id=pair_id, verb=STROKES))
    taken_off = any(row.at > light.at for row in planed(session, pair_id))
    return None if stroked or taken_off else light


def keep_feelers(
    change: Change,
    pair_id: int,
    said: Readings,
    unit: Unit,
    *,
    of: Of = "joint",
    length_mm: float | None = None,
    says: Fields,
) -> Reading:
    """Keep typed readings; both faces of the closed joint are joined to the light reading they belong to.

    Raises:
        Mistake: readings that cannot be, or beyond the joint.
    """
    light = light_as_it_is(change.session, pair_id) if said.back_mm is not None and of == "joint" else None
    if light is not None:
        bench = bench_of(change.session, pair_id, unit, before=light.id)
        joined = SeamDocument.of_meaning(join_faces(light_again(light.document, bench), said, bench), bench)
        says = {**says, "of_light": light.id, "joined": as_fields(joined)}
    bench = bench_of(change.session, pair_id, unit)
    document = SeamDocument.of_meaning(judge_readings(said, bench, of=of, length_mm=length_mm), bench)
    return keep_reading(change, FEELER, document, pair_id=pair_id, says=says)
