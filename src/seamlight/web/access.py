"""Who asks, and what they may see.

This computer is the owner. Another device is paired: its signed cookie holds a token of which the shop
keeps only the hash, looked up on every request, so that a revoked device is out at once. A student's
device sees one student's page and its files and nothing else: what is not named here is refused.
"""

from __future__ import annotations

import ipaddress
import re
from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import Depends, HTTPException, Request
from sqlalchemy.orm import Session

from seamlight.shop.classes import live_student
from seamlight.shop.devices import known_device
from seamlight.web.seals import Seals

DEVICE_COOKIE = "seamlight_device"
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})

# A request that came through another program on this computer is not from this computer.
_FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip", "via")
_OPEN_TO_ALL = re.compile(r"/static/[^?]+|/away\.js|/pair-with/[^/]+|/favicon\.ico")
_STUDENTS_FILES = re.compile(r"/files/[0-9a-f]{64}")
_STUDENTS_OWN = re.compile(r"/students/(\d+)(?:/pairs/\d+/picture)?")
_STUDENTS_READING = re.compile(r"/students/(\d+)/builds/\d+/readings")


@dataclass(frozen=True)
class Asker:
    """Who asks; `name` is what the history says."""

    kind: Literal["owner", "device", "student", "nobody"]
    name: str
    device_id: int | None = None
    student_id: int | None = None

    @property
    def works_here(self) -> bool:
        """Owner or paired device: sees and does everything."""
        return self.kind in ("owner", "device")

    @property
    def key(self) -> str:
        """What tells this asker from every other."""
        return f"{self.kind} {self.device_id or 0}"


NOBODY = Asker("nobody", "nobody")


def find_asker(request: Request, session: Session, seals: Seals, maker: str) -> Asker:
    """The asker of a request: by cookie, else by where it comes from."""
    sealed = request.cookies.get(DEVICE_COOKIE)
    token = seals.open("device", sealed) if sealed else None
    device = known_device(session, token) if token else None
    if device is not None and device.kind == "class":
        student = live_student(session, device.student_id)
        if student is not None:
            return Asker("student", student.name, device.id, student.id)
        device = None  # deleted: as if it had been taken off the list
    if from_this_computer(request):
        return Asker("owner", maker)
    if device is not None:
        return Asker("device", device.name, device.id)
    return NOBODY


def from_this_computer(request: Request) -> bool:
    """Whether the other end of the connection is this computer itself, without a go-between."""
    if request.client is None or any(name in request.headers for name in _FORWARDED):
        return False
    try:
        address = ipaddress.ip_address(request.client.host)
    except ValueError:
        return False
    if isinstance(address, ipaddress.IPv6Address) and address.ipv4_mapped:
        return address.ipv4_mapped.is_loopback
    return address.is_loopback


def may_go(asker: Asker, method: str, path: str) -> bool:
    """Whether the asker may go there at all; `files` asks further which file."""
    if asker.works_here or _OPEN_TO_ALL.fullmatch(path):
        return True
    if asker.kind != "student":
        return False
    if method in SAFE and _STUDENTS_FILES.fullmatch(path):
        return True
    own = (_STUDENTS_OWN if method in SAFE else _STUDENTS_READING).fullmatch(path)
    return own is not None and own[1] == str(asker.student_id)


def who_asks(request: Request) -> Asker:
    """FastAPI dependency: the asker, as the guard found them."""
    asker = getattr(request.state, "asker", NOBODY)
    if not isinstance(asker, Asker):
        raise HTTPException(401)
    return asker


Asks = Annotated[Asker, Depends(who_asks)]
