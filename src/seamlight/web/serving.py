"""How the pages are served: to whom, under which names, within which limits."""

from __future__ import annotations

from dataclasses import dataclass, field

from seamlight.photo.picture import MOST_PIXELS

MIB = 1 << 20


@dataclass(frozen=True)
class Limits:
    """What one request may bring."""

    form_bytes: int = 2 * MIB  # a body that brings no files
    upload_bytes: int = 512 * MIB  # a body that brings files, all together
    file_bytes: int = 100 * MIB
    files: int = 40
    pixels: int = MOST_PIXELS  # of one picture, known from its header before it is decoded


@dataclass(frozen=True)
class Serving:
    """Settings of one running server; its clock is the shop's."""

    share: bool = False  # whether other devices of the network may pair
    address: str = "http://127.0.0.1:8765"  # what links for other devices start with
    names: frozenset[str] = frozenset()  # host names of this computer, beside localhost
    limits: Limits = field(default_factory=Limits)
