"""What is kept about a customer: looked at, exported, and erased for good. The owner's alone."""

import json
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.customers import customer_view
from shop.services.privacy import ErasingSaid, erase_customer
from shop.web.api.times import utc_text
from shop.web.benches import TheBench
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.photo_uploads import GonePhotos
from shop.web.privacy_page import export_of, privacy_context, readable
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/privacy.html"


@router.get("/desk/customers/{customer_id}/privacy")
def show_privacy(actor: AtWays, page: Page, session: Reading, customer_id: int) -> Response:
    """What is kept about a customer and why, the ways to export it, and the form to erase it."""
    context = privacy_context(session, customer_id)
    return page.show(TEMPLATE, here="desk", form=FormView(), **context)


@router.get("/desk/customers/{customer_id}/privacy/records")
def show_records(actor: AtWays, page: Page, session: Reading, customer_id: int) -> Response:
    """Every record about a customer, to read or to print."""
    customer = customer_view(session, customer_id)
    kinds = readable(session, customer_id)
    return page.show("pages/privacy_records.html", here="desk", customer=customer, kinds=kinds)


@router.get("/desk/customers/{customer_id}/privacy.json")
def give_records(actor: AtWays, page: Page, session: Reading, now: Now, customer_id: int) -> Response:
    """The same as one JSON document, for another program."""
    document = export_of(session, customer_id, utc_text(now), page.shop_name)
    disposition = f'attachment; filename="customer-{customer_id}.json"'
    headers = {"content-disposition": disposition, "cache-control": "no-store"}
    text = json.dumps(document, ensure_ascii=False, indent=1)
    return Response(text, media_type="application/json", headers=headers)


@router.post("/desk/customers/{customer_id}/erase")
def erase(
    actor: AtWays, page: Page, gone: GonePhotos, session: Writing, bench: TheBench, customer_id: int,
    posted: Form,
) -> Response:  # fmt: skip
    """Erase a customer for good; the files of photos that are taken away go with the commit."""
    page.here = "desk"
    with showing_again(page, TEMPLATE, posted, lambda: _over(session, customer_id)):
        said = _said(posted)
        gone.extend(erase_customer(session, customer_id, bench.bench(session, actor), said))
    return page.go(f"/desk/customers/{customer_id}", "The customer is erased; the rods stay.")


def _said(posted: Posted) -> ErasingSaid:
    fields = Fields(posted)
    confirm = fields.text("confirm", "The name", 200)
    reason = fields.text("reason", "The reason", 200)
    fields.done()
    return ErasingSaid(confirm, reason, bool(posted.get("photos")), bool(posted.get("inscriptions")))


def _over(session: Session, customer_id: int) -> dict[str, Any]:
    # What was erased before a refusal stands again.
    session.rollback()
    return privacy_context(session, customer_id)
