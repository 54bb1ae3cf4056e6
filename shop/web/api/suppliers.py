"""The API of suppliers."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.suppliers import supplier_view, suppliers_after
from shop.rules.stock import MOST_LEAD_DAYS
from shop.rules.suppliers import MOST_EMAIL, MOST_NAME, MOST_NOTES, MOST_PHONE
from shop.services.suppliers import add_supplier, change_supplier
from shop.web.api.base import After, Body, Limit, Once, OnlyNumber, Page, api_router, changes_of, page_of
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("suppliers")

LEAD = "Days that an order usually takes; null where nobody said."
Name = Annotated[str, Field(max_length=MOST_NAME, examples=["Tern Hollow Supply"])]
Email = Annotated[str, Field(max_length=MOST_EMAIL)]
Phone = Annotated[str, Field(max_length=MOST_PHONE)]
Notes = Annotated[str, Field(max_length=MOST_NOTES)]
LeadDays = Annotated[int, Field(ge=0, le=MOST_LEAD_DAYS, examples=[14]), OnlyNumber]


class SupplierIn(Body):
    """A new supplier."""

    name: Name
    email: Email = ""
    phone: Phone = ""
    lead_days: LeadDays | None = Field(default=None, description=LEAD)
    notes: Notes = ""


class SupplierChanges(Body):
    """What changes of a supplier; whatever is left out stays."""

    name: Name | None = None
    email: Email | None = None
    phone: Phone | None = None
    lead_days: LeadDays | None = Field(default=None, description=LEAD)
    notes: Notes | None = None


class SupplierOut(BaseModel):
    """A supplier on file."""

    id: int
    name: str
    email: str
    phone: str
    lead_days: int | None = Field(description=LEAD)
    notes: str


@router.get("/suppliers", response_model=Page[SupplierOut])
def list_suppliers(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Suppliers by id."""
    return page_of(suppliers_after(session, after, limit + 1), limit, lambda item: item.id)


@router.post("/suppliers", status_code=201, response_model=SupplierOut)
def post_supplier(actor: KeyForDesk, session: Writing, _once: Once, now: Now, body: SupplierIn) -> Any:
    """Put a supplier on file."""
    return add_supplier(session, now=now, **body.model_dump())


@router.get("/suppliers/{supplier_id}", response_model=SupplierOut)
def get_supplier(actor: KeyForLooking, session: Reading, supplier_id: int) -> Any:
    """One supplier."""
    return supplier_view(session, supplier_id)


@router.patch("/suppliers/{supplier_id}", response_model=SupplierOut)
def patch_supplier(
    actor: KeyForDesk, session: Writing, _once: Once, supplier_id: int, body: SupplierChanges
) -> Any:
    """Change some of what is said of a supplier; a null takes the lead time away."""
    return change_supplier(session, supplier_id, **changes_of(body, "lead_days"))
