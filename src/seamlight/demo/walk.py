"""Through the invented shop's rack: each pair is grown, photographed, read and laid out.

Pairs are worked on in two processes at a time and handed over as they are done.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from datetime import date
from multiprocessing import get_context
from pathlib import Path

import cv2

from seamlight.demo.shop import RACK, RackPair, scene
from seamlight.grain.photograph import ReadSettings
from seamlight.layout.opening import LayoutSettings
from seamlight.layout.photographs import PairPhotographs, lay_out_pair, read_pair
from seamlight.layout.rack import RackPair as LaidOutPair
from seamlight.layout.rack import kept, usable_cores
from seamlight.outline import named
from seamlight.photo import parse_scale
from seamlight.sheets.marking import marking_sheet
from seamlight.sheets.openings import openings_picture
from seamlight.sheets.picture_file import save_picture
from seamlight.sheets.reading import reading_picture
from seamlight.shop.filing import FILED_PX_PER_MM


@dataclass(frozen=True, eq=False)
class Walked:
    """One pair of the rack, done: what it is, how it is laid out, and the files that show it."""

    pair: RackPair
    laid_out: LaidOutPair | None  # None for a leaf without its partner
    photographs: tuple[Path, ...]
    pictures: tuple[Path, ...]
    sheet: Path | None
    thickness_mm: float


def walk(folder: Path, *, made_on: date, workers: int | None = None) -> Iterator[Walked]:
    """Work through the rack; a pair comes as soon as it is done, its files in `folder`."""
    for name in ("photographs", "pictures", "sheets"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    count = workers or usable_cores()
    with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as pool:
        jobs = [pool.submit(walk_pair, pair, folder, made_on) for pair in RACK]
        try:
            for job in as_completed(jobs):
                yield job.result()
        finally:
            for job in jobs:
                job.cancel()


def walk_pair(pair: RackPair, folder: Path, made_on: date) -> Walked:
    """Grow, photograph, read and lay out one pair, and write what shows it."""
    cv2.setNumThreads(1)
    shown = scene(pair)
    paths = [folder / "photographs" / name for name in shown.file_names]
    for shot, path in zip(shown.shots, paths, strict=True):
        shot.save(path)
    thickness = shown.faces[0].thickness_mm
    read = ReadSettings(scale=parse_scale("tags"), thickness_mm=thickness)
    photographs = PairPhotographs(paths[0], paths[1] if len(paths) > 1 else None)
    found = read_pair(photographs, read)
    pictures = [folder / "pictures" / f"{path.stem}-reading.png" for path in paths]
    for reading, path in zip((found.a, found.b), pictures, strict=False):
        if reading is not None:
            save_picture(path, reading_picture(reading))
    if found.b is None:
        return Walked(pair, None, tuple(paths), tuple(pictures), None, thickness)
    outline = named(pair.outline)
    layout = lay_out_pair(found, outline, LayoutSettings(use=pair.use))
    pictures.append(folder / "pictures" / f"{pair.name}-openings.png")
    save_picture(pictures[-1], openings_picture(layout, found.a.flat, found.b.flat))
    sheet = folder / "sheets" / f"{pair.name}-marking.pdf"
    marking_sheet(layout, 0, found.a.flat, found.b.flat, sheet, label=pair.name, made_on=made_on)
    laid_out = LaidOutPair(paths[0], paths[1], kept(found, FILED_PX_PER_MM), (layout,))
    return Walked(pair, laid_out, tuple(paths), tuple(pictures), sheet, thickness)
