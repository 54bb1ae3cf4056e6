"""Recall, both ways and fit to print: which rods had a lot, and which lots a rod had."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.builds import build_view
from shop.queries.lots import builds_of_lot, lot_view, lots_of_build, mixes_of_lot
from shop.queries.returns import returns_of_lot
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.lot_page import (
    MIX_HEAD,
    RECALL_HEAD,
    USED_HEAD,
    brief_facts,
    mix_rows,
    on_paper,
    recall_rows,
    used_rows,
)
from shop.web.pages.lots import today_of
from shop.web.return_page import OF_LOT_HEAD, of_lot_row
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.get("/shelf/lots/{lot_id}/recall")
def show_recall(actor: Looking, page: Page, session: Reading, bench: TheBench, lot_id: int) -> Response:
    """Which rods had this lot, for whom they are, and which of its mixes stand nowhere."""
    today = today_of(page, bench)
    lot = lot_view(session, lot_id, today)
    uses = builds_of_lot(session, lot_id)
    unused = [mix for mix in mixes_of_lot(session, lot_id) if mix.cures == 0]
    return page.show(
        "pages/lot_recall.html", here="shelf", lot=lot, head=RECALL_HEAD, rows=recall_rows(uses, page.zone),
        rods=len({use.build for use in uses}), unused=mix_rows(unused, page.zone),
        facts=brief_facts(lot, today), printed=on_paper(bench.now, page.zone), mix_head=MIX_HEAD,
        return_head=OF_LOT_HEAD, returns=[of_lot_row(line) for line in returns_of_lot(session, lot_id)],
    )  # fmt: skip


@router.get("/builds/{number}/lots")
def show_lots_used(actor: Looking, page: Page, session: Reading, number: str) -> Response:
    """Which lots this rod had, and where nobody named one."""
    build = build_view(session, number)
    found = lots_of_build(session, build.id)
    return page.show(
        "pages/lots_used.html", here="in-hand", build=build, head=USED_HEAD,
        rows=used_rows(found.uses, page.zone), unnamed=", ".join(found.unnamed),
    )  # fmt: skip
