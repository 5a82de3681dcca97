"""What came in, sorted for a person to confirm: which photographs are pairs, which alone, which failed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop import jobs
from seamlight.shop.arrivals import arrivals
from seamlight.shop.arrivals_met import Came, meetings
from seamlight.shop.arrivals_paired import ALONE, MATCHING, paired
from seamlight.shop.change import Change
from seamlight.shop.look import LookSaid, look_said
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Arrival, Job, Pair, PairPhoto
from seamlight.shop.taking_in import LOOK, ask_look, ask_match, look_key, small_key

ROLES = (
    ("a", "leaf A, sawn face"),
    ("b", "leaf B, sawn face"),
    ("opened", "the opened pair, both leaves"),
    ("other_a", "leaf A, other face"),
    ("other_b", "leaf B, other face"),
    ("end_a", "leaf A, end grain"),
    ("end_b", "leaf B, end grain"),
    ("paper", "a paper of it"),
    ("other", "something else"),
)
ONE_EACH = ("a", "b", "opened", "other_a", "other_b", "end_a", "end_b")


@dataclass(frozen=True)
class Waiting:
    """One photograph that came in: what a first look said, and what is proposed for it."""

    arrival: Arrival
    state: str  # waiting, matching, looked, failed
    says: str
    role: str
    picture: str = ""  # the key of its small picture; "" where there is none


@dataclass(frozen=True)
class Group:
    """Photographs that are proposed to be one pair; `says` why."""

    number: int
    members: tuple[Waiting, ...]
    says: str
    sure: bool  # confirmed at a glance: two leaves that match


def sorted_in(session: Session, shop: Shop) -> tuple[Group, ...]:
    """Everything new, in groups, oldest first; by what was kept of it, nothing is matched here."""
    rows = arrivals(session)
    said = {row.id: look_said(shop.made.path(look_key(row))) for row in rows}
    trouble, elsewhere = _trouble(session, rows), _filed(session, rows)
    leaves = [row for row in rows if _is_leaf(said[row.id])]
    found = paired([came(shop, row) for row in leaves], meetings(shop.made))
    groups: list[tuple[tuple[Waiting, ...], str, bool]] = []
    for one in found:
        says = elsewhere.get(leaves[one.a].id, one.says) if one.b is None else one.says
        state = "matching" if says == MATCHING else "looked"
        members = [Waiting(leaves[one.a], state, "", "a", _picture(shop, leaves[one.a]))]
        if one.b is not None:
            members.append(Waiting(leaves[one.b], state, "", "b", _picture(shop, leaves[one.b])))
        groups.append((tuple(members), says, one.b is not None))
    for row in rows:
        if not _is_leaf(said[row.id]):
            alone = _alone(shop, row, said[row.id], trouble.get(row.id))
            groups.append(((alone,), elsewhere.get(row.id) or _says_alone(alone, rows), False))
    ordered = sorted(groups, key=lambda group: group[0][0].arrival.id)
    return tuple(Group(n, members, says, sure) for n, (members, says, sure) in enumerate(ordered, 1))


def came(shop: Shop, row: Arrival) -> Came:
    """A photograph that came in, as it is matched."""
    key = look_key(row)
    return Came(key, row.file_sha256, row.name_given or f"photograph {row.id}", shop.made.path(key))


def to_match(session: Session, shop: Shop) -> list[Came]:
    """What came in and shows one leaf, one for each look, oldest first; also what was put aside."""
    rows = sorted([*arrivals(session), *arrivals(session, "dropped")], key=lambda row: row.id)
    looks = {look_key(row): row for row in reversed(rows)}
    looks = {key: row for key, row in looks.items() if _is_leaf(look_said(shop.made.path(key)))}
    return [came(shop, row) for row in sorted(looks.values(), key=lambda row: row.id)]


def ask_what_is_missing(change: Change, shop: Shop) -> None:
    """Have looked at and compared what was not, though nobody asks for it: after what was made is gone."""
    live = {(job.kind, job.subject_id) for job in jobs.jobs(change.session)}
    rows = arrivals(change.session)
    trouble = _trouble(change.session, rows)
    for row in rows:
        unseen = look_said(shop.made.path(look_key(row))) is None
        if unseen and row.id not in trouble and (LOOK, row.id) not in live:
            ask_look(change, row.id)
    seen = meetings(shop.made).seen
    if any(leaf.look not in seen for leaf in to_match(change.session, shop)):
        ask_match(change)


def _is_leaf(said: LookSaid | None) -> bool:
    return said is not None and said.figure


def _alone(shop: Shop, row: Arrival, said: LookSaid | None, trouble: str | None) -> Waiting:
    """What is no single leaf: not looked at yet, an opened pair, or a look that failed."""
    if said is None:
        state, why = ("failed", trouble) if trouble else ("waiting", "not looked at yet")
    else:
        state, why = ("failed", said.why) if said.why else ("looked", "")
    role = "opened" if said is not None and said.leaves == 2 else "a"
    return Waiting(row, state, why, role, _picture(shop, row))


def _says_alone(one: Waiting, rows: Sequence[Arrival]) -> str:
    same = next((row for row in rows if row.file_sha256 == one.arrival.file_sha256), one.arrival)
    if same.id < one.arrival.id:
        return f"the same photograph as {same.name_given or f'photograph {same.id}'}"
    if one.state != "looked":
        return one.says
    return "an opened pair in one picture" if one.role == "opened" else ALONE


def _picture(shop: Shop, row: Arrival) -> str:
    key = small_key(row.file_sha256)
    return key if shop.made.path(key).is_file() else ""


def _filed(session: Session, rows: Sequence[Arrival]) -> dict[int, str]:
    """Of which pair the same file is a photograph already, by arrival."""
    query = (
        select(PairPhoto.file_sha256, Pair.label)
        .join(Pair, Pair.id == PairPhoto.pair_id)
        .where(
            PairPhoto.file_sha256.in_([row.file_sha256 for row in rows]),
            PairPhoto.deleted_at.is_(None),
            Pair.deleted_at.is_(None),
        )
    )
    labels = {row.file_sha256: row.label for row in session.execute(query)}
    return {
        row.id: f"the same photograph as one of {labels[row.file_sha256]}, which is on the rack"
        for row in rows
        if row.file_sha256 in labels
    }


def confirmed(said: Mapping[int, tuple[str, str]]) -> tuple[tuple[str, list[int], list[str]], ...]:
    """What a person confirmed, as pairs to file.

    Args:
        said: for each arrival the name of its group ("" leaves it for later) and its role.

    Returns:
        Group name, arrival numbers and roles of each pair, leaf A first.

    Raises:
        Mistake: a group has two photographs of one face, or none of a leaf.
    """
    groups: dict[str, list[tuple[int, str]]] = {}
    for number, (group, role) in said.items():
        if group:
            groups.setdefault(group, []).append((number, role))
    order = [key for key, _ in ROLES]
    filed = []
    for group, members in groups.items():
        members.sort(key=lambda member: order.index(member[1]) if member[1] in order else len(order))
        roles = [role for _, role in members]
        twice = next((role for role in ONE_EACH if roles.count(role) > 1), None)
        if twice is not None:
            raise Mistake(
                f"has two photographs of {dict(ROLES)[twice]}",
                where=f"pair {group}",
                do="say what the second one shows, or give it another pair",
            )
        filed.append((group, [number for number, _ in members], roles))
    return tuple(filed)


def _trouble(session: Session, rows: Sequence[Arrival]) -> dict[int, str]:
    """Why the newest look at an arrival failed, by arrival."""
    numbers = [row.id for row in rows]
    looks = select(Job).where(Job.kind == LOOK, Job.subject_id.in_(numbers)).order_by(Job.id)
    newest = {job.subject_id: job for job in session.scalars(looks) if job.subject_id is not None}
    return {
        number: job.says or "the look was stopped"
        for number, job in newest.items()
        if job.state in ("failed", "stopped")
    }
