"""The spec of a build: what is asked for, until when it may change, and every revision of it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.specs import latest_spec
from shop.rules.refusals import Overtaken
from shop.rules.spec import ASKED_BY
from shop.services.bench import Bench
from shop.services.specs import MOST_REASON, revise_spec
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.running import ReadingRoute
from shop.web.spec_form import typed_rows, values_of
from shop.web.spec_page import clashing, first_values, read_spec, spec_context
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/spec.html"
MOST_REVISIONS = 10_000


@router.get("/builds/{number}/spec")
def show_spec(actor: Looking, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """What is asked for, with the form of a further revision for whoever may write one."""
    build = build_view(session, number)
    context = spec_context(page, session, bench, build)
    latest = context["latest"]
    said = first_values(build) if latest is None else values_of(latest.value)
    values = {**said, "revision": latest.revision if latest else 0, "asked_by": ASKED_BY[0]}
    return page.show(TEMPLATE, here="desk", form=FormView(values), **context)


@router.post("/builds/{number}/spec")
def write_spec(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Keep the spec as a further revision; or show it again with more rows."""
    with _showing_clash(page, session, bench, number, posted):
        if posted.get("what") == "more":
            context = _as_typed(page, session, bench, number, posted)
            return page.show(TEMPLATE, form=FormView(posted), **context)
        kept = _keep(session, bench.bench(session, actor), number, posted)
    return page.go(f"/builds/{number}/spec", f"The spec is kept as revision {kept}.")


def _keep(session: Session, bench: Bench, number: str, posted: Posted) -> int:
    fields = Fields(posted)
    reason = fields.text("reason", "The reason", MOST_REASON)
    asked_by = fields.choice("asked_by", "Whose wish it is", ASKED_BY)
    revision = fields.whole("revision", "The revision", 0, MOST_REVISIONS)
    spec = read_spec(posted, fields)
    return revise_spec(session, number, bench, spec, revision=revision or 0, reason=reason, asked_by=asked_by)


@contextmanager
def _showing_clash(
    page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted
) -> Iterator[None]:
    """As `showing_again`; where somebody was first, what was typed stands beside what is on file by now.

    The form then carries the newest revision, so that keeping it again is a choice made with open eyes.
    """
    with showing_again(page, TEMPLATE, posted, lambda: _as_typed(page, session, bench, number, posted)):
        try:
            yield
        except Overtaken as late:
            context = _as_typed(page, session, bench, number, posted)
            latest = latest_spec(session, context["build"].id)
            present = f"{0 if latest is None else latest.revision}"
            newest = posted.with_rows("revision", {"revision": [present]})
            context["clash"] = clashing(session, latest, posted)
            form = FormView(newest, {"": late.sentence})
            raise ShowAgain(page.show(TEMPLATE, status=409, form=form, **context)) from late


def _as_typed(page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted) -> dict[str, Any]:
    """The page over what is on record, with the rows as they were typed."""
    page.here = "desk"
    # What was written before a refusal is dropped; the page must not show it as kept.
    session.rollback()
    return spec_context(page, session, bench, build_view(session, number), typed_rows(posted))
