"""A pair's page as it is sent, and sent again with what is wrong beside what was typed."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from datetime import datetime
from typing import Any

from fastapi import Request
from fastapi.routing import APIRoute
from sqlalchemy.orm import Session
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, Response

from seamlight.grain.flaw import FLAW_KINDS
from seamlight.layout.by_hand_document import HandPlacingPart
from seamlight.mistake import Mistake
from seamlight.shop.change import Conflict
from seamlight.shop.flaw_edits import FaceName, face_words
from seamlight.shop.made_on import same_picture, taken
from seamlight.shop.missing import Missing
from seamlight.shop.outlines import outline_names
from seamlight.shop.pair_wood import LeafName, PairWood
from seamlight.shop.photos import ROLES
from seamlight.shop.shop import Shop
from seamlight.shop.wood import KINDS
from seamlight.timber.species import species_names
from seamlight.web.facts import typed_of
from seamlight.web.laid_with import MATCHES, typed_settings
from seamlight.web.pair_documents import LeafFlaws
from seamlight.web.pair_facts import ROLE_WORDS, PairPage, pair_page
from seamlight.web.pair_lines import jumps, lines
from seamlight.web.render import again, house_of, page

LEAF_CHOICES = (("both", "both leaves"), ("a", "leaf A"), ("b", "leaf B"))
FIELDS = (
    *("planed_leaf", "planed_mm", "planed_note", "weighed_leaf", "grams", "photo_role", "photo_note"),
    *("runout", "trim", "end_trim", "joint", "match", "wedge"),
    *("flaw_leaf", "flaw_kind", "from_end1", "from_left", "long", "wide", "inward", "tilt", "along", "slide"),
)
KIND_WORDS = {"pitch": "pitch pocket", "other": "something else"}


class ShownAgain(APIRoute):
    """A form of the pair's page that cannot be taken is shown again on that page."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The handler, with the mistakes of a form caught."""
        handle = super().get_route_handler()

        async def shown(request: Request) -> Response:
            try:
                return await handle(request)
            except (Conflict, Missing):
                raise
            except Mistake as mistake:
                if request.method != "POST":
                    raise
                form = await request.form()
                typed = {name: value for name, value in form.items() if isinstance(value, str)}
                pair_id = int(request.path_params["pair_id"])
                return await run_in_threadpool(show, request, pair_id, None, mistake, typed)

        return shown


def show(
    request: Request,
    pair_id: int,
    outline: str | None,
    mistake: Mistake | None = None,
    typed: dict[str, str] | None = None,
) -> HTMLResponse:
    """The page of a pair."""
    shop: Shop = request.app.state.shop
    unit = house_of(request).unit
    with shop.read() as session:
        shown = pair_page(shop, session, pair_id, outline, unit)
        names = outline_names(session)
        moved = _made_elsewhere(session, shown)
    facts = _facts(shown, names, unit, typed or {}) | {"made_elsewhere": moved}
    title = f"{shown.pair.label}, {shown.pair.kind}"
    if mistake is not None:
        return again(request, "pair.html", mistake, title=title, place="wood", **facts)
    return page(request, "pair.html", title=title, place="wood", mistake=None, **facts)


def _facts(shown: PairPage, names: tuple[str, ...], unit: Any, typed: dict[str, str]) -> dict[str, Any]:
    pair, laid = shown.pair, shown.laid
    own = typed_of(pair, unit) | {
        "grade_by_eye": pair.grade_by_eye or "",
        "scale_spec": pair.scale_spec or "",
    }
    first = laid is not None and laid.placing.neck_end == 1
    if laid is not None:
        own |= typed_settings(laid.settings, unit)
    return {
        "shown": shown,
        "pair": pair,
        "laid": laid,
        "typed": {**_blank(), **own, **typed},
        "kinds": [(kind, kind) for kind in KINDS],
        "species": species_names(),
        "outline_choices": [(name, name) for name in names],
        "leaf_choices": LEAF_CHOICES,
        "matches": MATCHES,
        "flaw_kinds": [(kind, KIND_WORDS.get(kind, kind)) for kind in FLAW_KINDS],
        "roles": [(role, ROLE_WORDS.get(role, role)) for role in ROLES],
        "jumps": jumps(shown),
        **lines(shown, unit),
        "flaws": _flaws(shown) if laid is not None else [],
        "faces": _faces(laid.wood) if laid is not None else [],
        "base": HandPlacingPart.of(laid.placing).model_dump_json() if laid is not None else "",
        "version": laid.choice.version if laid is not None and laid.choice is not None else 0,
        "sides": _sides(shown),
        "ends": ("end 1", "end 2") if first else ("end 2", "end 1"),
    }


def _made_elsewhere(session: Session, shown: PairPage) -> list[tuple[str, datetime | None]]:
    """What was said or chosen on an earlier picture of a leaf, and when that was taken."""
    laid = shown.laid
    if laid is None:
        return []
    told = [
        (
            f"What was said about the flaws of {face_words(face)} was said on",
            taken(session, laid.pair.id, sha),
        )
        for face, sha in laid.wood.unapplied.items()
    ]
    if laid.choice_elsewhere and laid.choice is not None:
        made_on = laid.choice.made_on or {}
        moved = [sha for leaf, sha in made_on.items() if not same_picture(sha, laid.wood.pictures.get(leaf))]
        told.append(("The choice was made on", taken(session, laid.pair.id, moved[0])))
    return told


def _blank() -> dict[str, str]:
    return dict.fromkeys(FIELDS, "")


def _flaws(shown: PairPage) -> list[dict[str, Any]]:
    """Each leaf's flaws for the table: what, where, how sure."""
    assert shown.laid is not None
    wood, rows = shown.laid.wood, []
    for leaf in ("a", "b"):
        if leaf == "b" and wood.stands_in:
            continue
        said = LeafFlaws.of(wood, leaf)
        for flaw in said.flaws:
            xs, ys = [p[0] for p in flaw.outline_mm], [p[1] for p in flaw.outline_mm]
            rows.append(
                {
                    "leaf": leaf,
                    "face": f"other_{leaf}" if flaw.other_face else leaf,
                    "flaw": flaw,
                    "kind": KIND_WORDS.get(flaw.kind, flaw.kind),
                    "from_end1_mm": (min(ys) + max(ys)) / 2,
                    "from_left_mm": (min(xs) + max(xs)) / 2,
                    "long_mm": max(ys) - min(ys),
                    "wide_mm": max(xs) - min(xs),
                    "version": said.other.version if flaw.other_face else said.version,
                }
            )
    return rows


def _faces(wood: PairWood) -> list[tuple[FaceName, str]]:
    """The faces that a flaw can be said of."""
    leaves: tuple[LeafName, ...] = ("a",) if wood.stands_in else ("a", "b")
    others: dict[LeafName, FaceName] = {"a": "other_a", "b": "other_b"}
    own: list[tuple[FaceName, str]] = [(leaf, f"leaf {leaf.upper()}") for leaf in leaves]
    seen = [(others[leaf], f"leaf {leaf.upper()}, other face") for leaf in leaves if leaf in wood.others]
    return own + seen


def _sides(shown: PairPage) -> tuple[str, str]:
    """What the left and the right half are, seen from outside with the neck up."""
    if shown.laid is None or shown.opening is None:
        return ("", "")
    bass_left = shown.laid.use == "top"
    names = ("bass side", "treble side") if bass_left else ("treble side", "bass side")
    left = "A" if shown.opening.a_is == "left" else "B"
    right = "B" if left == "A" else "A"
    return (f"leaf {left}, {names[0]}", f"leaf {right}, {names[1]}")
