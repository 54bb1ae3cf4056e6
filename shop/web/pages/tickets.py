"""The bench ticket of a build: the sheet that travels with the rod, with its code."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.codes import qr_code
from shop.queries.bench import BenchRow
from shop.queries.cures import cures_of_build
from shop.queries.make_ups import MakeUpView, latest_make_up
from shop.queries.specs import Revisions, SpecView, latest_spec
from shop.rules.bench_figures.base import BenchSheet
from shop.rules.customers import short_name
from shop.rules.orientation import orientation_words, spine_rule
from shop.web.benches import BenchSide, TheBench
from shop.web.curves import draw_curves
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.orientation import draw_facing
from shop.web.rods import drawing_of, due_of, state_of
from shop.web.running import ReadingRoute
from shop.web.scale import draw_handle, draw_to_scale
from shop.web.spec_page import blank_of, revision_words, ticket_address
from shop.web.spec_words import SpecLine, spec_lines, ticket_lines
from shop.web.templating import Frame, Page
from shop.web.ticket import cautions_of, guide_lines, part_lines, stage_rows

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/ticket.html"
PAPERS = ("a4", "letter")


@router.get("/builds/{number}/ticket")
def show_ticket(
    actor: Looking, page: Page, session: Reading, bench: TheBench, number: str, paper: str = PAPERS[0]
) -> Response:
    """The ticket of one rod as it stands, on A4 or Letter."""
    sheet_of_paper = paper if paper in PAPERS else PAPERS[0]
    return page.show(TEMPLATE, here="in-hand", paper=sheet_of_paper, **_context(page, session, bench, number))


def _context(page: Frame, session: Session, bench: BenchSide, number: str) -> dict[str, Any]:
    now, zone = bench.now, page.zone
    row = bench.row(session, number)
    shown = latest_make_up(session, row.build.id)
    spec = latest_spec(session, row.build.id)
    revisions = Revisions(0 if shown is None else shown.revision, 0 if spec is None else spec.revision)
    sheet = BenchSheet() if shown is None else page.hub.sheets.of(shown.id, shown.value)
    cures = cures_of_build(session, row.build.id, bench.warmth(session))
    due, _ = due_of(row, now, zone)
    return {
        "build": row.build,
        "customer": short_name(row.build.customer),
        "due": due,
        "state": state_of(row, now, zone),
        "printed": now.astimezone(zone).strftime("%Y-%m-%d %H:%M"),
        "code": qr_code(ticket_address(page.base_url, row.build.number, revisions)),
        "printed_from": revision_words(revisions),
        "asked_for": _asked_for(session, spec, shown is not None),
        "troubles": list(dict.fromkeys(trouble.sentence for trouble in sheet.troubles)),
        "stages": stage_rows(row, sheet, cures, zone),
        "curves": None if sheet.bent is None else draw_curves(sheet.bent),
        "cautions": cautions_of(row.sequence),
        **_pictures(page, row, shown),
    }


def _asked_for(session: Session, spec: SpecView | None, is_laid_down: bool) -> list[SpecLine]:
    if spec is None:
        return []
    return ticket_lines(spec_lines(spec.value, blank_of(session, spec)), is_laid_down)


def _pictures(page: Frame, row: BenchRow, shown: MakeUpView | None) -> dict[str, Any]:
    own = page.shop.spine_rules
    kind = row.build.rod_kind
    return {
        "shown": shown,
        "drawing": None if shown is None else draw_to_scale(shown.value),
        "handle": None if shown is None else draw_handle(shown.value),
        "so_far": drawing_of(row, compact=False),
        "facing": draw_facing(kind, spine_rule(kind, own)),
        "facing_words": orientation_words(kind, own),
        "parts": [] if shown is None else part_lines(shown.value),
        "guides": [] if shown is None else guide_lines(shown.value),
    }
