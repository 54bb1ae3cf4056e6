"""The API of privacy: what is kept about a customer, and erasing it for good."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.queries.customers import CustomerView, customer_view
from shop.queries.privacy import everything_about
from shop.rules.privacy import KINDS
from shop.services.privacy import ErasingSaid, erase_customer
from shop.web.api.base import Body, Once, Truth, api_router
from shop.web.api.customers import CustomerOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForWays
from shop.web.photo_uploads import GonePhotos

router = api_router("customers")


class ErasingIn(Body):
    """The name as it stands on file, typed again; a reason is needed while something is open or owed."""

    confirm: Annotated[str, Field(max_length=200, examples=["Ada Thorn"])]
    reason: Literal[
        "", "the customer asked for it", "the law asks for it", "taken down by mistake", "another reason"
    ] = ""
    photos: Annotated[Truth, Field(description="Take the photos of the rods away too.")] = False
    inscriptions: Annotated[Truth, Field(description="Erase inscriptions from the specs too.")] = False


class KindKept(BaseModel):
    """A kind of record, why it is kept and what erasing does to it, with the records themselves."""

    name: str
    why: str
    erasing: str
    records: list[dict[str, Any]]


class KeptOut(BaseModel):
    """Everything that is kept about a customer, by kinds of record."""

    customer_id: int
    items: list[KindKept]


@router.get("/customers/{customer_id}/privacy", response_model=KeptOut)
def get_privacy(actor: KeyForWays, session: Reading, customer_id: int) -> Any:
    """Everything that is kept about a customer, with the reasons."""
    customer_view(session, customer_id)
    found = everything_about(session, customer_id)
    items = [
        {"name": kind.name, "why": kind.why, "erasing": kind.erasing, "records": found[kind.name]}
        for kind in KINDS
    ]
    quotes = next(item for item in items if item["name"] == "quotes")
    answers = {**quotes, "name": "quote_answers", "records": found["quote_answers"]}
    return {"customer_id": customer_id, "items": [*items, answers]}


@router.post("/customers/{customer_id}/erase", response_model=CustomerOut)
def post_erasing(
    actor: KeyForWays, gone: GonePhotos, session: Writing, _once: Once, bench: TheBench, customer_id: int,
    body: ErasingIn,
) -> CustomerView:  # fmt: skip
    """Erase a customer for good; the rods stay with their record."""
    said = ErasingSaid(**body.model_dump())
    gone.extend(erase_customer(session, customer_id, bench.bench(session, actor), said))
    return customer_view(session, customer_id)
