"""What is posted from a pair's page: choosing, placing by figures, facts, papers, and what was done."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request, UploadFile
from pydantic import ValidationError
from starlette.datastructures import FormData
from starlette.responses import Response

from seamlight.layout.by_hand_document import HandPlacingPart
from seamlight.mistake import Mistake
from seamlight.shop import wood as wood_rows
from seamlight.shop.change import Change
from seamlight.shop.choices import drop_choice
from seamlight.shop.file_rows import add_row
from seamlight.shop.history import undo
from seamlight.shop.outlines import outline_names
from seamlight.shop.photos import ROLES, add_photo, give_back, take_away
from seamlight.shop.shop import Shop
from seamlight.shop.tables import PairPhoto
from seamlight.shop.taking_in import ask_read
from seamlight.shop.tally import plane, weigh
from seamlight.shop.two_tone import ROLES as TONE_ROLES
from seamlight.shop.two_tone import ask_tone
from seamlight.shop.unlikely import ask, grams_slip, planed_slip
from seamlight.units import parse_length
from seamlight.web.access import Asker, Asks
from seamlight.web.facts import facts_of, thickness_as_shown
from seamlight.web.pair_api import keep_placing
from seamlight.web.pair_bench import bench, judging
from seamlight.web.pair_documents import PlacingAsked
from seamlight.web.pair_show import ShownAgain
from seamlight.web.render import go, house_of
from seamlight.web.uploads import take_paper, take_picture
from seamlight.web.work import wake

router = APIRouter(prefix="/wood/pairs", include_in_schema=False, route_class=ShownAgain)
Text = Annotated[str, Form(max_length=120)]
Sure = Annotated[str, Form(max_length=2000)]


@router.post("/{pair_id}/choose")
def choose(
    request: Request,
    pair_id: int,
    asker: Asks,
    outline: Text,
    number: Annotated[int, Form()],
    version: Annotated[int, Form()] = 0,
) -> Response:
    """Choose one of the openings that were found."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        laid = bench(shop, session, pair_id, outline)
    found = next((one for one in laid.found if one.number == number), None) if laid else None
    if found is None:
        raise Mistake(f"there is no opening {number}", where="opening", do="choose one of those shown")
    part = HandPlacingPart.of(found.placing)
    return _keep(request, pair_id, asker, outline, part, version, f"Opening {number} is chosen.")


@router.post("/{pair_id}/place")
async def place(request: Request, pair_id: int, asker: Asks) -> Response:
    """Place by figures: how far from where it lies now, or from the best of its way."""
    form = await request.form()
    outline, version = str(form.get("outline", "")), _version(str(form.get("version", ""))) or 0
    unit = house_of(request).unit
    base = _placing(str(form.get("base", "")))
    first = 1.0 if base.neck_end == 1 else -1.0
    moved = base.model_dump() | {
        "tilt_deg": base.tilt_deg + _degrees(_text(form, "tilt")),
        "offset_mm": base.offset_mm + _length(form, "inward", unit),
        "shift_mm": base.shift_mm + _length(form, "along", unit),
        "slide_mm": base.slide_mm + first * _length(form, "slide", unit),
    }
    part = _placing(json.dumps(moved))
    return _keep(request, pair_id, asker, outline, part, version, "Kept as placed.")


@router.post("/{pair_id}/unchoose")
def unchoose(request: Request, pair_id: int, asker: Asks, version: Annotated[int, Form()]) -> Response:
    """Undo the choosing."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        drop_choice(change, pair_id, expected_version=version)
    return go(request, f"/wood/pairs/{pair_id}", "Nothing is chosen now.")


@router.post("/{pair_id}/search")
def search(request: Request, pair_id: int, asker: Asks, outline: Text = "") -> Response:
    """Have the photographs read and laid out again in the background."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        if outline and outline not in outline_names(change.session):
            raise Mistake(f"there is no outline {outline}", where="outline", do="choose one of the list")
        ask_read(change, pair_id, (outline,) if outline else ())
    wake(request.app)
    address = f"/wood/pairs/{pair_id}" + (f"?outline={outline}" if outline else "")
    return go(request, address, "It is being laid out in the background; the page stays usable.")


