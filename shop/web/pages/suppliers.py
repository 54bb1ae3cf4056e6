"""The shelf's pages of suppliers."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.suppliers import supplier_view, suppliers_by_name
from shop.rules.people import Right
from shop.rules.stock import MOST_LEAD_DAYS
from shop.rules.suppliers import MOST_EMAIL, MOST_NAME, MOST_NOTES, MOST_PHONE
from shop.services.suppliers import add_supplier, change_supplier
from shop.web.deps import Form, Now, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.stock_page import many
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, FORM = "pages/suppliers.html", "pages/supplier.html"
HEAD = ["Supplier", "An order takes", "E-mail", "Telephone"]


@router.get("/shelf/suppliers")
def show_suppliers(actor: Looking, page: Page, session: Reading) -> Response:
    """The suppliers, by name; who may not change the shelf gets no link to one."""
    may_desk = actor.may(Right.DESK)
    rows: list[list[Any]] = [
        [
            {"text": item.name, "href": f"/shelf/suppliers/{item.id}"} if may_desk else item.name,
            "not said" if item.lead_days is None else many(item.lead_days, "day"),
            item.email or "–", item.phone or "–",
        ]
        for item in suppliers_by_name(session)
    ]  # fmt: skip
    return page.show(LIST, here="shelf", head=HEAD, rows=rows, may_desk=may_desk)


@router.get("/shelf/suppliers/new")
def new_supplier(actor: AtDesk, page: Page) -> Response:
    """An empty form for a supplier."""
    return page.show(FORM, here="shelf", form=FormView(), supplier=None)


@router.post("/shelf/suppliers/new")
def put_supplier_on_file(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put a supplier on file."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: {"supplier": None}):
        fields = Fields(posted)
        said = _said(fields)
        fields.done()
        supplier = add_supplier(session, now=now, **said)
    return page.go("/shelf/suppliers", f"{supplier.name} is on file.")


def _said(fields: Fields) -> dict[str, Any]:
    return {
        "name": fields.text("name", "The name", MOST_NAME, required=True),
        "email": fields.text("email", "The e-mail address", MOST_EMAIL),
        "phone": fields.text("phone", "The telephone number", MOST_PHONE),
        "lead_days": fields.whole("lead_days", "How long an order takes", 0, MOST_LEAD_DAYS),
        "notes": fields.text("notes", "The notes", MOST_NOTES),
    }


@router.get("/shelf/suppliers/{supplier_id}")
def show_supplier(actor: AtDesk, page: Page, session: Reading, supplier_id: int) -> Response:
    """One supplier, to look at and to change."""
    context = _one(session, supplier_id)
    supplier = context["supplier"]
    lead = "" if supplier.lead_days is None else supplier.lead_days
    values = {**supplier._asdict(), "lead_days": lead}
    return page.show(FORM, here="shelf", form=FormView(values), **context)


def _one(session: Session, supplier_id: int) -> dict[str, Any]:
    return {"supplier": supplier_view(session, supplier_id)}


@router.post("/shelf/suppliers/{supplier_id}")
def save_supplier(actor: AtDesk, page: Page, session: Writing, supplier_id: int, posted: Form) -> Response:
    """Change what is said of a supplier."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: _one(session, supplier_id)):
        fields = Fields(posted)
        version = fields.whole("version", "The version", 1, 10**9)
        fields.required("version", "The version", version)
        said = _said(fields)
        fields.done()
        change_supplier(session, supplier_id, version=version, **said)
    return page.go("/shelf/suppliers", "The supplier is saved.")
