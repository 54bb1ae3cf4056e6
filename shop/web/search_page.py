"""What was found, as a page and the API show it: grouped, each with its link, words marked."""

from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.queries.search import Hit
from shop.rules.search import Asked, FoundKind, Piece, excerpt, marked
from shop.web.wording import when

NAMES = {
    FoundKind.BUILD: "Builds",
    FoundKind.CUSTOMER: "Customers",
    FoundKind.COMPONENT: "Components",
    FoundKind.BLANK: "Blanks",
    FoundKind.NOTE: "Notes on the record",
    FoundKind.MESSAGE: "Messages",
}


class FoundRow(NamedTuple):
    """One hit: its title and other words in pieces, what stands beside it, and where it leads."""

    title: list[Piece]
    beside: str
    words: list[Piece]
    href: str


class FoundGroup(NamedTuple):
    """The hits of one kind; `more` where not all of them are shown."""

    name: str
    rows: list[FoundRow]
    more: bool


def address_of(hit: Hit, may_desk: bool) -> str:
    """Where a hit leads; nowhere for who may not open a customer's page."""
    match hit.kind:
        case FoundKind.CUSTOMER:
            return f"/desk/customers/{hit.record_id}" if may_desk else ""
        case FoundKind.COMPONENT:
            return f"/shelf/components/{hit.record_id}"
        case FoundKind.BLANK:
            return f"/shelf/blanks/{hit.record_id}"
        case FoundKind.NOTE:
            return f"/events/{hit.record_id}"
    return f"/builds/{hit.build}"


def words_of(hit: Hit) -> str:
    """The words beside the title in which something was found."""
    return " ".join(part for part in (hit.body.strip(), hit.private.strip()) if part)


def groups_of(
    found: Mapping[FoundKind, list[Hit]],
    asked: Asked,
    most: int,
    may_desk: bool,
    now: datetime,
    zone: ZoneInfo,
) -> list[FoundGroup]:
    """The groups that have anything in them, in the order of their kinds."""
    groups = []
    for kind, hits in found.items():
        rows = []
        for hit in hits[:most]:
            title = hit.title or hit.build
            beside = [hit.customer] if hit.customer else []
            if hit.at is not None:
                beside.append(when(hit.at, now, zone))
            words = marked(excerpt(words_of(hit), asked), asked)
            rows.append(FoundRow(marked(title, asked), ", ".join(beside), words, address_of(hit, may_desk)))
        if rows:
            groups.append(FoundGroup(NAMES[kind], rows, len(hits) > most))
    return groups
