"""The care sheet under Ways: what customers read once their rod is theirs, begun from a ready-made text."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.shop import shop_version
from shop.rules.care_sheet import MOST_CARE, READY_MADE
from shop.services.care_sheet import save_care_sheet
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/care_sheet.html"
MOST_VERSION = 10**9


@router.get("/ways/care-sheet")
def show_care_sheet(actor: AtWays, page: Page, session: Reading) -> Response:
    """The shop's own text, or the ready-made one where it has none."""
    context = _context(page, session)
    form = FormView({"care_sheet": context["on_file"] or READY_MADE})
    return page.show(TEMPLATE, here="ways", form=form, **context)


@router.post("/ways/care-sheet")
def keep_care_sheet(actor: AtWays, page: Page, session: Writing, posted: Form) -> Response:
    """Keep the text as the shop's own."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, lambda: _context(page, session)):
        fields = Fields(posted)
        text = fields.text("care_sheet", "The care sheet", MOST_CARE)
        version = fields.required(
            "version", "The version", fields.whole("version", "The version", 1, MOST_VERSION)
        )
        fields.done()
        save_care_sheet(session, text, version=version or 0)
    said = "The care sheet is saved." if text else "Customers are told nothing now."
    return page.go("/ways/care-sheet", said)


def _context(page: Frame, session: Session) -> dict[str, Any]:
    return {"on_file": page.shop.care_sheet, "version": shop_version(session)}
