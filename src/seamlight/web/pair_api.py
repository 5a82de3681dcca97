"""A pair in work, as JSON: what its picture asks while a finger moves, and what it keeps."""

from __future__ import annotations

from fastapi import APIRouter, Request

from seamlight.layout.by_hand import best_by_hand
from seamlight.layout.by_hand_document import JudgeDocument
from seamlight.shop import jobs
from seamlight.shop.change import Change
from seamlight.shop.choices import keep_choice
from seamlight.shop.figures import outline_of
from seamlight.shop.flaw_edits import FaceName, keep_flaw_edits
from seamlight.shop.flaws_meant import boxes_of
from seamlight.shop.missing import Missing
from seamlight.shop.outlines import outline_names
from seamlight.shop.pair_wood import check_edits, leaf_of
from seamlight.shop.readings import readings
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Choice
from seamlight.shop.taking_in import ask_read
from seamlight.shop.wood import pair as kept_pair
from seamlight.web.access import Asks
from seamlight.web.pair_bench import Judging, bench, judging
from seamlight.web.pair_documents import (
    ChoiceAsked,
    ChoiceKept,
    FlawsAsked,
    FlawsKept,
    LeafFlaws,
    PlacingAsked,
    ReadingUnderWay,
    WayAsked,
    WorkDocument,
    facts_of,
    judge_document,
    work_document,
)
from seamlight.web.render import house_of
from seamlight.web.work import wake

router = APIRouter(prefix="/api/pairs", tags=["pairs"])


@router.get("/{pair_id}/work", responses={404: {}, 422: {}})
def work(request: Request, pair_id: int, outline: str | None = None) -> WorkDocument:
    """A pair as its picture works on it, for the chosen outline or another."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        laid = bench(shop, session, pair_id, outline)
    if laid is None:
        raise Missing("there is nothing to lay out", do="have a top's or a back's photographs read first")
    return work_document(laid, house_of(request).unit)


@router.get("/{pair_id}/reading", responses={404: {}, 422: {}})
def reading(request: Request, pair_id: int) -> ReadingUnderWay:
    """How far the newest piece of background work on a pair is."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        kept_pair(session, pair_id)
        own = jobs.jobs_of(session, "pair", pair_id)
    newest = {"state": own[0].state, "says": own[0].says or ""} if own else {"state": "none", "says": ""}
    live = any(job.state in jobs.LIVE for job in own)
    return ReadingUnderWay.model_validate({"live": live, **newest})


@router.post("/{pair_id}/judge", responses={404: {}, 422: {}})
def judge(request: Request, pair_id: int, asked: PlacingAsked) -> JudgeDocument:
    """The exact judgement of exactly this placing; nothing is kept."""
    known = _judging(request, pair_id, asked.outline)
    placing = asked.placing.placing()
    return judge_document(placing, known.judge(placing), house_of(request).unit)


@router.post("/{pair_id}/best", responses={404: {}, 422: {}})
def best(request: Request, pair_id: int, asked: WayAsked) -> JudgeDocument:
    """The best placing of one way to open the pair, searched for now; nothing is kept."""
    known = _judging(request, pair_id, asked.outline)
    wood = known.wood
    placing = best_by_hand(
        wood.a,
        wood.b,
        wood.registration,
        known.outline,
        known.settings,
        asked.joint_edge,
        asked.neck_end,
        asked.show_face,
    )
    return judge_document(placing, known.judge(placing), house_of(request).unit)


@router.put("/{pair_id}/choice", responses={404: {}, 409: {}, 422: {}})
def choose(request: Request, pair_id: int, asked: ChoiceAsked, asker: Asks) -> ChoiceKept:
    """Keep a placing as the choice; one that another device kept meanwhile is not overwritten."""
    shop: Shop = request.app.state.shop
    known = _judging(request, pair_id, asked.outline)
    with shop.change(asker.name) as change:
        kept, judged = keep_placing(change, known, asked, asked.version, house_of(request).unit)
    return ChoiceKept(version=kept.version, judged=judged)


@router.put("/{pair_id}/flaws/{leaf}", responses={404: {}, 409: {}, 422: {}})
def say_flaws(
    request: Request, pair_id: int, leaf: FaceName, asked: FlawsAsked, outline: str, asker: Asks
) -> FlawsKept:
    """Keep what a person says about the flaws of a leaf's face; it wins over what was found.

    Outlines lie in the leaf's own frame, also those of `other_a` and `other_b`: as seen through the leaf.
    """
    shop: Shop = request.app.state.shop
    known = _judging(request, pair_id, outline)
    check_edits(known.wood, leaf, asked.edits)
    with shop.change(asker.name) as change:
        row = keep_flaw_edits(
            change,
            pair_id,
            leaf,
            asked.edits,
            boxes=boxes_of(asked.edits, known.wood.found[leaf]),
            made_on=known.wood.pictures.get(leaf),
            expected_version=asked.version,
        )
        search_again(change, pair_id, outline)
    wake(request.app)
    now = _judging(request, pair_id, outline)
    return FlawsKept(
        version=row.version,
        facts=facts_of(now.wood, now.outline, now.settings),
        flaws=LeafFlaws.of(now.wood, leaf_of(leaf)),
    )


def search_again(change: Change, pair_id: int, outline: str | None) -> None:
    """Have the outlines that a pair was searched for searched again, with the flaws as they are now."""
    names = [outline_of(row) for row in readings(change.session, pair_id=pair_id, verb="layout")]
    known = outline_names(change.session)
    ask_read(change, pair_id, tuple(name for name in dict.fromkeys([*names, outline]) if name in known))


def keep_placing(
    change: Change, known: Judging, asked: PlacingAsked, version: int | None, unit: str
) -> tuple[Choice, JudgeDocument]:
    """Keep a placing as the pair's choice, with what it comes to."""
    placing = asked.placing.placing()
    judged = judge_document(placing, known.judge(placing), "inch" if unit == "inch" else "mm")
    opening = {
        "joint_edge": placing.joint_edge,
        "neck_end": placing.neck_end,
        "show_face": placing.show_face,
        "match": known.settings.match,
    }
    row = keep_choice(
        change,
        known.pair.id,
        outline={"name": asked.outline},
        opening=opening,
        document=judged.opening,
        settings=vars(known.settings),
        placing=asked.placing.model_dump(),
        made_on={leaf: known.wood.pictures[leaf] for leaf in ("a", "b") if leaf in known.wood.pictures},
        expected_version=version,
    )
    return row, judged


def _judging(request: Request, pair_id: int, outline: str) -> Judging:
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        return judging(shop, session, pair_id, outline)
