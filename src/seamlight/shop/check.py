"""The shop's health: is everything that rows name there and unchanged, is nothing broken or lost.

A finding is `grave` when something that was kept is missing or wrong. What a crash may leave behind, such
as a file that no row came to name, is told as harmless: no page ever shows it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic import Field
from sqlalchemy import exists, func, select, text
from sqlalchemy.orm import Session

from seamlight.document import Document, Part
from seamlight.shop.files import PART, SHA, hash_of
from seamlight.shop.kept import THINGS, Kept, subject_of
from seamlight.shop.named_files import named_files
from seamlight.shop.schema import newest, version_of
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Arrival, File, History, Row

Kind = Literal[
    "missing file",
    "changed file",
    "file without its row",
    "broken reference",
    "history gap",
    "damaged database",
    "leftover",
]


@dataclass(frozen=True)
class Finding:
    """One thing that is not as it should be, where, and what to do about it."""

    kind: Kind
    grave: bool
    where: str
    says: str


class FindingPart(Part):
    """One thing that is not as it should be."""

    kind: Kind
    grave: bool
    where: str
    says: str


class CheckDocument(Document):
    """The shop's health: `sound` when nothing grave was found."""

    schema_: Literal["seamlight/check/1"] = Field(default="seamlight/check/1", alias="schema")
    sound: bool
    tables: str
    counts: dict[str, int]
    findings: list[FindingPart]

    @classmethod
    def of(cls, findings: tuple[Finding, ...], tables: str, counts: Mapping[str, int]) -> CheckDocument:
        """From what was found."""
        return cls(
            sound=not any(finding.grave for finding in findings),
            tables=tables,
            counts=dict(counts),
            findings=[FindingPart(**vars(finding)) for finding in findings],
        )


def check(shop: Shop) -> CheckDocument:
    """Look at every row and every kept file; nothing is changed.

    Files are looked at after the rows, so that what is taken in meanwhile counts as nothing missing.
    """
    with shop.read() as session:
        rows = {row.sha256: row.size for row in session.scalars(select(File))}
        among_rows = tuple(_in_rows(session))
        counts = _counts(session)
        tables = version_of(session.connection()) or newest()
    found = {name: shop.files.folder / name for name in shop.files.names()}
    with shop.read() as session:
        since = set(session.scalars(select(File.sha256))) - rows.keys()
    findings = (*among_rows, *compare_files(rows, found, since))
    return CheckDocument.of(findings, tables, {**counts, "files": len(rows)})


def compare_files(
    rows: Mapping[str, int],
    found: Mapping[str, Path],
    since: AbstractSet[str] = frozenset(),
) -> Iterator[Finding]:
    """What the rows name against what lies in the folder.

    Args:
        rows: hash -> size of every kept file, as the rows say.
        found: name -> path of everything in the folder.
        since: hashes whose rows came while the folder was looked at.
    """
    for sha, size in rows.items():
        path = found.get(sha)
        if path is None or not path.is_file():
            yield Finding("missing file", True, f"photos/{sha}", "the file is gone; restore it from a backup")
        elif path.stat().st_size != size or hash_of(path) != sha:
            says = "the file is no longer what was kept; restore it from a backup"
            yield Finding("changed file", True, f"photos/{sha}", says)
    for name in found.keys() - rows.keys() - since:
        if SHA.fullmatch(name) or name.startswith(PART):
            says = "left from an upload that was never finished; harmless, swept away after a day"
        else:
            says = "not put there by Seamlight; harmless"
        yield Finding("leftover", False, f"photos/{name}", says)


def _in_rows(session: Session) -> Iterator[Finding]:
    yield from _damage(session)
    yield from _references(session)
    yield from _unkept(session)
    for table in THINGS:
        yield from _gaps(session, table)


def _damage(session: Session) -> Iterator[Finding]:
    if session.get_bind().dialect.name != "sqlite":
        return
    for (said,) in session.execute(text("PRAGMA integrity_check(20)")):
        if said != "ok":
            yield Finding("damaged database", True, "shop.db", f"{said}; restore a backup")


def _references(session: Session) -> Iterator[Finding]:
    """Every reference of every table, asked one by one, so that it holds on any database."""
    for table in Row.metadata.sorted_tables:
        for key in table.foreign_keys:
            missing = ~exists().where(key.column == key.parent)
            if key.column.table is table:
                continue
            asked = select(func.count()).select_from(table).where(key.parent.is_not(None), missing)
            count = session.scalar(asked)
            if count:
                where = f"{table.name}.{key.parent.name}"
                yield Finding(
                    "broken reference", True, where, f"{count} rows name no {key.column.table.name}"
                )
    lost = select(Arrival.id).where(Arrival.state == "filed", Arrival.pair_id.is_(None))
    for number in session.scalars(lost):
        yield Finding("broken reference", True, f"arrival {number}", "it was filed, but to no pair")


def _unkept(session: Session) -> Iterator[Finding]:
    kept = set(session.scalars(select(File.sha256)))
    for sha, namer in named_files(session).items():
        if sha not in kept:
            yield Finding("file without its row", True, namer, f"it names the file {sha}, which no row keeps")


def _gaps(session: Session, table: type[Kept]) -> Iterator[Finding]:
    """The versions of a thing are the versions in its history: 1, 2, ... up to its own."""
    subject = subject_of(table)
    told: dict[int, list[int]] = {}
    lines = select(History.subject_id, History.version).where(
        History.subject == subject, History.version.is_not(None)
    )
    for number, version in session.execute(lines.order_by(History.id)):
        if version is not None:
            told.setdefault(number, []).append(version)
    for number, label, version in session.execute(select(table.id, table.label, table.version)):
        if told.get(number, []) != list(range(1, version + 1)):
            says = f"its history does not tell all of its {version} versions"
            yield Finding("history gap", True, f"{subject} {label}", says)


def _counts(session: Session) -> dict[str, int]:
    names = ("pair", "pair_photo", "reading", "arrival", "build", "history")
    tables = Row.metadata.tables
    return {name: session.scalar(select(func.count()).select_from(tables[name])) or 0 for name in names}
