"""A read pair as it is worked on: its leaves with what a person said about their flaws, and how B lies."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal, NamedTuple

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from seamlight.grain.edits import edit_flaws
from seamlight.grain.flaw import Flaw
from seamlight.layout.leaf_file import leaf_from_bytes
from seamlight.layout.openings import mirrored
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.sound import sound_wood
from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.shop.flaw_edits import FACES, FaceName, flaw_edits
from seamlight.shop.flaw_limits import check_said
from seamlight.shop.flaws_meant import as_meant
from seamlight.shop.laying_out import settings_of as settings_of
from seamlight.shop.made_on import pictures_read, same_picture
from seamlight.shop.outlines import outline, own_outlines
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Fields, FlawEdit, Reading
from seamlight.shop.taking_in import flat_key, leaf_key

LeafName = Literal["a", "b"]
LEAVES: tuple[LeafName, ...] = ("a", "b")
_KEPT = 32  # leaves in work at a time; the same object each time keeps what was turned and cut of it


@dataclass(frozen=True, eq=False)
class PairWood:
    """Both leaves ready to be judged. Where B was not photographed, A's mirror stands in."""

    pair_id: int
    a: Leaf
    b: Leaf
    stands_in: bool
    registration: Registration
    found: Mapping[FaceName, tuple[Flaw, ...]]  # flaws as read, which edits count from
    edits: Mapping[FaceName, Fields]
    versions: Mapping[FaceName, int]  # of the edits; 0: nothing was said
    px_per_mm: Mapping[LeafName, float]  # of the flat pictures
    read_id: int  # of leaf A's reading: tells an old picture from a new one
    others: frozenset[LeafName] = frozenset()  # leaves whose other face was photographed and can be shown
    pictures: Mapping[str, str] = field(default_factory=dict)  # hash of what each face was read from
    # What was said of a face on an earlier picture, by its hash: not applied, the leaf may lie otherwise.
    unapplied: Mapping[FaceName, str] = field(default_factory=dict)

    @property
    def said(self) -> str:
        """Tells one state of what was said about the flaws from another."""
        return "-".join(str(self.versions[face]) for face in FACES)


def pair_wood(shop: Shop, session: Session, pair_id: int) -> PairWood | None:
    """The pair's wood; None where it was not read, or what was kept of it has to be made again.

    Raises:
        Mistake: what was kept cannot be read by this program.
    """
    read_a = _newest_read(session, pair_id, "a")
    if read_a is None or not _there(shop, pair_id, "a"):
        return None
    read_b = _newest_read(session, pair_id, "b")
    if read_b is not None and not _there(shop, pair_id, "b"):
        return None
    said = flaw_edits(session, pair_id)
    now = pictures_read(session, pair_id)
    here = {face: row for face, row in said.items() if same_picture(row.made_on, now.get(face))}
    edits: dict[FaceName, Fields] = {face: here[face].edits for face in FACES if face in here}
    unapplied: dict[FaceName, str] = {
        face: str(said[face].made_on) for face in FACES if face in said and face not in here
    }
    versions: dict[FaceName, int] = {face: said[face].version if face in said else 0 for face in FACES}
    as_found = _kept(shop.made.path(leaf_key(pair_id, "a")))
    _mean(edits, here, "a", as_found)
    a = _edited(as_found, *_texts(edits, "a", read_a, as_found))
    found: dict[FaceName, tuple[Flaw, ...]] = {"a": as_found.flaws, "other_a": as_found.other_flaws}
    px: dict[LeafName, float] = {"a": read_a.px_per_mm}
    if read_b is None:
        b, found["b"], found["other_b"], px["b"] = _mirror(a), (), (), px["a"]
    else:
        b_found = _kept(shop.made.path(leaf_key(pair_id, "b")))
        _mean(edits, here, "b", b_found)
        b = _edited(b_found, *_texts(edits, "b", read_b, b_found))
        found["b"], found["other_b"], px["b"] = b_found.flaws, b_found.other_flaws, read_b.px_per_mm
    registration = Registration(1.0) if read_b is None else _registration(session, pair_id)
    reads: dict[LeafName, _Read | None] = {"a": read_a, "b": read_b}
    others = frozenset(
        leaf
        for leaf, read in reads.items()
        if read is not None
        and read.other_face
        and shop.made.path(flat_key(pair_id, f"other_{leaf}")).is_file()
    )
    return PairWood(
        pair_id,
        a,
        b,
        read_b is None,
        registration,
        found,
        edits,
        versions,
        px,
        read_a.id,
        others,
        pictures=now,
        unapplied={face: sha for face, sha in unapplied.items() if said[face].edits},
    )


def _mean(edits: dict[FaceName, Fields], said: Mapping[str, FlawEdit], leaf: LeafName, kept: Leaf) -> None:
    """Give what was said of a leaf's faces the numbers that the flaws it means have now."""
    faces: tuple[tuple[FaceName, tuple[Flaw, ...]], ...] = (
        ("a" if leaf == "a" else "b", kept.flaws),
        ("other_a" if leaf == "a" else "other_b", kept.other_flaws),
    )
    for face, found in faces:
        if face in edits:
            edits[face] = as_meant(edits[face], said[face].boxes, found)


