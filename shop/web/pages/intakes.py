"""Repairs at the desk: those in the shop, taking one in, how it came, the signature, and its receipt."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import BuildView, build_view
from shop.queries.customers import customers_to_choose
from shop.queries.intakes import RepairLine, just_taken_in, open_repairs
from shop.rules.intakes import (
    FIRST_GUIDES,
    MOST_GUIDES,
    MOST_NAME,
    MOST_WORK,
    IntakeSaid,
    blank_list,
    rest_sound,
    work_of,
)
from shop.rules.refusals import NotOnFile
from shop.services.bench import Bench
from shop.services.intakes import RepairSaid, sign_intake, take_in_repair, write_intake
from shop.services.repair_works import choose_work, works_on_offer
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Asked, Form, Posted, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import SAME_PRESS, Fields, FormView, showing_again
from shop.web.intake_form import (
    MOST_VERSION,
    intake_context,
    intake_of,
    list_rows,
    typed_conditions,
    values_for,
)
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import day, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, NEW, ONE, RECEIPT = (
    "pages/repairs.html", "pages/repair_new.html", "pages/intake.html", "pages/receipt.html",
)  # fmt: skip


@router.get("/desk/repairs")
def show_repairs(actor: AtDesk, page: Page, session: Reading, bench: TheBench) -> Response:
    """Every repair in the shop, and those that lie ready longer than the shop waits."""
    repairs = open_repairs(session)
    longest = timedelta(days=page.shop.unclaimed_days)
    unclaimed = [
        line for line in repairs if line.is_ready and line.since and bench.now - line.since > longest
    ]
    return page.show(
        LIST, here="desk", tab="repairs", rows=[_row(line, page, bench) for line in repairs],
        unclaimed=[_unclaimed_row(line, page, bench) for line in unclaimed], days=page.shop.unclaimed_days,
    )  # fmt: skip


def _name(line: RepairLine) -> dict[str, str]:
    return {"text": f"{line.number} {line.title}", "href": f"/builds/{line.number}"}


def _row(line: RepairLine, page: Frame, bench: BenchSide) -> list[Any]:
    today = bench.now.astimezone(page.zone).date()
    brought = "not written down" if line.brought_on is None else day(line.brought_on, today)
    signed = "signed" if line.signed_at else "not signed"
    state = "ready to be fetched" if line.is_ready else line.stage or "not begun"
    intake = {"text": f"{brought}, {signed}", "href": f"/builds/{line.number}/intake"}
    return [_name(line), line.customer, intake, state]


def _unclaimed_row(line: RepairLine, page: Frame, bench: BenchSide) -> list[Any]:
    assert line.since is not None
    customer = {"text": line.customer, "href": f"/desk/customers/{line.customer_id}"}
    return [
        _name(line), customer, when(line.since, bench.now, page.zone), str((bench.now - line.since).days)
    ]  # fmt: skip


@router.get("/desk/repairs/new")
def new_repair(
    actor: AtDesk, page: Page, session: Reading, bench: TheBench, customer: Asked = 0, rod: str = ""
) -> Response:
    """An empty form for a rod that is brought; for a customer or an own rod, if one is named."""
    if rod:
        customer = build_view(session, rod).customer_id
    values = {"customer_id": customer or "", "own_number": rod, "guides": FIRST_GUIDES}
    values["brought_on"] = bench.now.astimezone(page.zone).date().isoformat()
    return page.show(NEW, here="desk", form=FormView(values), **_choices(session))


@router.post("/desk/repairs/new")
def take_in(actor: AtDesk, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Take a rod in for repair."""
    page.here = "desk"
    with showing_again(page, NEW, posted, lambda: _choices(session)):
        number = _take_in(page, session, bench.bench(session, actor), _repair_of(posted))
    return page.go(f"/builds/{number}/intake", f"{number} is taken in; look it over now.")


def _take_in(page: Frame, session: Session, bench: Bench, said: RepairSaid) -> str:
    """The number of the repair; a second press takes nothing further in."""
    rod, wish, since = said.intake.rod.strip(), said.intake.wish.strip(), bench.now - SAME_PRESS
    if pressed := just_taken_in(session, said.customer_id, said.own_number, rod, wish, since):
        return pressed
    return take_in_repair(session, bench, said, zone=page.zone).number


