"""The API of customers."""

from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.customers import CustomerView, customer_view, customers_after
from shop.services.customers import add_customer, change_customer
from shop.web.api.base import After, Body, Limit, Once, Page, Truth, api_router, page_of
from shop.web.api.times import DayIn, InstantOut
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("customers")

Name = Annotated[str, Field(max_length=120, examples=["Ada Thorn"])]
Email = Annotated[str, Field(max_length=254)]
Phone = Annotated[str, Field(max_length=40)]
Notes = Annotated[str, Field(max_length=4000)]


class CustomerIn(Body):
    """A new customer."""

    name: Name
    email: Email = ""
    phone: Phone = ""
    notes: Notes = ""
    wants_mail: Truth = True
    photo_consent_on: DayIn | None = None


class CustomerChanges(Body):
    """What changes of a customer; whatever is left out stays. A null `photo_consent_on` takes a yes back."""

    name: Name | None = None
    email: Email | None = None
    phone: Phone | None = None
    notes: Notes | None = None
    wants_mail: Truth | None = None
    photo_consent_on: DayIn | None = None


class CustomerOut(BaseModel):
    """A customer on file.

    `photo_consent_on` is the day of the yes to showing photos of the rods to others; `erased_at` is set where
    the person was erased and only the rods are left.
    """

    id: int
    name: str
    email: str
    phone: str
    notes: str
    wants_mail: bool
    photo_consent_on: date | None
    erased_at: InstantOut | None


@router.get("/customers", response_model=Page[CustomerOut])
def list_customers(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Customers by id; `next` is the `after` of the next page."""
    return page_of(customers_after(session, after, limit + 1), limit, lambda item: item.id)


@router.post("/customers", status_code=201, response_model=CustomerOut)
def post_customer(actor: KeyForDesk, session: Writing, _once: Once, now: Now, body: CustomerIn) -> Any:
    """Take down a new customer."""
    return add_customer(session, now=now, **body.model_dump())


@router.get("/customers/{customer_id}", response_model=CustomerOut)
def get_customer(actor: KeyForLooking, session: Reading, customer_id: int) -> CustomerView:
    """One customer."""
    return customer_view(session, customer_id)


@router.patch("/customers/{customer_id}", response_model=CustomerOut)
def patch_customer(
    actor: KeyForDesk, session: Writing, _once: Once, customer_id: int, body: CustomerChanges
) -> Any:
    """Change some of a customer's facts."""
    given = body.model_dump(exclude_none=True)
    if "photo_consent_on" in body.model_fields_set:
        given["photo_consent_on"] = body.photo_consent_on
    return change_customer(session, customer_id, **given)
