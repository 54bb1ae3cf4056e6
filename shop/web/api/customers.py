"""The API of customers."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.customers import CustomerView, customer_view, customers_after
from shop.services.customers import add_customer, change_customer
from shop.web.api.base import After, Body, Limit, Once, Page, Truth, api_router, page_of
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


class CustomerChanges(Body):
    """What changes of a customer; whatever is left out stays."""

    name: Name | None = None
    email: Email | None = None
    phone: Phone | None = None
    notes: Notes | None = None
    wants_mail: Truth | None = None


class CustomerOut(BaseModel):
    """A customer on file."""

    id: int
    name: str
    email: str
    phone: str
    notes: str
    wants_mail: bool


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
    return change_customer(session, customer_id, **body.model_dump(exclude_none=True))
