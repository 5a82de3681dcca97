"""What edges planed folded, or one by one, do in the joint.

Folded, leaf B lies on leaf A like a closed book and both edges get the same plane stroke. Opened, B is A's
mirror: an edge that is low by e stands against one that is low by e, so errors of straightness add up to
twice; an edge that leans by an angle stands against one that leans the other way, so errors of squareness
cancel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamlight.seam.profile import Floats


@dataclass(frozen=True, eq=False)
class Edge:
    """A joint edge at places along it: how far it lies behind a straightedge, and how it leans.

    `behind_mm` in the middle of the thickness; `lean` the slope across the thickness, above 0 where the edge
    falls away toward the face that shows.
    """

    s_mm: Floats
    behind_mm: Floats
    lean: Floats


@dataclass(frozen=True, eq=False)
class OpenJoint:
    """The gap between two edges held together: in the middle of the thickness, and on each face."""

    s_mm: Floats
    middle_mm: Floats
    front_mm: Floats
    back_mm: Floats


def joint_of(a: Edge, b: Edge, thickness_mm: float) -> OpenJoint:
    """The gap that two edges make, at the same places; neither shifted nor turned."""
    middle = a.behind_mm + b.behind_mm
    half = (a.lean + b.lean) * thickness_mm / 2
    return OpenJoint(a.s_mm, middle, middle + half, middle - half)


def planed_folded(s_mm: Floats, behind_mm: Floats, lean: Floats) -> tuple[Edge, Edge]:
    """Both edges after one plane went over them folded, show face on show face.

    Args:
        s_mm: (n,) along the joint.
        behind_mm: (n,) how far the planed edge lies behind a straightedge where the show faces meet.
        lean: (n,) slope of the planed edge across the folded pair, above 0 where it falls away toward leaf A.
    """
    # The show faces lie on one another: across A the planed edge goes on falling away from its show face,
    # across B it comes up.
    flat = np.asarray(lean, dtype=np.float64)
    behind = np.asarray(behind_mm, dtype=np.float64)
    return Edge(s_mm, behind, -flat), Edge(s_mm, behind, flat)


def joint_of_folded(s_mm: Floats, behind_mm: Floats, lean: Floats, thickness_mm: float) -> OpenJoint:
    """The joint that a pair planed folded makes: twice the straightness error, no squareness error."""
    return joint_of(*planed_folded(s_mm, behind_mm, lean), thickness_mm)
