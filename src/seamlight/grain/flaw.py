"""A flaw in the wood: what it is, where, and how sure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from seamlight.photo.flat import Points

FlawKind = Literal["knot", "pitch", "crack", "wane", "hole", "stain", "other"]
FLAW_KINDS: tuple[FlawKind, ...] = get_args(FlawKind)


@dataclass(frozen=True, eq=False)
class Flaw:
    """One flaw with its outline in the leaf frame."""

    kind: FlawKind
    outline_mm: Points  # (n, 2), n >= 3, not closed by a repeated point
    sure: float  # 0..1; 1 where a person drew it
