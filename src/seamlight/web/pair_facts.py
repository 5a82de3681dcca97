"""What stands on a pair's page beside its picture."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from seamlight.grain.tone_document import ToneDocument
from seamlight.layout.opening import Opening
from seamlight.layout.sound import COUNTS_FROM, all_flaws
from seamlight.mistake import Mistake
from seamlight.sheets.words import reasons_beyond, shortages, verdict, verdict_sentence
from seamlight.shop import jobs
from seamlight.shop import wood as wood_rows
from seamlight.shop.change import Changed
from seamlight.shop.grading import Graded, graded, shop_rules
from seamlight.shop.history import history
from seamlight.shop.pair_wood import was_read
from seamlight.shop.photos import photos
from seamlight.shop.planed_room import PlanedRoom, planed_room
from seamlight.shop.runout import kept_runout
from seamlight.shop.shop import Shop
from seamlight.shop.stages import next_stage
from seamlight.shop.tables import File, Job, Pair, PairPhoto, Planed, Reading, Weight
from seamlight.shop.taking_in import READ_KINDS, small_key
from seamlight.shop.tally import planed, weights
from seamlight.shop.two_tone import ROLES as TONE_ROLES
from seamlight.shop.two_tone import kept_tone
from seamlight.units import Unit
from seamlight.web.pair_bench import Bench, Found, bench
from seamlight.web.pair_why import first_because
from seamlight.web.weight_curves import WeightCurves, weight_curves

LEAF_ROLES = ("a", "b", "opened")
ZONE_WORDS = {
    "soundhole": "falls in the soundhole and is cut out",
    "bridge": "lies under the bridge and its plate",
    "fingerboard": "lies under the fingerboard",
    "edge": "lies in the edge band",
    "open": "lies in the open",
}
ROLE_WORDS = {
    "a": "leaf A, sawn face",
    "b": "leaf B, sawn face",
    "other_a": "leaf A, other face",
    "other_b": "leaf B, other face",
    "end_a": "leaf A, end grain",
    "end_b": "leaf B, end grain",
    "opened": "the opened pair",
    "joined": "the joined pair",
    "tone_1": "lit from end 1",
    "tone_2": "lit from end 2",
    "seam": "light through the joint",
    "other": "something else",
    "paper": "a paper",
}


@dataclass(frozen=True)
class Shown:
    """A photograph or a paper with its file."""

    photo: PairPhoto
    file: File
    small: str  # where a picture of it is; "" where it is no picture

    @property
    def says(self) -> str:
        """What it shows."""
        return self.photo.note or ROLE_WORDS.get(self.photo.role, self.photo.role)

    @property
    def dated(self) -> datetime:
        """When it was taken, as far as is known."""
        return self.photo.taken_at or self.photo.added_at


@dataclass(frozen=True)
class ThenNow:
    """One face at its arrival and as it was looked at last."""

    says: str
    then: Shown
    now: Shown


@dataclass(frozen=True, eq=False)
class PairPage:
    """Everything the page's template names."""

    pair: Pair
    laid: Bench | None
    opening: Opening | None
    verdict: str
    said: str
    reasons: tuple[str, ...]
    flaw_lines: tuple[str, ...]
    cards: tuple[Card, ...]
    first_because: str  # why the first ranks first where a lower one has more room
    pictures: tuple[Shown, ...]
    papers: tuple[Shown, ...]
    then_now: tuple[ThenNow, ...]
    weights: tuple[Weight, ...]
    planed: tuple[Planed, ...]
    room: tuple[PlanedRoom, ...]
    graded: Graded | None
    grade_fault: str
    runout: Reading | None
    tone: ToneDocument | None
    tone_lacks: tuple[str, ...]  # which end the missing picture is to be lit from
    curves: WeightCurves | None
    next_stage: str | None
    history: tuple[tuple[int, Changed], ...]
    reading: Job | None  # under way, or the last one where it failed
    readable: bool  # its photographs can be read
    was_read: bool


@dataclass(frozen=True, eq=False)
class Card:
    """One opening to choose from."""

    found: Found
    verdict: str
    said: str
    reason: str
    chosen: bool


