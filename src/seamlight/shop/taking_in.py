"""From photographs that came in to a filed, read and laid-out pair, and keeping what was read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.grain.photograph import ReadSettings
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.photographs import PairPhotographs
from seamlight.mistake import Mistake
from seamlight.photo import parse_scale
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrival, file_to_pair
from seamlight.shop.change import Change
from seamlight.shop.laying_out import settings_for
from seamlight.shop.made_on import same_picture
from seamlight.shop.outlines import built, outline
from seamlight.shop.pair_reading import LeafKept, PairKept, PairOrder
from seamlight.shop.photos import photos
from seamlight.shop.readings import keep_reading
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Arrival, FlawEdit, Job, Pair, PairPhoto, Reading
from seamlight.shop.wood import new_pair, pair

LOOK, MATCH, READ = "look", "match", "read"
USES = {"top": "top", "back": "back"}
READ_KINDS = ("top", "back", "sides")  # kinds whose photographs are read for grain and flaws


def ask_look(change: Change, arrival_id: int) -> Job:
    """Have an arrival looked at in the background."""
    return jobs.ask(change, LOOK, {"arrival": arrival_id}, subject="arrival", subject_id=arrival_id)


def ask_match(change: Change) -> Job:
    """Have the photographs that came in compared with one another in the background; only new couples are."""
    return jobs.ask(change, MATCH, {}, subject="arrivals")


def ask_read(change: Change, pair_id: int, outlines: tuple[str, ...] = ()) -> Job | None:
    """Have a pair read and laid out in the background; None where it has nothing that can be read.

    Args:
        outlines: names; none: those the shop builds.
    """
    if pair(change.session, pair_id).kind not in READ_KINDS or not _faces(change.session, pair_id):
        return None
    payload = {"pair": pair_id, "outlines": list(outlines)}
    return jobs.ask(change, READ, payload, subject="pair", subject_id=pair_id)


def file_pair(change: Change, arrival_ids: list[int], roles: list[str], **facts: Any) -> Pair:
    """A new pair of photographs that came in, filed with their roles; then to be read.

    Raises:
        Mistake: a photograph was filed already, or the facts cannot be.
    """
    first = arrival(change.session, arrival_ids[0])
    given: dict[str, Any] = {"scale_spec": first.scale_spec, "thickness_mm": first.thickness_mm}
    facts = {**given, **{name: value for name, value in facts.items() if value is not None}}
    filed = new_pair(change, **facts)
    for number, role in zip(arrival_ids, roles, strict=True):
        file_to_pair(change, number, filed.id, role)
    ask_read(change, filed.id)
    return filed


def read_settings(scale_spec: str | None, thickness_mm: float | None, *, flaws: bool = True) -> ReadSettings:
    """How a photograph is to be read, from what was typed about it.

    Raises:
        Mistake: the scale or the thickness cannot be.
    """
    return ReadSettings(parse_scale(scale_spec or "tags"), thickness_mm, flaws=flaws)


def order_for(shop: Shop, session: Session, pair_id: int, outlines: list[str] | None = None) -> PairOrder:
    """What to read of a pair, from its newest photograph of each face.

    Args:
        outlines: names; None or none: those the shop builds.

    Raises:
        Mistake: it has no photograph of a face.
    """
    found = pair(session, pair_id)
    faces = _faces(session, pair_id)
    first = faces.get("a") or faces.get("opened")
    if first is None:
        raise Mistake("has no photograph of a leaf", where=f"pair {found.label}", do="add one")

    def path(role: str) -> Path | None:
        photo = faces.get(role)
        return shop.files.path(photo.file_sha256) if photo is not None else None

    lone = "a" in faces and "b" not in faces and "opened" not in faces
    rows = session.scalars(select(FlawEdit).where(FlawEdit.pair_id == pair_id))
    said = [
        row
        for row in rows
        if (row.leaf.endswith("a") or not lone) and same_picture(row.made_on, _shown(faces, row.leaf))
    ]
    use = USES.get(found.kind)
    wanted = tuple(outlines or built(session)) if use else ()
    return PairOrder(
        photographs=PairPhotographs(
            a=shop.files.path(first.file_sha256),
            b=path("b") if "a" in faces else None,
            other_a=path("other_a"),
            other_b=None if lone else path("other_b"),
            end_a=path("end_a"),
            end_b=None if lone else path("end_b"),
        ),
        read=read_settings(found.scale_spec, found.thickness_mm),
        outlines=tuple(outline(session, shop.files, name) for name in wanted),
        place=settings_for(session, pair_id, "back" if use == "back" else "top"),
        edits={row.leaf: row.edits for row in said} or None,
        boxes={row.leaf: row.boxes for row in said if row.boxes} or None,
    )


def keep_pair_reading(
    change: Change,
    shop: Shop,
    pair_id: int,
    kept: PairKept,
    *,
    use: str,
    files: Sequence[str],
    place: LayoutSettings | None = None,
) -> None:
    """Keep what was read of a pair: one reading a leaf, one a layout, and what pages are made from.

    Args:
        use: top or back.
        files: hashes of the kept photographs that it was read from.
        place: what it was laid out with; None: as the contract has it.
    """
    for name, leaf in (("a", kept.a), ("b", kept.b)):
        if leaf is None:
            continue
        keep_leaf(shop, pair_id, name, leaf)
        keep_reading(
            change,
            "read",
            leaf.document,
            pair_id=pair_id,
            files=files,
            says={
                "leaf": name,
                "px_per_mm": leaf.px_per_mm,
                "other_face": leaf.other_picture is not None,
            },
        )
    for name, document in kept.layouts:
        says = {
            "outline": {"name": name},
            "registration": kept.registration,
            "use": use,
            "stands_in": kept.b is None,
        }
        if place is not None:
            says["settings"] = asdict(place)
        keep_reading(change, "layout", document, pair_id=pair_id, files=files, says=says)


def keep_leaf(shop: Shop, pair_id: int, name: str, leaf: LeafKept) -> None:
    """Put a leaf's arrays and its flat pictures where pages find them; all can be made again."""
    shop.made.keep(leaf_key(pair_id, name), leaf.arrays)
    shop.made.keep(flat_key(pair_id, name), leaf.picture)
    if leaf.other_picture is not None:
        shop.made.keep(flat_key(pair_id, f"other_{name}"), leaf.other_picture)


