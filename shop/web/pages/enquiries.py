"""Enquiries: the list of them with what each waits for, and taking one down, the customer with it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.customers import CustomerView, customers_by_name, customers_to_choose
from shop.queries.enquiries import just_taken_down, waiting_at_desk
from shop.rules.people import Right
from shop.rules.refusals import BadInput
from shop.rules.spec import LABELS, Spec
from shop.services.bench import Bench
from shop.services.customers import add_customer
from shop.services.enquiries import take_down_enquiry
from shop.services.orders import take_on_order
from shop.services.specs import check_spec
from shop.web.benches import TheBench
from shop.web.deps import Asked, Form, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import SAME_PRESS, Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.spec_form import SpecRow, first_rows, spec_of, typed_rows
from shop.web.spec_page import blank_names, first_values, form_lists
from shop.web.templating import Frame, Page
from shop.web.wording import when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/enquiries.html"
NEW = "pages/enquiry_new.html"
SAME_NAME = (
    "Somebody of that name is on file already: choose that entry in the list above, or tick that this is "
    "another person."
)


@router.get("/desk/enquiries")
def show_enquiries(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """Every enquiry that is open, newest first, with what it waits for."""
    today = bench.now.astimezone(page.zone).date()
    waiting = waiting_at_desk(session, today)
    rows: list[list[Any]] = [
        [
            {"text": f"{build.number} {build.title}", "href": f"/builds/{build.number}/spec"},
            build.customer, build.rod_kind, when(build.created_at, bench.now, page.zone), waits.says,
        ]
        for build, waits in waiting.enquiries
    ]  # fmt: skip
    reworks = [
        [
            {"text": f"{number} {title}", "href": f"/builds/{number}/spec"},
            f"revision {revision}: {', '.join(LABELS[name].lower() for name in fields)}", waits_for,
        ]
        for number, title, revision, fields, waits_for in waiting.reworks
    ]  # fmt: skip
    may_desk = actor.may(Right.DESK)
    return page.show(LIST, here="desk", tab="enquiries", rows=rows, reworks=reworks, may_desk=may_desk)


@router.get("/desk/enquiries/new")
def new_enquiry(actor: AtDesk, page: Page, session: Reading, customer: Asked = 0) -> Response:
    """An empty form for an enquiry and for whoever makes it; for a customer on file, if one is named."""
    values = first_values() | ({"customer_id": customer} if customer else {})
    return page.show(NEW, here="desk", form=FormView(values), **_lists(session, first_rows("")))


@router.post("/desk/enquiries/new")
def take_down(actor: AtDesk, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Take an enquiry down, or an order at once; or show the form again with more rows."""
    with showing_again(page, NEW, posted, lambda: _as_typed(page, session, posted)):
        what = posted.get("what")
        if what == "more":
            return page.show(NEW, form=FormView(posted), **_as_typed(page, session, posted))
        number = _take_down(page, session, bench.bench(session, actor), posted)
    said = "Order" if what == "order" else "Enquiry"
    return page.go(f"/builds/{number}/spec", f"{said} {number} is taken down.")


def _take_down(page: Frame, session: Session, bench: Bench, posted: Posted) -> str:
    """The number of what the form says; its faults are told all at once, the customer's and the spec's.

    The same again within a minute is a second press of the same button, and takes nothing further down.
    """
    fields = Fields(posted)
    on_file = {item.id: item for item in customers_by_name(session)}
    customer_id = _whom(posted, fields, on_file)
    notes = fields.text("notes", "The notes", 4000)
    spec = spec_of(posted, fields)
    since = bench.now - SAME_PRESS
    if pressed := just_taken_down(session, spec, customer_id, posted.get("name", ""), since):
        return pressed
    _gather(session, spec, fields)
    name, email, phone = (posted.get(field, "") for field in ("name", "email", "phone"))
    if customer_id is None:
        customer_id = _new_customer(session, bench, fields, name, email, phone)
    fields.done()
    build = take_down_enquiry(session, bench, zone=page.zone, customer_id=customer_id, spec=spec, notes=notes)
    if posted.get("what") == "order":
        take_on_order(session, build.number, bench)
    return build.number


def _whom(posted: Posted, fields: Fields, on_file: dict[int, CustomerView]) -> int | None:
    """The customer on file that was chosen, or none where a new one is to be taken down."""
    chosen = fields.whole("customer_id", "The customer", 1, 2**31 - 1)
    name = fields.text("name", "The name", 120)
    fields.text("email", "The e-mail address", 254)
    fields.text("phone", "The telephone number", 40)
    if chosen is not None:
        if chosen not in on_file:
            fields.errors["customer_id"] = "That customer is not on file any more; please choose another."
        elif typed := next((field for field in ("name", "email", "phone") if posted.get(field)), ""):
            fields.errors[typed] = (
                "Choose a customer or take a new one down, not both: empty one of the two. What is new of "
                "a customer on file is changed on their own page."
            )
        return chosen
    if not name and "customer_id" not in fields.errors:
        fields.errors["name"] = "Choose the customer above, or say the name of a new one."
    is_known = name.casefold() in {item.name.casefold() for item in on_file.values()}
    if is_known and not posted.get("same_name"):
        fields.errors["same_name"] = SAME_NAME
    return None


def _new_customer(session: Session, bench: Bench, fields: Fields, name: str, email: str, phone: str) -> int:
    """The id of the new customer; 0, with the faults noted, where the facts cannot be."""
    if fields.errors.keys() & {"name", "same_name", "email", "phone", "customer_id"}:
        return 0
    try:
        return add_customer(session, now=bench.now, name=name, email=email, phone=phone).id
    except BadInput as bad:
        fields.errors.update(bad.errors)
        return 0


def _gather(session: Session, spec: Spec, fields: Fields) -> None:
    """Note the faults of the spec; what could not be read has its sentence already."""
    try:
        check_spec(session, spec)
    except BadInput as bad:
        fields.errors.update({name: said for name, said in bad.errors.items() if name not in fields.errors})


def _lists(session: Session, rows: list[SpecRow]) -> dict[str, Any]:
    return {
        "customers": [("", "a new customer, below"), *customers_to_choose(session)],
        **form_lists(blank_names(session), rows),
        "kinds": [("", "choose a kind"), *form_lists({}, [])["kinds"]],
    }


def _as_typed(page: Frame, session: Session, posted: Posted) -> dict[str, Any]:
    page.here = "desk"
    # A customer that was taken down before the refusal is dropped again.
    session.rollback()
    return _lists(session, typed_rows(posted))
