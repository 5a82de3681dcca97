"""The shapes the shop builds: generic sizes by their plain names, and drawings of its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path, PurePath
from shutil import copyfile
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy.orm import Session

from seamlight.mistake import Mistake
from seamlight.outline import SUFFIXES, load, named, names
from seamlight.outline.drawing import DrawnUnit
from seamlight.outline.shape import Outline
from seamlight.shop.change import Change
from seamlight.shop.files import Files
from seamlight.shop.settings import keep_setting, setting
from seamlight.shop.tables import Fields

BUILT = "outlines built"  # names that every pair is laid out for
OWN = "outlines of our own"  # {name: {"file": sha256, "suffix": ".dxf", "unit": "mm" or None}}
FIRST_BUILT = ("parlour", "auditorium", "dreadnought")


def own_outlines(session: Session) -> dict[str, Fields]:
    """The shop's own drawings by name."""
    found: dict[str, Fields] = setting(session, OWN, {})
    return found


def outline_names(session: Session) -> tuple[str, ...]:
    """Every outline that can be named: the shop's own first."""
    own = own_outlines(session)
    return (*own, *(name for name in names() if name not in own))


def built(session: Session) -> tuple[str, ...]:
    """The outlines that every pair is laid out for."""
    known = outline_names(session)
    return tuple(name for name in setting(session, BUILT, list(FIRST_BUILT)) if name in known)


def set_built(change: Change, wanted: list[str]) -> None:
    """Say which outlines every pair is laid out for.

    Raises:
        Mistake: none is named, or one that is not known.
    """
    known = outline_names(change.session)
    unknown = [name for name in wanted if name not in known]
    if unknown or not wanted:
        what = f"there is no outline {unknown[0]}" if unknown else "no outline is named"
        raise Mistake(what, where="outlines", do=f"choose from {', '.join(known)}")
    keep_setting(change, BUILT, list(dict.fromkeys(wanted)))


def outline(session: Session, files: Files, name: str) -> Outline:
    """An outline by its name.

    Raises:
        Mistake: there is none of that name, or its drawing cannot be read any more.
    """
    said = own_outlines(session).get(name)
    if said is None:
        return named(name)
    return read_drawing(files.path(said["file"]), name, said["suffix"], said.get("unit"))


def keep_outline(
    change: Change, name: str, sha: str, suffix: str, unit: DrawnUnit | None, drawn: Outline
) -> None:
    """Name a kept drawing; one of the same name gives way to it. `drawn` is what it was read as.

    Raises:
        Mistake: the name is empty, too long, or a generic size's.
    """
    said = " ".join(name.split())
    if not 0 < len(said) <= 40:
        raise Mistake("a name has 1 to 40 letters", where="name", do="write a short one")
    if said in names():
        raise Mistake(f"{said} is the name of a generic size", where="name", do="write another")
    row: dict[str, Any] = {"file": sha, "suffix": suffix, "unit": unit, "length_mm": drawn.length_mm}
    keep_setting(change, OWN, {**own_outlines(change.session), said: row})


def drop_outline(change: Change, name: str) -> None:
    """Forget the name of a drawing of our own; the file stays."""
    left = {other: row for other, row in own_outlines(change.session).items() if other != name}
    keep_setting(change, OWN, left)


def suffix_of(name_given: str) -> str:
    """The kind of drawing that a file's name says.

    Raises:
        Mistake: it says none that can be read.
    """
    suffix = PurePath(name_given).suffix.lower()
    if suffix not in SUFFIXES:
        raise Mistake("is no drawing", where=name_given, do=f"give a {', '.join(SUFFIXES)} file")
    return suffix


def read_drawing(path: Path, name: str, suffix: str, unit: DrawnUnit | None) -> Outline:
    """A kept file, which has no suffix of its own, read as the drawing it is."""
    with TemporaryDirectory() as folder:
        copy = Path(folder) / f"outline{suffix}"
        copyfile(path, copy)
        try:
            return replace(load(copy, unit), name=name)
        except Mistake as mistake:
            raise Mistake(mistake.what, where=name, do=mistake.do) from mistake
