"""The make-up of a build: what goes on it and where, from the butt, with every figure that follows."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.make_ups import MakeUpView, bare_blank, latest_make_up, make_up_at
from shop.rules.make_up import Ways
from shop.rules.people import Right
from shop.rules.refusals import NotOnFile
from shop.services.bench import Bench
from shop.services.make_ups import save_make_up
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Asked, Form, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.make_up_form import (
    first_rows,
    guide_rows,
    part_rows,
    said_of,
    typed_guides,
    typed_parts,
    way_values,
)
from shop.web.make_up_page import MakeUpRows, make_up_context
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.trains import filled_train

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/make_up.html"
MOST_REVISIONS = 10_000


@router.get("/builds/{number}/make-up")
def show_make_up(
    actor: Looking, page: Page, session: Reading, bench: TheBench, number: str, revision: Asked = 0
) -> Response:
    """The latest make-up of a build, or an earlier revision to look at."""
    build = build_view(session, number)
    latest = latest_make_up(session, build.id)
    # A number past all that a database could hold is no revision either.
    asked = min(max(revision, -1), MOST_REVISIONS)
    shown = make_up_at(session, build.id, asked) if asked else latest
    if asked and shown is None:
        raise NotOnFile(f"There is no revision {revision} of the make-up of {number}.")
    may_change = actor.may(Right.DESK) and shown == latest
    rows = MakeUpRows(first_rows(build.rod_kind), [], may_change)
    if shown is not None:
        rows = MakeUpRows(part_rows(shown.value), guide_rows(shown.value), may_change)
    context = make_up_context(page, session, bench, build, shown, rows)
    return page.show(TEMPLATE, here="in-hand", form=FormView(_values(shown)), **context)


@router.post("/builds/{number}/make-up")
def keep_make_up(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Keep the make-up as a further revision; or show it again with more rows, or with a train of guides."""
    with showing_again(page, TEMPLATE, posted, lambda: _as_typed(page, session, bench, number, posted)):
        if posted.get("what") == "fill":
            posted = filled_train(bare_blank(session, build_view(session, number).blank_id), posted)
        if posted.get("what") in ("fill", "more"):
            context = _as_typed(page, session, bench, number, posted)
            return page.show(TEMPLATE, form=FormView(posted), **context)
        kept = _keep(session, bench.bench(session, actor), number, posted)
    return page.go(f"/builds/{number}/make-up", f"Revision {kept} of the make-up is kept.")


def _keep(session: Session, bench: Bench, number: str, posted: Posted) -> int:
    fields = Fields(posted)
    reason = fields.text("reason", "The reason", 500)
    revision = fields.whole("revision", "The revision", 0, MOST_REVISIONS)
    said = said_of(posted, fields)
    return save_make_up(session, number, bench, said, revision=revision or 0, reason=reason)


def _as_typed(page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted) -> dict[str, Any]:
    """The page over what is on record, with the rows as they were typed."""
    page.here = "in-hand"
    # What was written before a refusal is dropped; the page must not show it as kept.
    session.rollback()
    build = build_view(session, number)
    rows = MakeUpRows(typed_parts(posted), typed_guides(posted), True)
    return make_up_context(page, session, bench, build, latest_make_up(session, build.id), rows)


def _values(shown: MakeUpView | None) -> dict[str, Any]:
    if shown is None:
        return {"revision": 0, **way_values(Ways())}
    value = shown.value
    return {
        "revision": shown.revision,
        "bond_id": "" if value.bond is None else value.bond.adhesive_id,
        "finish_id": "" if value.finish is None else value.finish.adhesive_id,
        **way_values(value.ways),
    }
