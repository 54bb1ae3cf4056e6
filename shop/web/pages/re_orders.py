"""A rod as it was built, beside the one it was to be like; and the same again, as an enquiry."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.quantities import format_quantity
from shop.db.sessions import Session
from shop.queries.builds import BuildView, build_view, build_view_by_id
from shop.queries.customers import customers_to_choose
from shop.queries.re_orders import AsBuilt, as_built, changes_between, just_ordered_again
from shop.rules.measuring import meant_words
from shop.services.bench import Bench
from shop.services.re_orders import order_same_again
from shop.web.benches import TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import SAME_PRESS, Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/as_built.html"


@router.get("/builds/{number}/as-built")
def show_as_built(actor: AtDesk, page: Page, session: Reading, number: str) -> Response:
    """What was measured on a rod, what the one it is like had, and what has changed since."""
    context = _context(session, number)
    form = FormView({"customer_id": context["build"].customer_id})
    return page.show(TEMPLATE, here="desk", form=form, **context)


@router.post("/builds/{number}/same-again")
def order_again(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Take down an enquiry for the same rod again, for its customer or the one that was chosen."""
    page.here = "desk"
    with showing_again(page, TEMPLATE, posted, lambda: _over(session, number)):
        made, notice = _order(page, session, bench.bench(session, actor), number, posted)
    return page.go(f"/builds/{made}/as-built", notice)


def _order(page: Frame, session: Session, bench: Bench, number: str, posted: Posted) -> tuple[str, str]:
    """The number of the enquiry and what is said of it; a second press takes nothing further down."""
    fields = Fields(posted)
    customer_id = fields.whole("customer_id", "The customer", 1, 2**31 - 1)
    fields.done()
    since = bench.now - SAME_PRESS
    if pressed := just_ordered_again(session, build_view(session, number), customer_id, since):
        said = f"Enquiry {pressed} was taken down just now, like {number}; for a further one wait a minute."
        return pressed, said
    made = order_same_again(session, number, bench, zone=page.zone, customer_id=customer_id)
    said = f"Enquiry {made.build.number} is taken down, like {number}. {made.left_out}".strip()
    return made.build.number, said


def _over(session: Session, number: str) -> dict[str, Any]:
    # What was written before a refusal is dropped.
    session.rollback()
    return _context(session, number)


def _context(session: Session, number: str) -> dict[str, Any]:
    build = build_view(session, number)
    first = None if build.copied_from_id is None else build_view_by_id(session, build.copied_from_id)
    people: list[tuple[int | str, str]] = [*customers_to_choose(session)]
    if build.customer_id not in dict(people):
        # Else the first of the list would be chosen without anybody having chosen.
        people.insert(0, ("", "choose a customer"))
    return {
        "build": build,
        "first": first,
        "rows": _figures(session, build, first),
        "changes": [] if first is None else changes_between(session, first.id, build.id),
        "customers": people,
        "may_again": build.rod_kind != "repair" and not build.is_enquiry,
    }


def _figures(session: Session, build: BuildView, first: BuildView | None) -> list[list[str]]:
    """Each figure by its name: as meant and measured on this rod, and as measured on the one before."""
    own = as_built(session, build)
    before = AsBuilt({}, {}) if first is None else as_built(session, first)
    names = [*dict.fromkeys((*own.meant, *own.measured, *before.measured))]
    return [
        [
            name,
            meant_words(own.meant[name]) if name in own.meant else "–",
            format_quantity(own.measured[name]) if name in own.measured else "–",
            format_quantity(before.measured[name]) if name in before.measured else "–",
        ]
        for name in names
    ]  # fmt: skip
