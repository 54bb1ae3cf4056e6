"""The desk's pages of customers."""

from datetime import date, datetime
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import BuildView, builds_of_customer
from shop.queries.customers import CustomerView, customer_view
from shop.services.customers import add_customer, change_customer
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
NEW = "pages/customer_new.html"
EDIT = "pages/customer.html"
# Where a new customer leads on to, when taken down on the way to something else.
THEN = {"build": "builds/new?customer=", "repair": "repairs/new?customer="}


@router.get("/desk/customers/new")
def new_customer(actor: AtDesk, page: Page, then: str = "") -> Response:
    """An empty form for a new customer; `then` says on the way to what, such as `build`."""
    return page.show(NEW, here="desk", form=FormView({"then": then, "wants_mail": True}))


@router.post("/desk/customers/new")
def take_down_customer(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Take down a new customer."""
    page.here = "desk"
    with showing_again(page, NEW, posted):
        consent_on = _consent_on(page, now, posted, None)
        customer = add_customer(session, now=now, photo_consent_on=consent_on, **_fields(posted))
    on = THEN.get(posted.get("then", ""), "customers/")
    return page.go(f"/desk/{on}{customer.id}", f"{customer.name} is on file.")


@router.get("/desk/customers/{customer_id}")
def show_customer(actor: AtDesk, page: Page, session: Reading, customer_id: int) -> Response:
    """One customer, to look at and to change."""
    customer = customer_view(session, customer_id)
    form = FormView({**customer._asdict(), "photo_consent": customer.photo_consent_on is not None})
    return page.show(EDIT, here="desk", form=form, **_context(session, customer))


@router.post("/desk/customers/{customer_id}")
def save_customer(
    actor: AtDesk, page: Page, session: Writing, now: Now, customer_id: int, posted: Form
) -> Response:
    """Change a customer's facts."""
    page.here = "desk"
    customer = customer_view(session, customer_id)
    with showing_again(page, EDIT, posted, lambda: _context(session, customer)):
        consent_on = _consent_on(page, now, posted, customer.photo_consent_on)
        change_customer(session, customer_id, photo_consent_on=consent_on, **_fields(posted))
    return page.go(f"/desk/customers/{customer_id}", "The customer is saved.")


def _context(session: Session, customer: CustomerView) -> dict[str, Any]:
    builds = [
        [
            {"text": f"{build.number} {build.title}", "href": f"/builds/{build.number}"},
            build.stage or "not begun", _state(build),
            {"text": "spec", "href": f"/builds/{build.number}/spec"}, _again(build),
        ]
        for build in builds_of_customer(session, customer.id)
    ]  # fmt: skip
    return {"customer": customer, "builds": builds}


def _again(build: BuildView) -> Any:
    """The way to the same rod again, where there is one to be built again."""
    if build.is_enquiry or build.rod_kind == "repair":
        return "–"
    return {"text": "same again", "href": f"/builds/{build.number}/as-built"}


def _state(build: BuildView) -> str:
    if build.closed_at is not None:
        return build.closed_as or "finished"
    return "enquiry" if build.is_enquiry else "open"


def _consent_on(page: Frame, now: datetime, posted: Posted, before: date | None) -> date | None:
    """Since when photos of the rods may be shown: as before, since today, or not."""
    if not posted.get("photo_consent"):
        return None
    return before or now.astimezone(page.zone).date()


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "name": fields.text("name", "The name", 120, required=True),
        "email": fields.text("email", "The e-mail address", 254),
        "phone": fields.text("phone", "The telephone number", 40),
        "notes": fields.text("notes", "The notes", 4000),
        "wants_mail": bool(posted.get("wants_mail")),
    }
    fields.done()
    return values