@router.post("/{pair_id}/planed")
def note_planed(
    request: Request,
    pair_id: int,
    asker: Asks,
    planed_leaf: Text,
    planed_mm: Text,
    planed_note: Text = "",
    sure: Sure = "",
) -> Response:
    """Wood that came off a joint edge."""
    shop: Shop = request.app.state.shop
    taken_back = planed_mm.strip().startswith(("-", "\N{MINUS SIGN}"))
    figure = parse_length(
        planed_mm.strip().lstrip("-\N{MINUS SIGN}"), house_of(request).unit, where="planed_mm"
    )
    ask(planed_slip(figure), "planed_mm", planed_mm, sure)
    with shop.change(asker.name) as change:
        plane(
            change, pair_id, planed_leaf, -figure if taken_back else figure, note=planed_note.strip() or None
        )
    return go(request, f"/wood/pairs/{pair_id}#planed", "Noted.")


@router.post("/{pair_id}/weigh")
def note_weight(
    request: Request, pair_id: int, asker: Asks, weighed_leaf: Text, grams: Text, sure: Sure = ""
) -> Response:
    """A weight."""
    shop: Shop = request.app.state.shop
    try:
        figure = float(grams.strip().removesuffix("g").replace(",", "."))
    except ValueError as error:
        raise Mistake(f"{grams!r} is no weight", where="grams", do="write it like 158 or 158.5") from error
    with shop.change(asker.name) as change:
        ask(grams_slip(wood_rows.pair(change.session, pair_id).kind, figure), "grams", grams, sure)
        weigh(change, pair_id, weighed_leaf, figure)
    return go(request, f"/wood/pairs/{pair_id}#weights", "Noted.")


@router.post("/{pair_id}/photos")
def add_photos(
    request: Request,
    pair_id: int,
    asker: Asks,
    files: list[UploadFile],
    photo_role: Text = "other",
    photo_note: Text = "",
) -> Response:
    """A photograph of today, or a paper."""
    shop: Shop = request.app.state.shop
    limits = request.app.state.serving.limits
    if photo_role not in ROLES:
        raise Mistake(
            f"{photo_role!r} is nothing a picture can show", where="photo_role", do="choose one of the list"
        )
    taken = [take_paper(one, limits) if photo_role == "paper" else take_picture(one, limits) for one in files]
    shas = [shop.files.keep(one.data, one.media_type) for one in taken]
    with shop.change(asker.name) as change:
        for one, sha in zip(taken, shas, strict=True):
            add_row(
                change, sha, one.media_type, len(one.data), width_px=one.width_px, height_px=one.height_px
            )
            add_photo(
                change,
                pair_id,
                sha,
                photo_role,
                note=photo_note.strip() or (one.name if photo_role == "paper" else None),
            )
        if photo_role in ("a", "b", "opened", "other_a", "other_b", "end_a", "end_b"):
            ask_read(change, pair_id)
        if photo_role in TONE_ROLES:
            ask_tone(change, pair_id)
    wake(request.app)
    return go(request, f"/wood/pairs/{pair_id}", "Kept.")


@router.post("/{pair_id}/photos/{photo_id}/away")
def photo_away(request: Request, pair_id: int, photo_id: int, asker: Asks) -> Response:
    """Take a photograph or a paper away; the history gives it back."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        gone = take_away(change, photo_id)
        _read_without(change, gone)
    wake(request.app)
    return go(request, f"/wood/pairs/{pair_id}", "Taken away; the history brings it back.")


@router.post("/{pair_id}/photos/{photo_id}/back")
def photo_back(request: Request, pair_id: int, photo_id: int, asker: Asks) -> Response:
    """Give it back."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        _read_without(change, give_back(change, photo_id))
    wake(request.app)
    return go(request, f"/wood/pairs/{pair_id}", "It is back.")


