"""A whole stack at once: read every picture, find the pairs, lay each out for each outline.

Pictures are read in worker processes and shrunk there: what stays in memory of a leaf is its figure, its
grain field, its flaws and a picture at `KEPT_PX_PER_MM`; a worker holds one photograph at a time.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from typing import TypeVar

import cv2

from seamlight.grain.photograph import ReadSettings, flat_leaves, read_flat
from seamlight.grain.reading import Reading
from seamlight.layout.figure import Figure, figure_of
from seamlight.layout.folder import find_pairs
from seamlight.layout.opening import Layout, LayoutSettings
from seamlight.layout.pair import Registration
from seamlight.layout.photographs import PairReading, lay_out_pair
from seamlight.layout.register import NONE_BELOW, register
from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.photo.flat import FlatLeaf, shrink

KEPT_PX_PER_MM = 1.0
Done = TypeVar("Done")
PICTURE_SUFFIXES = {".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif"}


@dataclass(frozen=True, eq=False)
class ReadLeaf:
    """One picture of the rack: its shrunk reading and its figure, or why it failed.

    A picture of an opened pair holds both leaves' readings, the left one first, and how they match.
    """

    path: Path
    reading: Reading | None = None
    figure: Figure | None = None
    why: str = ""
    partner: Reading | None = None
    how: Registration | None = None


@dataclass(frozen=True, eq=False)
class RackPair:
    """A pair of the rack and its layout for each outline; an opened pair's `a` and `b` are one picture."""

    a: Path
    b: Path
    pair: PairReading
    layouts: tuple[Layout, ...]


