"""From the best place of the grid to a better one between its places, by the same key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from seamlight.layout.domain import Domain, Found, Spot, most_slide
from seamlight.layout.judge import Verdict, judge, pair_key
from seamlight.layout.opening import LayoutSettings

_STEPS = (1.0, 0.4, 0.1)  # of half a grid step
_TILT_DEG, _LENGTH_MM = 0.05, 0.25
_WIN_MM = 0.05  # a place is better for its room at the ends alone only by more than this


def refined(domain: Domain, found: Found, settings: LayoutSettings) -> Found:
    """The best place near a place of the grid; never one that the key puts behind it."""
    best = settled(domain, found.spot)
    if not _better(best, found):
        best = found
    for share in _STEPS:
        for _ in range(2):
            start = best
            for spot in _around(domain, best.spot, share, settings):
                tried = judged(domain, spot)
                if _better(tried, best):
                    best = tried
            if best is start:
                break
    return best


def judged(domain: Domain, spot: Spot) -> Found:
    """A place with its key."""
    return Found(spot, pair_key(*verdicts(domain, spot), spot.moved_mm, domain.figure_read))


def verdicts(domain: Domain, spot: Spot) -> tuple[Verdict, Verdict]:
    """How a place does on leaf A and on leaf B."""
    place_a, place_b = spot.places(domain)
    return judge(domain.a, place_a), judge(domain.b, place_b)


def settled(domain: Domain, spot: Spot) -> Found:
    """The place moved back until just the least comes off a joint edge, and uneven short ends evened."""
    a, b = verdicts(domain, spot)
    slack_a, slack_b = a.room.joint_slack_mm, b.room.joint_slack_mm
    if domain.slip:
        moved = replace(spot, offset_mm=spot.offset_mm - slack_a, offset_b_mm=spot.offset_b_mm - slack_b)
    else:
        offset = spot.offset_mm - min(slack_a, slack_b)
        moved = replace(spot, offset_mm=offset, offset_b_mm=offset)
    tried = judged(domain, moved)
    a, b = verdicts(domain, tried.spot)
    neck, tail = (min(getattr(v.room, end) for v in (a, b)) for end in ("neck_spare_mm", "tail_spare_mm"))
    if min(neck, tail) >= 0:
        return tried
    evened = judged(domain, replace(tried.spot, shift_mm=tried.spot.shift_mm + (tail - neck) / 2))
    return evened if _better(evened, tried) else tried


def _better(one: Found, other: Found) -> bool:
    return one.key < replace(other.key, flush=other.key.flush - _WIN_MM)


def _around(domain: Domain, spot: Spot, share: float, settings: LayoutSettings) -> Iterator[Spot]:
    length, turn = _LENGTH_MM * share, _TILT_DEG * share
    low, high = most_slide(domain.registered_mm, settings)
    for sign in (1, -1):
        if domain.slip:
            yield replace(spot, offset_mm=spot.offset_mm + sign * length)
            yield replace(spot, offset_b_mm=spot.offset_b_mm + sign * length)
        else:
            offset = spot.offset_mm + sign * length
            yield replace(spot, offset_mm=offset, offset_b_mm=offset)
        yield replace(spot, shift_mm=spot.shift_mm + sign * length)
        tilt = spot.tilt_deg + sign * turn
        if abs(tilt) <= settings.most_tilt_deg:
            yield replace(spot, tilt_deg=tilt, tilt_b_deg=spot.tilt_b_deg if domain.slip else tilt)
        tilt_b = spot.tilt_b_deg + sign * turn
        if domain.slip and abs(tilt_b) <= settings.most_tilt_deg:
            yield replace(spot, tilt_b_deg=tilt_b)
        moved = spot.moved_mm + sign * length
        if low <= domain.registered_mm + moved <= high:
            yield replace(spot, moved_mm=moved)