def pair_page(shop: Shop, session: Session, pair_id: int, outline: str | None, unit: Unit) -> PairPage:
    """All of it, read at once.

    Raises:
        Mistake: no such pair or outline.
    """
    pair = wood_rows.pair(session, pair_id, deleted=True)
    laid = bench(shop, session, pair_id, outline)
    opening = laid.judge(laid.placing) if laid is not None else None
    shown = _shown(shop, session, pair_id)
    pictures = tuple(one for one in shown if one.small)
    rows = tuple(planed(session, pair_id))
    faces = [one for one in pictures if one.photo.role in LEAF_ROLES]
    since = max((one.photo.added_at for one in faces), default=None)
    found, fault = _graded(session, pair, unit)
    weighed = tuple(weights(session, pair_id))
    return PairPage(
        pair=pair,
        laid=laid,
        opening=opening,
        verdict=verdict(opening) if opening is not None else "note",
        said=sentence(opening, unit) if opening is not None else "",
        reasons=reasons(opening, laid, unit) if opening is not None and laid is not None else (),
        flaw_lines=flaw_lines(opening, laid) if opening is not None and laid is not None else (),
        cards=_cards(laid, unit) if laid is not None else (),
        first_because=_first_because(laid, unit) if laid is not None else "",
        pictures=pictures,
        papers=tuple(one for one in shown if not one.small),
        then_now=_then_now(pictures),
        weights=weighed,
        planed=rows,
        room=planed_room(opening, rows, since) if opening is not None else (),
        graded=found,
        grade_fault=fault,
        runout=kept_runout(session, pair_id),
        tone=kept_tone(session, pair_id),
        tone_lacks=tuple(
            end
            for role, end in zip(TONE_ROLES, ("end 1", "end 2"), strict=True)
            if not any(one.photo.role == role for one in shown)
        ),
        curves=weight_curves(weighed),
        next_stage=next_stage(pair.stage),
        history=tuple((line.id, Changed.of(line)) for line in history(session, "pair", pair_id, most=100)),
        reading=_reading(session, pair_id),
        readable=pair.kind in READ_KINDS and bool(faces),
        was_read=was_read(session, pair_id),
    )


def sentence(opening: Opening, unit: Unit) -> str:
    """The verdict as a sentence of its own."""
    said = verdict_sentence(opening, unit)
    return said[:1].upper() + said[1:]


def reasons(opening: Opening, laid: Bench, unit: Unit) -> tuple[str, ...]:
    """Where it is short, then why it stands as it does, then what can be done."""
    said = [*shortages(opening, laid.outline.length_mm, unit), *reasons_beyond(opening, unit)]
    return tuple(text[:1].upper() + text[1:] for text in dict.fromkeys(said))


def flaw_lines(opening: Opening, laid: Bench) -> tuple[str, ...]:
    """Each flaw inside the outline and where it falls, worst first."""
    said = []
    for one in opening.flaws_inside:
        leaf = laid.wood.a if one.leaf == "a" else laid.wood.b
        flaw = all_flaws(leaf)[one.flaw]
        face = " on the other face" if one.flaw >= len(leaf.flaws) else ""
        name = f"{flaw.kind} of leaf {one.leaf.upper()}{face}"
        counted = flaw.sure >= COUNTS_FROM
        said.append(
            f"{name[:1].upper()}{name[1:]} {ZONE_WORDS[one.zone]}"
            if counted
            else f"Perhaps a {name}: {ZONE_WORDS[one.zone]}; not counted"
        )
    return tuple(said) or ("No flaw inside the outline",)


def _first_because(laid: Bench, unit: Unit) -> str:
    """Nothing where the flaws are newer than the search: the openings may rank otherwise by now."""
    return "" if laid.stale else first_because([found.opening for found in laid.found], unit)


def _cards(laid: Bench, unit: Unit) -> tuple[Card, ...]:
    def near(found: Found) -> bool:
        one, other = found.placing, laid.placing
        return (one.joint_edge, one.neck_end, one.show_face) == (
            other.joint_edge,
            other.neck_end,
            other.show_face,
        )

    return tuple(
        Card(
            found,
            verdict(found.opening),
            sentence(found.opening, unit),
            next((text for text in reasons_beyond(found.opening, unit)), ""),
            laid.chosen and near(found),
        )
        for found in laid.found
    )


def _shown(shop: Shop, session: Session, pair_id: int) -> list[Shown]:
    rows = []
    for photo in photos(session, pair_id):
        file = session.get(File, photo.file_sha256)
        if file is None:
            continue
        small = ""
        if file.media_type.startswith("image/") and photo.role != "paper":
            key = small_key(file.sha256)
            small = f"/made/{key}" if shop.made.path(key).is_file() else f"/files/{file.sha256}"
        rows.append(Shown(photo, file, small))
    return rows


def _then_now(pictures: tuple[Shown, ...]) -> tuple[ThenNow, ...]:
    """Faces that were photographed at arrival and again later (a crack may have come in between)."""
    found = []
    for role in dict.fromkeys(one.photo.role for one in pictures):
        same = [one for one in pictures if one.photo.role == role]
        then = next((one for one in same if one.photo.arrival), None)
        if then is not None and same[-1] is not then:
            found.append(ThenNow(ROLE_WORDS.get(role, role), then, same[-1]))
    return tuple(found)


def _graded(session: Session, pair: Pair, unit: Unit) -> tuple[Graded | None, str]:
    try:
        return graded(session, pair, shop_rules(session), unit), ""
    except Mistake as mistake:
        return None, str(mistake)


def _reading(session: Session, pair_id: int) -> Job | None:
    """What is under way, else what went wrong last."""
    own = jobs.jobs_of(session, "pair", pair_id)
    live = next((job for job in own if job.state in jobs.LIVE), None)
    return live or (own[0] if own and own[0].state == "failed" else None)
