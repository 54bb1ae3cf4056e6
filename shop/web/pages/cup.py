"""The Cup: choosing a product, its lots and the places to serve; the amounts; starting it."""

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.cup import cup_answer
from shop.rules.people import Actor
from shop.rules.refusals import BadInput, Held, NotOnFile
from shop.rules.sequences import HoldKind
from shop.services.events import Release
from shop.services.servings import cup_just_started, start_cup
from shop.web.benches import BenchSide, TheBench
from shop.web.cup_page import cup_context, cup_side, is_worked_out, wish_of, worked_out
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtBench
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/cup.html"


@router.get("/cup")
def show_cup(actor: AtBench, page: Page, session: Reading, bench: TheBench, request: Request) -> Response:
    """The form with what was chosen so far, what it comes to, and the mixes of the last day."""
    asked = Posted([(name, value.strip()) for name, value in request.query_params.multi_items()])
    return page.show(TEMPLATE, here="cup", **_shown(page, session, bench, asked))


def _shown(page: Frame, session: Session, bench: BenchSide, asked: Posted) -> dict[str, Any]:
    """The page of a form; a fault of what was asked for stands beside its field."""
    context = cup_context(page, session, bench, asked) | {"form": FormView(asked)}
    if not is_worked_out(asked):
        return context
    try:
        return context | worked_out(page, session, bench, wish_of(asked))
    except NotOnFile as missing:
        return context | {"form": FormView(asked, {"": missing.sentence})}
    except BadInput as bad:
        return context | {"form": FormView(asked, bad.errors)}


@router.post("/cup")
def mix_cup(actor: AtBench, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Write down a cup: one mixed just now, after asking what speaks against it, or one mixed earlier."""
    page.here = "cup"
    try:
        with showing_again(page, TEMPLATE, posted, lambda: _again(page, session, bench, posted)):
            mix_id = _written_down(page, session, bench, actor, posted)
    except Held as held:
        context = _shown(page, session, bench, posted) | {"form": FormView(posted, {"": held.sentence})}
        raise ShowAgain(page.show(TEMPLATE, status=409, **context)) from held
    on = "closing" if posted.all("serve") else ""
    return page.go(f"/mixes/{mix_id}/{on}".rstrip("/"), "The cup is written down; its pot life runs.")


def _again(page: Frame, session: Session, bench: BenchSide, posted: Posted) -> dict[str, Any]:
    """The page of a cup that could not be written down, without its form."""
    context = _shown(page, session, bench, posted.with_rows("work", {"work": ["1"]}))
    del context["form"]
    return context


def _written_down(page: Frame, session: Session, bench: BenchSide, actor: Actor, posted: Posted) -> int:
    wish, releases = wish_of(posted), _releases(posted)
    fields = Fields(posted)
    mixed_at = fields.instant("mixed_at", "The time it was mixed", page.zone)
    fields.done()
    at_bench = bench.bench(session, actor)
    same = cup_just_started(session, at_bench, wish, mixed_at=mixed_at)
    if same is not None and same.root_id is not None:
        return same.root_id
    answer = cup_answer(session, cup_side(page, session, bench), wish)
    return start_cup(session, at_bench, answer, releases=releases, mixed_at=mixed_at).id


def _releases(posted: Posted) -> tuple[Release, ...]:
    fields = Fields(posted)
    reasons = {kind: fields.text(f"release_{kind}", "The reason", 500) for kind in HoldKind}
    fields.done()
    return tuple(Release(kind, reason) for kind, reason in reasons.items() if reason)
