"""The Desk: open builds by their promise, finished ones, and the customers."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.builds import BuildView, finished_builds, open_builds
from shop.queries.customers import customers_by_name
from shop.queries.deliveries import waiting_deliveries
from shop.queries.promises import moved_promises
from shop.queries.purchases import purchases
from shop.rules.people import Actor, Right
from shop.web.benches import TheBench
from shop.web.delivery_page import due_notes
from shop.web.deps import Asked, Reading
from shop.web.doors import Looking
from shop.web.rods import promised_words
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import day, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/desk.html"
# A page of them is shown in a blink; fifty thousand would hold up everybody for seconds.
MOST_CUSTOMERS = 1000
MOST = 50
NEWEST = 2**31 - 1


def _name(build: BuildView) -> dict[str, str]:
    return {"text": f"{build.number} {build.title}", "href": f"/builds/{build.number}"}


def _promise(build: BuildView, first: date | None, today: date) -> str:
    """The promised day, with the first one beside it where that was another."""
    moved = "" if first is None else f" · first promised {day(first, today)}"
    return (promised_words(build, today) or "no day promised") + moved


def _rights(actor: Actor) -> dict[str, bool]:
    return {"may_desk": actor.may(Right.DESK)}


@router.get("/desk")
def show_open_builds(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """Open builds, the soonest promise first."""
    today = bench.now.astimezone(page.zone).date()
    first = {moved.number: moved.first for moved in moved_promises(session)}
    rows: list[list[Any]] = [
        [
            _name(build), build.customer, build.rod_kind, build.stage or "not begun",
            _promise(build, first.get(build.number), today),
        ]
        for build in open_builds(session)
    ]  # fmt: skip
    head = ["Build", "Customer", "Kind", "Stage", "Promise"]
    due = due_notes(waiting_deliveries(session, today), purchases(session, today), today)
    return page.show(
        TEMPLATE, here="desk", tab="open", head=head, rows=rows, older=None, due=due, **_rights(actor)
    )


@router.get("/desk/finished")
def show_finished_builds(
    actor: Looking, page: Page, session: Reading, bench: TheBench, before: Asked = NEWEST
) -> Response:
    """Finished builds, newest first."""
    found = finished_builds(session, before, MOST + 1)
    rows: list[list[Any]] = [
        [
            _name(build), build.customer, build.rod_kind, build.closed_as or build.stage or "",
            when(build.closed_at, bench.now, page.zone) if build.closed_at else "",
        ]
        for build in found[:MOST]
    ]  # fmt: skip
    older = found[MOST - 1].id if len(found) > MOST else None
    head = ["Build", "Customer", "Kind", "Stage", "Finished"]
    return page.show(
        TEMPLATE, here="desk", tab="finished", head=head, rows=rows, older=older, due=(), **_rights(actor)
    )


@router.get("/desk/customers")
def show_customers(actor: Looking, page: Page, session: Reading) -> Response:
    """The customers, by name; who may not open a customer's page sees names alone.

    Of very many, as after an import, the first: the others are found by the search.
    """
    may_open = actor.may(Right.DESK)
    found = customers_by_name(session, MOST_CUSTOMERS + 1)
    rows: list[list[Any]] = [
        [
            {"text": item.name, "href": f"/desk/customers/{item.id}"} if may_open else item.name,
            *((item.email or "–", item.phone or "–") if may_open else ("–", "–")),
        ]
        for item in found[:MOST_CUSTOMERS]
    ]
    head = ["Customer", "E-mail", "Telephone"]
    return page.show(
        TEMPLATE, here="desk", tab="customers", head=head, rows=rows, older=None, due=(),
        more=len(found) > MOST_CUSTOMERS, **_rights(actor),
    )  # fmt: skip
