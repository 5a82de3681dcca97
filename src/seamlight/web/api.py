"""The shop as JSON: the rack, a pair, its readings as the command line prints them, the shop's health."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, ConfigDict

from seamlight.shop.check import CheckDocument, check
from seamlight.shop.rack import RackQuery, RackRow, rack
from seamlight.shop.readings import readings
from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair

router = APIRouter(prefix="/api", tags=["shop"])

MOST = 2**31 - 1  # of a number in an address
Number = Annotated[int, Query(ge=1, le=MOST)]
Sort = Literal["label", "newest", "bought", "kind", "species", "stage", "spare", "lines", "grade"]


class FitPart(BaseModel):
    """One outline that a pair was laid out for."""

    outline: str
    fits: bool
    spare_mm: float | None


class PairPart(BaseModel):
    """A pair with the figures that matter."""

    model_config = ConfigDict(from_attributes=True)

    id: int
    label: str
    kind: str
    species_common: str | None
    species_botanical: str | None
    supplier: str | None
    price_minor: int | None
    currency: str | None
    bought_on: date | None
    thickness_mm: float | None
    lies_at: str | None
    reserved_for: str | None
    notes: str | None
    stage: str
    grade_by_eye: str | None
    version: int
    created_at: datetime
    changed_at: datetime
    grade: str | None = None
    lines_per_inch: float | None = None
    fits: list[FitPart] = []

    @classmethod
    def of(cls, row: RackRow) -> PairPart:
        """From a row of the rack."""
        figure = row.figure
        fits = [FitPart(outline=f.outline, fits=f.fits, spare_mm=f.spare_mm) for f in row.fits]
        return cls.model_validate(row.pair).model_copy(
            update={
                "grade": figure.grade if figure else None,
                "lines_per_inch": figure.lines_per_inch if figure else None,
                "fits": fits,
            }
        )


class RackPart(BaseModel):
    """One page of the rack."""

    total: int
    page: int
    pages: int
    pairs: list[PairPart]


class ReadingPart(BaseModel):
    """One kept reading; `document` is what its verb prints with --json."""

    id: int
    verb: str
    document: dict[str, Any]
    says: dict[str, Any]
    at: datetime
    by: str


@router.get("/pairs", responses={422: {}})
def pairs(
    request: Request,
    kind: str = "",
    stage: str = "",
    fits: str = "",
    q: str = "",
    sort: Sort = "newest",
    page: Number = 1,
    per_page: Annotated[int, Query(ge=1, le=500)] = 60,
) -> RackPart:
    """The rack, filtered and sorted."""
    shop: Shop = request.app.state.shop
    query = RackQuery(
        kind=kind or None,
        stage=stage or None,
        fits=fits or None,
        text=q,
        sort=sort,
        page=page,
        per_page=per_page,
    )
    with shop.read() as session:
        found = rack(session, query)
    return RackPart(
        total=found.total, page=found.page, pages=found.pages, pairs=[PairPart.of(row) for row in found.rows]
    )


@router.get("/pairs/{pair_id}/readings", responses={404: {}, 422: {}})
def pair_readings(request: Request, pair_id: int, verb: str = "") -> list[ReadingPart]:
    """Everything that was read of a pair, oldest first; the newest of a kind counts."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        found = readings(session, pair_id=pair(session, pair_id).id, verb=verb or None)
    return [
        ReadingPart(id=r.id, verb=r.verb, document=r.document, says=r.says, at=r.at, by=r.by) for r in found
    ]


@router.get("/check")
def health(request: Request) -> CheckDocument:
    """The shop's health; the document of `seamlight check`."""
    shop: Shop = request.app.state.shop
    return check(shop)
