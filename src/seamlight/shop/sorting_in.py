"""What came in, sorted for a person to confirm: which photographs are pairs, which alone, which failed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.shop.arrivals import arrivals
from seamlight.shop.look import Look, Proposal, look_from_bytes, propose
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Arrival, Job
from seamlight.shop.taking_in import LOOK, look_key

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
    state: str  # waiting, looked, failed
    says: str
    role: str


@dataclass(frozen=True)
class Group:
    """Photographs that are proposed to be one pair; `says` why."""

    number: int
    members: tuple[Waiting, ...]
    says: str
    sure: bool  # confirmed at a glance: two leaves that match


def sorted_in(session: Session, shop: Shop) -> tuple[Group, ...]:
    """Everything new, in groups, oldest first."""
    rows = arrivals(session)
    looks = {row.id: look for row in rows if (look := _look(shop, row.id)) is not None}
    trouble = _trouble(session)
    seen = [row for row in rows if row.id in looks]
    found = propose([row.name_given or str(row.id) for row in seen], [looks[row.id] for row in seen])
    groups: list[tuple[int, tuple[Waiting, ...], str, bool]] = []
    for one in found:
        members = [_waiting(seen[one.a], looks, _first_role(one, looks[seen[one.a].id]))]
        if one.b is not None:
            members.append(_waiting(seen[one.b], looks, "b"))
        groups.append((seen[one.a].id, tuple(members), one.says, one.b is not None))
    for row in rows:
        if row.id not in looks:
            failed = trouble.get(row.id)
            state, says = ("failed", failed) if failed else ("waiting", "not looked at yet")
            groups.append((row.id, (Waiting(row, state, says, "a"),), says, False))
    ordered = sorted(groups, key=lambda group: group[0])
    return tuple(Group(n, members, says, sure) for n, (_, members, says, sure) in enumerate(ordered, 1))


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


def _waiting(row: Arrival, looks: Mapping[int, Look], role: str) -> Waiting:
    look = looks[row.id]
    return Waiting(row, "failed" if look.why else "looked", look.why, role)


def _first_role(one: Proposal, look: Look) -> str:
    return "opened" if one.b is None and look.leaves == 2 else "a"


def _look(shop: Shop, arrival_id: int) -> Look | None:
    try:
        return look_from_bytes(shop.made.path(look_key(arrival_id)).read_bytes())
    except (OSError, Mistake):
        return None


def _trouble(session: Session) -> dict[int, str]:
    """Why the newest look at an arrival failed, by arrival."""
    rows: Sequence[Job] = session.scalars(select(Job).where(Job.kind == LOOK).order_by(Job.id)).all()
    newest = {row.subject_id: row for row in rows if row.subject_id is not None}
    return {
        number: row.says or "the look was stopped"
        for number, row in newest.items()
        if row.state in ("failed", "stopped")
    }