@router.post("/{pair_id}/edit")
async def edit(request: Request, pair_id: int, asker: Asks) -> Response:
    """The facts of a pair."""
    shop: Shop = request.app.state.shop
    form = await request.form()
    typed = {name: str(value) for name, value in form.items()}
    unit = house_of(request).unit
    with shop.read() as session:
        shown = thickness_as_shown(wood_rows.pair(session, pair_id), unit)
    untouched = typed.get("thickness", "").strip() == shown
    fields = facts_of(typed | ({"thickness": ""} if untouched else {}), unit)
    if untouched:
        fields.pop("thickness_mm")
    fields["grade_by_eye"] = " ".join(typed.get("grade_by_eye", "").split()) or None
    fields["scale_spec"] = " ".join(typed.get("scale_spec", "").split()) or None
    if not fields["label"]:
        fields.pop("label")
    version = _version(typed.get("version", ""))
    with shop.change(asker.name) as change:
        wood_rows.edit_pair(change, pair_id, fields, expected_version=-1 if version is None else version)
    return go(request, f"/wood/pairs/{pair_id}", "Kept.")


@router.post("/{pair_id}/delete")
def delete(request: Request, pair_id: int, asker: Asks, version: Annotated[int, Form()]) -> Response:
    """Put it among the recently deleted."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        gone = wood_rows.delete_pair(change, pair_id, expected_version=version)
    return go(
        request, f"/wood/pairs/{pair_id}", f"{gone.label} is deleted; it can be brought back for 30 days."
    )


@router.post("/{pair_id}/bring-back")
def bring_back(request: Request, pair_id: int, asker: Asks) -> Response:
    """Bring it back."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        back = wood_rows.bring_back(change, pair_id)
    return go(request, f"/wood/pairs/{pair_id}", f"{back.label} is back.")


@router.post("/{pair_id}/undo")
def undo_line(request: Request, pair_id: int, asker: Asks, line: Annotated[int, Form()]) -> Response:
    """Undo one line of the history."""
    shop: Shop = request.app.state.shop
    with shop.change(asker.name) as change:
        undo(change, line)
    return go(request, f"/wood/pairs/{pair_id}", "Undone.")


def _read_without(change: Change, photo: PairPhoto) -> None:
    """What was read beside the leaves is read again once a photograph of it is gone, or is back."""
    if photo.role in TONE_ROLES:
        ask_tone(change, photo.pair_id)
    if photo.role in ("other_a", "other_b", "end_a", "end_b"):
        ask_read(change, photo.pair_id)


def _keep(
    request: Request, pair_id: int, asker: Asker, outline: str, part: HandPlacingPart, version: int, said: str
) -> Response:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        known = judging(shop, session, pair_id, outline)
    with shop.change(asker.name) as change:
        keep_placing(
            change, known, PlacingAsked(outline=outline, placing=part), version, house_of(request).unit
        )
    return go(request, f"/wood/pairs/{pair_id}", said)


def _placing(said: str) -> HandPlacingPart:
    """A placing as the form sends it.

    Raises:
        Mistake: it is none, or lies far from any wood.
    """
    try:
        return HandPlacingPart.model_validate_json(said)
    except ValidationError as error:
        raise Mistake("that is far from the wood", where="place", do="move it by less") from error


def _version(said: str) -> int | None:
    """The version that the form was made from, None where it names none; what is no version fits none."""
    if not said:
        return None
    return int(said) if said.isascii() and said.isdecimal() and len(said) < 10 else -1


def _text(form: FormData, name: str) -> str:
    return str(form.get(name, "")).strip().replace("\N{MINUS SIGN}", "-")


def _length(form: FormData, name: str, unit: Any) -> float:
    typed = _text(form, name)
    if not typed:
        return 0.0
    sign = -1.0 if typed.startswith("-") else 1.0
    bare = typed.lstrip("+-").strip()
    if bare.rstrip(" m").strip("0.,") in ("", "in"):
        return 0.0
    return sign * parse_length(bare, unit, where=name)


def _degrees(typed: str) -> float:
    try:
        return float(typed.removesuffix("°").replace(",", ".") or 0)
    except ValueError as error:
        raise Mistake(f"{typed!r} is no angle", where="tilt", do="write degrees, like 0.2") from error
