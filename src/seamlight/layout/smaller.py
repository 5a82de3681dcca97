"""Which smaller outlines the same leaves hold, and with how much to spare."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from seamlight.layout.blocks import fitting_block, meeting_shifts, overlap
from seamlight.layout.body import STRIP_MM, ZONES
from seamlight.layout.domain import Domain, domain_of, grid, wide_shifts
from seamlight.layout.judge import Half
from seamlight.layout.layers import Reach, Turner, reach_of, zones_of
from seamlight.layout.opened import Way
from seamlight.layout.opening import LayoutSettings, Remedy
from seamlight.layout.pieces import TOUCH_MM
from seamlight.outline import for_back
from seamlight.outline.shape import Outline

_TILTS_DEG = tuple(float(t) for t in np.round(np.arange(-1.0, 1.01, 0.2), 1))
_CLEAR_TILTS_DEG = (-0.5, 0.0, 0.5)
_NEAR_MISS_MM = 2.0
_OPEN = ZONES.index("open")


class Holds(NamedTuple):
    """The most room that a pair leaves an outline; `clear` says that no flaw need lie in the open there."""

    spare_mm: float
    clear: bool


def smaller_outlines(
    way: Way, outline: Outline, settings: LayoutSettings, offered: Sequence[Outline], turner: Turner
) -> list[Remedy]:
    """Each offered outline that is smaller and fits, the largest first, and those that narrowly miss."""
    length, widest = outline.length_mm, float(outline.half_mm[:, 0].max())
    need_clear = way.found.key.short == 0
    if need_clear and way.domain.slip:
        return []
    fitting: list[tuple[float, Remedy]] = []
    for other in offered:
        width, long = float(other.half_mm[:, 0].max()), other.length_mm
        smaller = width <= widest and long <= length and (width, long) != (widest, length)
        if not smaller and (need_clear or width >= widest):
            continue
        holds = most_room(way, other, settings, turner, zones=need_clear)
        if holds is None or (need_clear and not (holds.clear and holds.spare_mm >= -TOUCH_MM)):
            continue
        said = _said(other.name, holds.spare_mm, settings, need_clear)
        if said is not None:
            figures = (
                ("outline", other.name),
                ("spare_mm", round(holds.spare_mm, 2)),
                ("length_mm", long),
                ("half_lower_bout_mm", width),
            )
            fitting.append((width, Remedy("smaller outline", said, figures)))
    return [remedy for _, remedy in sorted(fitting, key=lambda item: -item[0])]


def _said(name: str, spare_mm: float, settings: LayoutSettings, clear: bool) -> str | None:
    if spare_mm >= -TOUCH_MM:
        flaws = ", no flaw in the open" if clear else ""
        return f"{name} fits with {max(0.0, spare_mm):.1f} mm to spare beside{flaws}"
    if spare_mm >= -min(_NEAR_MISS_MM, settings.trim_mm):
        return (
            f"{name} misses by {-spare_mm:.1f} mm; it fits if the trim is cut to "
            f"{settings.trim_mm + spare_mm:.1f} mm"
        )
    return None


def most_room(
    way: Way, outline: Outline, settings: LayoutSettings, turner: Turner, *, zones: bool = False
) -> Holds | None:
    """The most room beside an outline in one opening, at tilts a fifth of a degree apart; None: too long.

    With `zones` only places with no flaw in the open count, at half degrees.
    """
    plain = for_back(outline) if settings.use == "back" else outline
    few = replace(settings, most_tilt_deg=0.0)
    domain = domain_of(
        way.domain.a.side,
        way.domain.b.side,
        plain,
        few,
        way.domain.registered_mm if way.domain.figure_read else None,
        way.joint_edge,
        way.neck_end,
        way.a_is,
    )
    around = _CLEAR_TILTS_DEG if zones else _TILTS_DEG
    tilts = {t for t in around if abs(t) <= settings.most_tilt_deg}
    if not domain.slip:
        tilts.add(round(way.found.spot.tilt_deg, 1))
    tried = (h for t in sorted(tilts) for h in (_clear if zones else _at_tilt)(domain, turner, t))
    return max(tried, key=lambda h: (h.clear, h.spare_mm), default=None)


class _Side(NamedTuple):
    half: Half
    offsets: range
    shifts: range
    reach: Reach


def _at_tilt(domain: Domain, turner: Turner, tilt_deg: float) -> Iterator[Holds]:
    """The most room at each slide, whatever the flaws."""
    a, b = (
        _Side(h, o, s, reach_of(turner.side(h, tilt_deg), h.body, o, s))
        for h, o, s in (
            (domain.a, domain.offsets_a, domain.shifts),
            (domain.b, domain.offsets_b, wide_shifts(domain)),
        )
    )
    for step in domain.slides:
        both = meeting_shifts(domain, a.shifts, b.shifts, step)
        room = _room(domain, a, b, both) if both is not None else -np.inf
        if np.isfinite(room):
            yield Holds(room, False)


def _clear(domain: Domain, turner: Turner, tilt_deg: float) -> Iterator[Holds]:
    """The most room with no flaw in the open, the figure meeting as well as it does."""
    a = fitting_block(domain.a, turner, tilt_deg, domain.offsets_a, domain.shifts)
    b = a and fitting_block(domain.b, turner, tilt_deg, a.offsets, domain.shifts)
    if a is None or b is None:
        return
    cut = overlap(domain, a.offsets, b.offsets, a.shifts, b.shifts, 0)
    if cut is None:
        return
    good = np.maximum(a.short[cut.a], b.short[cut.b]) == 0
    for block, part in ((a, cut.a), (b, cut.b)):
        offsets, shifts = (r[p] for r, p in zip((block.offsets, block.shifts), part, strict=True))
        turned = turner.side(block.half, tilt_deg)
        good &= zones_of(turned, block.half.body, offsets, shifts, _OPEN - 1) < _OPEN
    far = np.minimum(a.greatest_mm[cut.a[1]], b.greatest_mm[cut.b[1]])
    room = far[None] - grid(a.offsets[cut.a[0]])[:, None]
    if good.any():
        yield Holds(float(room[good].max()), True)


def _room(domain: Domain, a: _Side, b: _Side, both: tuple[slice, slice]) -> float:
    """The most room over the shifts that leave the end trims on the wood of both leaves."""
    least = [s.reach.least_mm[part] for s, part in zip((a, b), both, strict=True)]
    greatest = [s.reach.greatest_mm[part] for s, part in zip((a, b), both, strict=True)]
    if not domain.slip:
        least = [np.maximum(*least)] * 2
    room = np.minimum(*(far - near for near, far in zip(least, greatest, strict=True)))
    on = np.ones(len(room), dtype=np.bool_)
    for side, part, near in zip((a, b), both, least, strict=True):
        body, s = side.half.body, grid(side.shifts)[part]
        row = np.ceil((near - side.offsets.start * STRIP_MM - TOUCH_MM) / STRIP_MM)
        known = np.isfinite(row) & (row >= 0) & (row < len(side.offsets))
        row = np.where(known, row, 0).astype(np.int64)
        neck, tail = side.reach.neck_mm[row], side.reach.tail_mm[row]
        on &= known & np.isfinite(neck) & np.isfinite(tail)
        on &= (neck <= s - body.end_trim_mm + TOUCH_MM) & (
            tail >= s + body.length_mm + body.end_trim_mm - TOUCH_MM
        )
        on &= ~side.reach.forbidden[row, np.arange(part.start, part.stop)]
    return float(room[on].max(initial=-np.inf))