@dataclass(frozen=True, eq=False)
class Rack:
    """A whole stack: pairs in order of their names, leaves without a partner, files that failed."""

    pairs: tuple[RackPair, ...]
    alone: tuple[Path, ...]
    failed: tuple[tuple[Path, str], ...]
    warnings: tuple[str, ...] = ()


Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, how many there are."""


def pictures_in(folder: Path) -> tuple[Path, ...]:
    """The picture files of a folder, by name.

    Raises:
        Mistake: the folder is not there or holds no picture.
    """
    if not folder.is_dir():
        raise Mistake("no such folder", where=str(folder), do="name the folder with the photographs")
    found = sorted(p for p in folder.iterdir() if p.suffix.lower() in PICTURE_SUFFIXES and p.is_file())
    if not found:
        raise Mistake("holds no picture", where=str(folder), do="put JPEG, PNG, TIFF, WebP or HEIC in it")
    return tuple(found)


def lay_out_rack(
    paths: Sequence[Path],
    outlines: Sequence[Outline],
    read: ReadSettings,
    place: LayoutSettings,
    *,
    workers: int | None = None,
    px_per_mm: float = KEPT_PX_PER_MM,
    progress: Progress = lambda what, done, of: None,
) -> Rack:
    """Read all pictures, match them into pairs and lay each pair out for every outline.

    Args:
        workers: processes; None: one for each core that this program may use.
        px_per_mm: of the pictures that are kept of the leaves; memory grows with its square.
    """
    count = workers or usable_cores()
    with ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_one_thread) as pool:
        leaves: dict[Path, ReadLeaf] = {}
        jobs = [pool.submit(_read_one, path, read, px_per_mm) for path in paths]
        for done, leaf in enumerate(_as_done(jobs), 1):
            leaves[leaf.path] = leaf
            progress("reading", done, len(paths))
        ordered = [leaves[path] for path in paths]
        good = [leaf for leaf in ordered if leaf.figure is not None and leaf.partner is None]
        progress("matching", 0, len(good))
        figures = [(leaf.path.name, leaf.figure) for leaf in good if leaf.figure is not None]
        matched = find_pairs(figures, apply=pool.map)
        progress("matching", len(good), len(good))
        met = zip(matched.pairs, matched.registrations, strict=True)
        couples = [(good[i], good[j], how) for (i, j), how in met]
        couples += [(leaf, _right_leaf(leaf), leaf.how) for leaf in ordered if leaf.how is not None]
        couples.sort(key=lambda couple: paths.index(couple[0].path))
        layouts = [pool.submit(_lay_out_one, a, b, how, tuple(outlines), place) for a, b, how in couples]
        laid: dict[tuple[Path, Path], RackPair] = {}
        for done, pair in enumerate(_as_done(layouts), 1):
            laid[pair.a, pair.b] = pair
            progress("laying out", done, len(couples))
    return Rack(
        pairs=tuple(laid[a.path, b.path] for a, b, _ in couples),
        alone=tuple(good[i].path for i in matched.alone),
        failed=tuple((leaf.path, leaf.why) for leaf in ordered if leaf.figure is None),
        warnings=matched.warnings,
    )


def kept(pair: PairReading, px_per_mm: float = KEPT_PX_PER_MM) -> PairReading:
    """A pair with its pictures shrunk to what a rack keeps."""
    b = pair.b
    return replace(
        pair,
        a=replace(pair.a, flat=shrink(pair.a.flat, px_per_mm)),
        b=replace(b, flat=shrink(b.flat, px_per_mm)) if b is not None else None,
        other_a=None,
        other_b=None,
    )


def usable_cores() -> int:
    """How many cores this program may use."""
    affinity = getattr(os, "sched_getaffinity", None)  # not on every system
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def _one_thread() -> None:
    """The processes share the cores; inside one, OpenCV takes a single thread."""
    cv2.setNumThreads(1)


def _as_done(jobs: Iterable[Future[Done]]) -> Iterator[Done]:
    """Results as they come; the rest is called off when the caller stops."""
    left = set(jobs)
    try:
        while left:
            ready, left = wait(left, return_when=FIRST_COMPLETED)
            for job in ready:
                yield job.result()
    finally:
        for job in left:
            job.cancel()


def _read_one(path: Path, settings: ReadSettings, px_per_mm: float) -> ReadLeaf:
    """Read one picture; what is wrong with it is told, never raised: one bad file must not stop a rack."""
    try:
        flats = flat_leaves(path, settings, leaves="pair")
        if len(flats) == 2:
            how = register(*flats)
            if how.match >= NONE_BELOW:
                return _opened_pair(path, flats, how, settings, px_per_mm)
            # two of a stack, which fails as several leaves do; or one wide board, which is one leaf
            flats = flat_leaves(path, settings, leaves="one")
        (flat,) = flats
        reading = read_flat(flat, settings)
        figure = figure_of(flat)
    except Mistake as mistake:
        return ReadLeaf(path, why=str(mistake))
    except Exception as error:
        return ReadLeaf(path, why=f"a fault of the program: {type(error).__name__}: {error}")
    return ReadLeaf(path, replace(reading, flat=shrink(flat, px_per_mm)), figure)


def _opened_pair(
    path: Path, flats: tuple[FlatLeaf, ...], how: Registration, settings: ReadSettings, px_per_mm: float
) -> ReadLeaf:
    a, b = (replace(read_flat(flat, settings), flat=shrink(flat, px_per_mm)) for flat in flats)
    return ReadLeaf(path, a, figure_of(flats[0]), partner=b, how=how)


def _right_leaf(opened: ReadLeaf) -> ReadLeaf:
    """The right leaf of an opened pair as one of its own."""
    return ReadLeaf(opened.path, opened.partner, opened.figure)


def _lay_out_one(
    a: ReadLeaf, b: ReadLeaf, how: Registration, outlines: tuple[Outline, ...], place: LayoutSettings
) -> RackPair:
    if a.reading is None or b.reading is None:
        raise ValueError("only leaves that were read can be paired")
    pair = PairReading(a.reading, b.reading, registration=how)
    return RackPair(a.path, b.path, pair, tuple(lay_out_pair(pair, o, place) for o in outlines))
