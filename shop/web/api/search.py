"""The API of search: everything on file with words that begin like those asked for."""

from typing import Annotated, Any, Literal

from fastapi import Query
from pydantic import BaseModel, Field

from shop.queries.search import search
from shop.rules.people import Right
from shop.rules.search import MOST_ASKED, excerpt, read_asked
from shop.web.api.base import api_router
from shop.web.api.times import InstantOut
from shop.web.deps import Reading
from shop.web.doors import KeyForLooking
from shop.web.search_page import address_of, words_of

router = api_router("search")
MOST_EACH = 20
Kind = Literal["build", "customer", "component", "blank", "note", "message"]


class FoundOut(BaseModel):
    """One thing found. `path` is its page, null where the key may not see that.

    `title` is empty for notes and messages; `words` is a stretch of its other words around the first hit.
    Customers' addresses and notes, and messages, are searched and shown for keys of the scope desk alone.
    """

    kind: Kind
    id: int
    title: str
    words: str
    build: Annotated[str | None, Field(description="The number of the build it belongs to.")]
    at: InstantOut | None
    path: str | None


class FoundsOut(BaseModel):
    """The best hits of each kind, kind by kind; all in one page."""

    items: list[FoundOut]
    next: str | None = None


@router.get("/search", response_model=FoundsOut)
def get_search(
    actor: KeyForLooking,
    session: Reading,
    q: Annotated[
        str, Query(max_length=MOST_ASKED, description="Beginnings of words, or a build's number.")
    ] = "",
) -> Any:
    """Everything on file with words that begin like all of those asked for, at most 20 of each kind."""
    asked, may_desk = read_asked(q), actor.may(Right.DESK)
    found = search(session, asked, MOST_EACH, private=may_desk)
    items = [
        {
            "kind": str(hit.kind), "id": hit.record_id, "title": hit.title,
            "words": excerpt(words_of(hit), asked), "build": hit.build or None, "at": hit.at,
            "path": address_of(hit, may_desk) or None,
        }
        for hits in found.values()
        for hit in hits
    ]  # fmt: skip
    return {"items": items, "next": None}