def leaf_key(pair_id: int, leaf: str) -> str:
    """Where a leaf's arrays lie among the made things (`layout.leaf_file`)."""
    return f"leaf-{pair_id}-{leaf}.npz"


def flat_key(pair_id: int, leaf: str) -> str:
    """Where a leaf's flat picture lies among the made things; px to the mm are in its reading.

    `other_a` and `other_b` are the other faces, laid under their leaf's own picture.
    """
    return f"flat-{pair_id}-{leaf}.jpg"


def rack_key(pair_id: int) -> str:
    """Where a pair's small book-matched picture lies among the made things."""
    return f"rack-{pair_id}.jpg"


def small_key(sha: str) -> str:
    """Where a photograph's small picture lies among the made things."""
    return f"small-{sha}.jpg"


def look_key(came: Arrival) -> str:
    """Where the first look at a photograph lies among the made things: one for each scale and thickness."""
    of = f"{came.file_sha256} {came.scale_spec} {came.thickness_mm}"
    return f"look-{sha256(of.encode()).hexdigest()[:32]}.npz"


def made_again(session: Session, shop: Shop, pair_id: int) -> bool:
    """Whether what pages are made from is missing though the pair was read."""
    read = session.scalars(select(Reading.id).where(Reading.pair_id == pair_id, Reading.verb == "read"))
    return read.first() is not None and not shop.made.path(leaf_key(pair_id, "a")).is_file()


def _shown(faces: dict[str, PairPhoto], face: str) -> str | None:
    """Hash of the photograph that shows a face now."""
    photo = faces.get(face) or (faces.get("opened") if face in ("a", "b") else None)
    return photo.file_sha256 if photo is not None else None


def _faces(session: Session, pair_id: int) -> dict[str, PairPhoto]:
    """The newest photograph of each role."""
    return {photo.role: photo for photo in photos(session, pair_id)}


def files_of(order: PairOrder) -> list[str]:
    """Hashes of the kept photographs that an order names."""
    shots = order.photographs
    named = (shots.a, shots.b, shots.other_a, shots.other_b, shots.end_a, shots.end_b)
    return list(dict.fromkeys(path.name for path in named if path is not None))