def _repair_of(posted: Posted) -> RepairSaid:
    fields = Fields(posted)
    customer_id = fields.chosen("customer_id", "The customer")
    own = fields.text("own_number", "The number", 20)
    work = fields.text("work", "What is to be done", MOST_WORK)
    guides = fields.whole("guides", "The number of guides", 0, MOST_GUIDES)
    fields.required("guides", "The number of guides", guides)
    intake = intake_of(posted, fields)
    fields.done()
    assert intake is not None
    assert guides is not None
    conditions = blank_list(guides)
    return RepairSaid(customer_id, replace(intake, conditions=conditions), work, own)


def _choices(session: Session) -> dict[str, Any]:
    # What was written before a refusal is dropped.
    session.rollback()
    people = [("", "choose a customer"), *customers_to_choose(session)]
    return {"customers": people, "works": works_on_offer(session)}


@router.get("/builds/{number}/intake")
def show_intake(actor: AtDesk, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """How a repair came in, to be written down and signed."""
    context = intake_context(page, session, bench, _repair(session, number))
    values = values_for(context["intake"], bench.now.astimezone(page.zone).date())
    return page.show(ONE, here="desk", form=FormView(values), **context)


@router.get("/builds/{number}/receipt")
def show_receipt(actor: AtDesk, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """What the customer takes home: the number, what came in, its condition and the wish; fit to print."""
    return page.show(RECEIPT, here="desk", **intake_context(page, session, bench, _repair(session, number)))


@router.post("/builds/{number}/intake")
def keep_intake(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Write down how it came; or show it again with as many rows as guides, or with the rest sound."""
    with _answering(page, session, bench, number, posted):
        fields = Fields(posted)
        said = intake_of(posted, fields)
        version = fields.whole("version", "The version", 0, MOST_VERSION)
        if posted.get("what") in ("rows", "sound") and said is not None and not fields.errors:
            said = (
                replace(said, conditions=rest_sound(said.conditions)) if posted["what"] == "sound" else said
            )
            return page.show(ONE, form=FormView(posted), **_with_rows(page, session, bench, number, said))
        fields.done()
        assert said is not None
        write_intake(session, number, bench.bench(session, actor), said, version=version)
    return page.go(f"/builds/{number}/intake", "The condition list is saved.")


@router.post("/builds/{number}/intake/sign")
def sign(actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form) -> Response:
    """Have the list signed by whoever brought the rod."""
    with _answering(page, session, bench, number, posted):
        fields = Fields(posted)
        name = fields.text("signed_name", "The name", MOST_NAME)
        version = fields.whole("version", "The version", 0, MOST_VERSION)
        fields.done()
        sign_intake(session, number, bench.bench(session, actor), name=name, version=version)
    return page.go(f"/builds/{number}/intake", "The condition list is signed.")


@router.post("/builds/{number}/work")
def choose(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Choose what is to be done, and with it the sequence that the repair follows."""
    with _answering(page, session, bench, number, posted):
        work = posted.get("work", "")
        choose_work(session, number, bench.bench(session, actor), work=work)
    return page.go(f"/builds/{number}/intake", f"What is to be done: {work_of(work)}.")


def _repair(session: Session, number: str) -> BuildView:
    """A repair. Raises `NotOnFile`, also for a rod that is none."""
    build = build_view(session, number)
    if build.rod_kind != "repair":
        raise NotOnFile(f"{number} is no repair; nothing was taken in for it.")
    return build


@contextmanager
def _answering(
    page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted
) -> Iterator[None]:
    """Turn a refusal inside the block into the page of the intake with the form as typed."""
    page.here = "desk"
    build = _repair(session, number)

    def context() -> dict[str, Any]:
        session.rollback()
        shown = intake_context(page, session, bench, build)
        return shown | {"rows": list_rows(typed_conditions(posted)) or shown["rows"]}

    with showing_again(page, ONE, posted, context):
        yield


def _with_rows(
    page: Frame, session: Session, bench: BenchSide, number: str, said: IntakeSaid
) -> dict[str, Any]:
    context = intake_context(page, session, bench, _repair(session, number))
    return context | {"rows": list_rows(said.conditions)}