def check_edits(wood: PairWood, face: FaceName, edits: Mapping[str, Any]) -> None:
    """Raise a Mistake where a face cannot have these flaws.

    Such as edits that cannot be, more of them or further off than any leaf has, or no sound wood left.
    """
    leaf, other = leaf_of(face), face.startswith("other_")
    if leaf == "b" and wood.stands_in:
        raise Mistake(
            "leaf B was not photographed", where="leaf", do="say it of leaf A, whose mirror stands in"
        )
    if other and leaf not in wood.others and not wood.found[face]:
        raise Mistake(
            f"the other face of leaf {leaf.upper()} was not photographed",
            where="leaf",
            do="photograph it and add the picture first",
        )
    now = wood.a if leaf == "a" else wood.b
    check_said(edits, now.width_mm, now.length_mm)
    flaws = edit_flaws(wood.found[face], edits)
    sound_wood(replace(now, other_flaws=flaws) if other else replace(now, flaws=flaws))


def leaf_of(face: FaceName) -> LeafName:
    """The leaf that a face belongs to."""
    return "a" if face.endswith("a") else "b"


def was_read(session: Session, pair_id: int) -> bool:
    """Whether the pair was read at all, even if what was kept of it has to be made again."""
    return _newest_read(session, pair_id, "a") is not None


def flat_picture(shop: Shop, pair_id: int, face: FaceName) -> Path:
    """Where a face's flat picture lies (JPEG in the leaf frame); it may have to be made again."""
    return shop.made.path(flat_key(pair_id, face))


def layout_reading(session: Session, pair_id: int, outline_name: str) -> Reading | None:
    """The newest layout of a pair for an outline."""
    named = Reading.says["outline"]["name"].as_string() == outline_name
    found = select(Reading).where(*_live(pair_id, "layout"), named).order_by(Reading.id.desc()).limit(1)
    return session.scalars(found).one_or_none()


def shape(shop: Shop, session: Session, name: str) -> Outline:
    """An outline by its name, the same object each time.

    Raises:
        Mistake: there is none of that name.
    """
    row = own_outlines(session).get(name)
    key = (str(shop.folder), name, json.dumps(row, sort_keys=True))
    if key not in _shapes:
        while len(_shapes) >= _KEPT:
            _shapes.pop(next(iter(_shapes)))
        _shapes[key] = outline(session, shop.files, name)
    return _shapes[key]


_shapes: dict[tuple[str, str, str], Outline] = {}


def _there(shop: Shop, pair_id: int, leaf: LeafName) -> bool:
    return all(shop.made.path(key(pair_id, leaf)).is_file() for key in (leaf_key, flat_key))


class _Read(NamedTuple):
    id: int
    px_per_mm: float
    other_face: bool | None  # None: read by an earlier form, which did not keep the other face's picture


def _newest_read(session: Session, pair_id: int, leaf: LeafName) -> _Read | None:
    """The newest reading of a leaf without its document, which grows with every flaw."""
    own = Reading.says["leaf"].as_string() == leaf
    rows = select(Reading.id, Reading.says).where(*_live(pair_id, "read"), own)
    row = session.execute(rows.order_by(Reading.id.desc()).limit(1)).one_or_none()
    return None if row is None else _Read(row[0], float(row[1]["px_per_mm"]), row[1].get("other_face"))


def _live(pair_id: int, verb: str) -> tuple[ColumnElement[bool], ...]:
    return Reading.pair_id == pair_id, Reading.verb == verb, Reading.deleted_at.is_(None)


def _registration(session: Session, pair_id: int) -> Registration:
    """As the newest layout kept it; unmatched leaves lie end on end."""
    newest = select(Reading.says).where(*_live(pair_id, "layout")).order_by(Reading.id.desc()).limit(1)
    says = session.scalars(newest).one_or_none()
    said = says.get("registration") if says is not None else None
    if not said:
        return Registration(0.0, slide_mm=None, across_mm=None, rotate_deg=None)
    known = {**said, "warnings": tuple(said.get("warnings", ()))}
    return Registration(**known)


def _kept(path: Path) -> Leaf:
    stat = path.stat()
    return _kept_as(str(path), stat.st_mtime_ns, stat.st_size)


@lru_cache(maxsize=_KEPT)
def _kept_as(path: str, written_ns: int, size: int) -> Leaf:
    return leaf_from_bytes(Path(path).read_bytes())


def _texts(edits: Mapping[FaceName, Fields], leaf: LeafName, read: _Read, kept: Leaf) -> tuple[str, str]:
    """What was said of both faces; nothing of an other face whose photograph was taken away."""
    other: FaceName = "other_a" if leaf == "a" else "other_b"
    there = bool(kept.other_flaws) if read.other_face is None else read.other_face
    return _text(edits.get(leaf)), _text(edits.get(other) if there else None)


def _text(edits: Fields | None) -> str:
    return json.dumps(edits or {}, sort_keys=True)


@lru_cache(maxsize=_KEPT)
def _edited(leaf: Leaf, edits: str, other_edits: str) -> Leaf:
    said, other = json.loads(edits), json.loads(other_edits)
    if said:
        leaf = replace(leaf, flaws=edit_flaws(leaf.flaws, said))
    return replace(leaf, other_flaws=edit_flaws(leaf.other_flaws, other)) if other else leaf


@lru_cache(maxsize=_KEPT)
def _mirror(leaf: Leaf) -> Leaf:
    return mirrored(leaf)
