"""Pictures and films of a joint as they are sent: read at once, and kept where they belong to a pair."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.responses import Response

from seamlight.mistake import Mistake
from seamlight.seam.light_ends import NeckAt
from seamlight.shop.air import newest_air
from seamlight.shop.file_rows import add_row
from seamlight.shop.readings import keep_reading
from seamlight.shop.seam_bench import bench_of, joint_length_mm, straight_key
from seamlight.shop.shop import Shop
from seamlight.web.access import Asker, Asks
from seamlight.web.render import again, go, house_of
from seamlight.web.seam_asked import asked_of, read_pictures, taken
from seamlight.web.seam_reading import SeamRead
from seamlight.web.seam_show import PAGE, facts_of_pair, page_of
from seamlight.web.uploads import Taken

router = APIRouter(include_in_schema=False)
Text = Annotated[str, Form(max_length=60)]
Places = Annotated[str, Form(max_length=900)]
Neck = Annotated[NeckAt, Form()]


@router.post("/wood/pairs/{pair_id}/seam")
def shoot(
    request: Request,
    asker: Asks,
    pair_id: int,
    photos: list[UploadFile],
    lamp: UploadFile | None = None,
    length: Text = "",
    shims: Text = "",
    distance: Text = "",
    neck_at: Neck = "left",
    ends: Places = "",
    middle: Places = "",
) -> Response:
    """Pictures, or a film, of a pair's joint: read and kept."""
    shop: Shop = request.app.state.shop
    typed = {"length": length, "shims": shims, "distance": distance, "neck_at": neck_at}
    typed |= {"ends": ends, "middle": middle}
    try:
        with shop.read() as session:
            bench = bench_of(session, pair_id, house_of(request).unit)
            known = joint_length_mm(session, pair_id)
        pictures, bare = taken(request, photos, lamp)
        asked = asked_of(request, typed, known, len(pictures))
        found = read_pictures(request, pictures, bare, asked, bench)
    except Mistake as mistake:
        return again(request, PAGE, mistake, **facts_of_pair(request, pair_id, typed))
    _keep(shop, asker, pair_id, found, pictures, bare, typed)
    return go(request, page_of(pair_id))


def _keep(
    shop: Shop,
    asker: Asker,
    pair_id: int,
    found: SeamRead,
    pictures: list[Taken],
    bare: Taken | None,
    typed: dict[str, str],
) -> None:
    """The reading with its pictures, the lamp's last, and the air as it was last read."""
    every = [*pictures, *([bare] if bare is not None else [])]
    shas = [shop.files.keep(one.data, one.media_type) for one in every]
    with shop.change(asker.name) as change:
        for sha, one in zip(shas, every, strict=True):
            size = (one.width_px, one.height_px)
            add_row(change, sha, one.media_type, len(one.data), width_px=size[0], height_px=size[1])
        air = newest_air(change.session)
        row = keep_reading(
            change,
            "seam",
            found.document,
            pair_id=pair_id,
            files=dict.fromkeys(shas),
            says={**typed, "lamp": shas[-1] if bare is not None else None},
            temp_c=air.temp_c if air else None,
            rh_pct=air.rh_pct if air else None,
        )
        shop.made.keep(straight_key(row.id), found.straight)
