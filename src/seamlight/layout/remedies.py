"""What can be done where the outline does not fit, or a flaw lies in the open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from seamlight.layout.body import ZONES
from seamlight.layout.layers import Turner
from seamlight.layout.opened import Way
from seamlight.layout.opening import LayoutSettings, Opening, Remedy
from seamlight.layout.slide_remedy import into_soundhole
from seamlight.layout.smaller import smaller_outlines
from seamlight.layout.spare_words import least_room
from seamlight.layout.wings import wings
from seamlight.outline.shape import Outline

_OPEN = ZONES.index("open")
_TELLING = 10  # hundredths of a mm: less is not said to differ
_FLAWS = {
    "waste": "no flaw inside the outline",
    "soundhole": "flaws at worst in the soundhole",
    "bridge": "flaws at worst under the bridge",
    "fingerboard": "flaws at worst under the fingerboard",
    "edge": "flaws at worst in the edge band",
    "open": "flaws in the open",
}


def with_remedies(
    ways: Sequence[Way],
    openings: Sequence[Opening],
    outline: Outline,
    settings: LayoutSettings,
    offered: Sequence[Outline],
    turner: Turner,
) -> list[Opening]:
    """The openings with their remedies; both sequences in the same order, best first."""
    found: list[Opening] = []
    for way, opening in zip(ways, openings, strict=True):
        twin = next((o for o in found if _same_plates(o, opening)), None)
        if twin is not None:  # turned over, the same joint line: what helps one helps the other
            found.append(replace(opening, remedies=twin.remedies))
            continue
        in_open = opening.fits and way.found.key.zone == _OPEN
        if opening.fits and not in_open:
            found.append(opening)
            continue
        remedies = [*_other_edge(way, opening, ways, openings), *into_soundhole(way)]
        remedies += smaller_outlines(way, outline, settings, offered, turner)
        if not opening.fits:
            remedies += wings(way, opening, settings)
            remedies += _centre_strip(opening, settings)
        found.append(replace(opening, remedies=tuple(remedies)))
    return found


def _same_plates(one: Opening, other: Opening) -> bool:
    return (
        (one.joint_edge, one.neck_end, one.slide_mm, one.joint_tilt_deg)
        == (other.joint_edge, other.neck_end, other.slide_mm, other.joint_tilt_deg)
        and one.spare_mm == other.spare_mm
        and one.show_face != other.show_face
    )


def _other_edge(way: Way, opening: Opening, ways: Sequence[Way], openings: Sequence[Opening]) -> list[Remedy]:
    """The best opening with the joint on the other edge, where it does better in fit or in flaws."""
    for other, there in zip(ways, openings, strict=True):
        if there.joint_edge == opening.joint_edge:
            continue
        here_key, key = way.found.key, other.found.key
        if (key.short, key.zone) >= (here_key.short, here_key.zone):
            return []
        if not there.fits and here_key.short - key.short < _TELLING:
            return []
        figures = (("joint_edge", there.joint_edge), ("neck_end", there.neck_end))
        least, where = least_room(there.spare_mm, there.end_spare_mm)
        said = (
            f"open by the {there.joint_edge} edge, neck at end {there.neck_end}: "
            + (
                f"fits with {least:.1f} mm to spare {where}"
                if there.fits
                else f"short by {key.short / 100:.1f} mm rather than {here_key.short / 100:.1f} mm"
            )
            + (f", {_FLAWS[ZONES[key.zone]]}" if there.fits else "")
        )
        spare = ("spare_mm", round(there.spare_mm, 2))
        return [Remedy("open by the other edge", said, (*figures, spare))]
    return []


def _centre_strip(opening: Opening, settings: LayoutSettings) -> list[Remedy]:
    """A strip let in at the seam of a back: it moves both leaves out by half its width."""
    lacking = -opening.spare_mm
    if settings.use != "back" or lacking <= 0 or opening.end_spare_mm < 0:
        return []
    width = ceil(2 * lacking - 1e-6)
    return [
        Remedy(
            "centre strip",
            f"a centre strip or wedge at least {width} mm wide between the leaves: a back of three pieces",
            (("width_mm", float(width)),),
        )
    ]
