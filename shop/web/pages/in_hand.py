"""In hand: what may be touched now, what is setting, what is held."""

from functools import lru_cache
from typing import Any

from fastapi import APIRouter
from markupsafe import Markup
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.bench import BenchRow
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.forms import FormView
from shop.web.moments import moments_context
from shop.web.rods import RowView, row_view
from shop.web.running import ReadingRoute
from shop.web.templating import ENVIRONMENT, Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
ROW = ENVIRONMENT.get_template("fragments/in_hand_row.html")


@router.get("/")
def in_hand(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """The bench as it stands; asked for again by the page itself every minute."""
    context = in_hand_context(page, session, bench)
    return page.show(template_of(page), here="in-hand", form=FormView(), **context)


def template_of(page: Frame) -> str:
    """The page, or the part of it that refreshes."""
    return "fragments/in_hand.html" if page.wants_fragment else "pages/in_hand.html"


def in_hand_context(page: Frame, session: Session, bench: BenchSide) -> dict[str, Any]:
    """What the page shows, besides a form."""
    view = bench.view(session)

    def rows(found: list[BenchRow]) -> list[Markup]:
        return [render_row(row_view(row, bench.now, page.zone, page.shop.hours)) for row in found]

    lists = {"free": rows(view.free), "curing": rows(view.curing), "held": rows(view.held)}
    return lists | moments_context(page, session, bench)


@lru_cache(maxsize=2048)
def render_row(row: RowView) -> Markup:
    """A row as HTML. Equal rows look equal, so what was rendered once is kept by its content."""
    return Markup(ROW.render(row=row))
