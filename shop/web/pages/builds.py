"""The desk's pages of builds: taking one on and changing its plan. The rod itself is on `rod`."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.blanks import blank_view, blanks_by_model
from shop.queries.builds import BuildView, build_view
from shop.queries.customers import customer_view, customers_to_choose
from shop.queries.sequences import present_sequences, sequence_view
from shop.queries.specs import revisions_of_build
from shop.rules.promises import MOST_REASON
from shop.rules.refusals import BadInput, NotOnFile
from shop.services.bench import Signer
from shop.services.builds import OF_THE_SPEC, change_build, take_on_build
from shop.services.plans import print_of_plan
from shop.services.status_links import end_link, give_link
from shop.web.deps import Asked, Form, Now, Posted, Reading, TheHub, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
NEW = "pages/build_new.html"
EDIT = "pages/build_edit.html"


def _lists(session: Session, customer_id: int | None = None) -> dict[str, Any]:
    """What the form's lists offer; the customer that a build has stays among them."""
    return {
        "customers": customers_to_choose(session, customer_id),
        "sequences": [
            (item.id, f"{item.name} (version {item.version})") for item in present_sequences(session)
        ],
        "blanks": [("", "none yet")]
        + [(item.id, f"{item.maker} {item.model}".strip()) for item in blanks_by_model(session)],
    }


@router.get("/desk/builds/new")
def new_build(actor: AtDesk, page: Page, session: Reading, customer: Asked = 0) -> Response:
    """An empty form for a new build, for a customer who was just taken down if one was."""
    values: dict[str, Any] = {"thread_colour": "#7a1f2b"}
    if customer:
        values["customer_id"] = customer
    return page.show(NEW, here="desk", form=FormView(values), **_lists(session))


@router.post("/desk/builds/new")
def take_on(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Take a build on."""
    page.here = "desk"
    with showing_again(page, NEW, posted, lambda: _lists(session)):
        fields = Fields(posted)
        sequence_id = fields.chosen("sequence_id", "The sequence")
        plan = _plan(session, posted, fields)
        with _beside("sequence_id"):
            rod_kind = sequence_view(session, sequence_id).rod_kind
        build = take_on_build(
            session, now=now, zone=page.zone, sequence_id=sequence_id, rod_kind=rod_kind, actor=actor, **plan
        )
    notice = f"Build {build.number} is taken on.{_past_promise(build.promised_on, now, page)}"
    return page.go(f"/builds/{build.number}", notice)


def _of_plan(session: Session, build: BuildView) -> dict[str, Any]:
    """What the form of a plan needs; with a spec written down, title, blank and colour are changed there."""
    lists = _lists(session, build.customer_id)
    return {
        "seen_plan": print_of_plan(build), "on_file": _plan_lines(build, dict(lists["blanks"])),
        "build": build, "has_spec": revisions_of_build(session, build.id).spec > 0, **lists,
    }  # fmt: skip


@router.get("/builds/{number}/edit")
def edit_build(actor: AtDesk, page: Page, session: Reading, number: str) -> Response:
    """The plan of a build, to change."""
    build = build_view(session, number)
    days = {"promised_on": _iso(build.promised_on), "change_by": _iso(build.change_by)}
    values = {**build._asdict(), **days, "blank_id": build.blank_id or ""}
    return page.show(EDIT, here="desk", form=FormView(values), **_of_plan(session, build))


def _plan_lines(build: BuildView, blanks: dict[Any, str]) -> list[tuple[str, str]]:
    """The plan on file, for whoever was overtaken while changing it."""
    return [
        ("Customer", build.customer), ("What it is", build.title), ("Blank", blanks[build.blank_id or ""]),
        ("Promised for", _iso(build.promised_on) or "no day"),
        ("Last day for changes", _iso(build.change_by) or "none"), ("Thread", build.thread_colour),
        ("Notes", build.notes or "none"),
    ]  # fmt: skip


def _iso(day: date | None) -> str:
    return "" if day is None else day.isoformat()


@router.post("/builds/{number}/edit")
def save_build(actor: AtDesk, page: Page, session: Writing, now: Now, number: str, posted: Form) -> Response:
    """Change the plan of a build."""
    page.here = "desk"
    build = build_view(session, number)
    with showing_again(page, EDIT, posted, lambda: _of_plan(session, build)):
        fields = Fields(posted)
        reason = fields.text("promise_reason", "The reason", MOST_REASON)
        change_by = fields.day("change_by", "The last day for changes")
        # A form of ours says which plan it was made on.
        seen = posted.get("seen")
        plan = _plan(session, posted, fields)
        if revisions_of_build(session, build.id).spec:
            plan = {name: said for name, said in plan.items() if name not in OF_THE_SPEC}
        signer = Signer(now, actor)
        change_build(session, number, signer, promise_reason=reason, change_by=change_by, seen=seen, **plan)
    beside = _past_promise(plan["promised_on"], now, page) + _ended_link(plan["customer_id"], build)
    return page.go(f"/builds/{number}", f"The plan is saved.{beside}")


def _plan(session: Session, posted: Posted, fields: Fields) -> dict[str, Any]:
    """The plan as typed. Raises `BadInput` with every fault of the form, those noted before included."""
    plan: dict[str, Any] = {
        "customer_id": fields.chosen("customer_id", "The customer"),
        "title": fields.text("title", "The title", 120, required=True),
        "blank_id": fields.whole("blank_id", "The blank", 1, 2**31 - 1),
        "promised_on": fields.day("promised_on", "The promised day"),
        "thread_colour": fields.text("thread_colour", "The thread's colour", 7).lower() or "#7a1f2b",
        "notes": fields.text("notes", "The notes", 4000),
    }
    fields.done()
    with _beside("customer_id"):
        customer_view(session, plan["customer_id"])
    if plan["blank_id"] is not None:
        with _beside("blank_id"):
            blank_view(session, plan["blank_id"])
    return plan


@contextmanager
def _beside(field: str) -> Iterator[None]:
    """Say beside its field that what was chosen is not on file, so that the rest of the form is kept."""
    try:
        yield
    except NotOnFile as gone:
        raise BadInput({field: f"{gone.sentence} Please choose another."}) from gone


def _past_promise(promised_on: date | None, now: datetime, page: Frame) -> str:
    """A further sentence where the promised day is over; such a promise is taken, but not in silence."""
    if promised_on is None or promised_on >= now.astimezone(page.zone).date():
        return ""
    return " The promised day is over already."


def _ended_link(customer_id: int, before: BuildView) -> str:
    """A further sentence where the rod is another customer's now."""
    if customer_id == before.customer_id:
        return ""
    return " It is another customer's now, so a status link that was given before is ended."


@router.post("/builds/{number}/status-link")
def give_status_link(
    actor: AtDesk, page: Page, session: Writing, now: Now, hub: TheHub, number: str
) -> Response:
    """Give the customer a private address, which ends the one before."""
    give_link(session, hub.secret, build_view(session, number).id, now=now)
    return page.go(f"/builds/{number}", "The link is ready to be sent to the customer.")


@router.post("/builds/{number}/status-link/end")
def end_status_link(actor: AtDesk, page: Page, session: Writing, now: Now, number: str) -> Response:
    """End the customer's private address."""
    end_link(session, build_view(session, number).id, now=now)
    return page.go(f"/builds/{number}", "The link is ended; whoever opens it sees nothing.")
