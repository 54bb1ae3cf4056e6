"""Builds: taking one on, and keeping its plan right. What happens to it is in `shop.services.events`."""

import re
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.blanks import blank_view
from shop.queries.builds import build_record, last_running
from shop.queries.customers import customer_record
from shop.queries.sequences import sequence_record
from shop.queries.specs import revisions_of_build
from shop.rules.people import Actor
from shop.rules.promises import faults_of_promise
from shop.rules.refusals import BadInput
from shop.rules.sequences import ROD_KINDS
from shop.services.bench import Signer
from shop.services.build_parts import follow_make_up
from shop.services.plans import check_seen
from shop.services.promises import write_promise
from shop.services.quote_links import end_quote_links
from shop.services.status_links import end_link

# What a build takes over from its newest spec (`shop.services.specs`).
OF_THE_SPEC = ("title", "blank_id", "thread_colour")
COLOUR = re.compile(r"#[0-9a-f]{6}")
NOBODY = Actor("", frozenset())


def take_on_build(
    session: Session,
    *,
    now: datetime,
    zone: ZoneInfo,
    customer_id: int,
    title: str,
    rod_kind: str,
    sequence_id: int,
    blank_id: int | None = None,
    promised_on: date | None = None,
    thread_colour: str = "#7a1f2b",
    notes: str = "",
    is_enquiry: bool = False,
    actor: Actor = NOBODY,
) -> Build:
    """Take a new build on and give it the next printed number of the year. Raises `BadInput`, `NotOnFile`.

    `zone` is the shop's. The bench does not see an enquiry. `actor` takes it on, and promises the day.
    """
    _check_customer(session, customer_id)
    if errors := _faults_of_plan(title, rod_kind, thread_colour):
        raise BadInput(errors)
    if blank_id is not None:
        blank_view(session, blank_id)
    if sequence_record(session, sequence_id).retired_at is not None:
        raise BadInput({"sequence_id": "That version of the sequence is retired; choose the present one."})
    year = now.astimezone(zone).year
    running = last_running(session, year) + 1
    build = Build(
        number=f"{year % 100:02d}-{running:03d}", year=year, running=running, customer_id=customer_id,
        title=title, rod_kind=rod_kind, sequence_id=sequence_id, blank_id=blank_id,
        thread_colour=thread_colour, notes=notes, created_at=now, is_enquiry=is_enquiry,
    )  # fmt: skip
    session.add(build)
    write_promise(session, build, Signer(now, actor), promised_on, "")
    session.flush()
    if blank_id is not None:
        follow_make_up(session, build)
    return build


def change_build(
    session: Session,
    number: str,
    signer: Signer,
    *,
    seen: str | None = None,
    promise_reason: str = "",
    **changes: Any,
) -> Build:
    """Change `customer_id`, `title`, `blank_id`, `promised_on`, `change_by`, `thread_colour`, `notes`.

    Kind of rod and sequence stay as it started; where a spec is written down, title, blank and colour are
    its own and change with it. A promise that moves needs a `promise_reason`, which the customer is told.
    Another customer's build needs other links: those to its status and its quotes are ended.
    Raises `NotOnFile`, `BadInput`, or `Overtaken`: for a promise of a build that is closed, and where the
    plan is no longer the one that was `seen`.
    """
    build = build_record(session, number)
    check_seen(build, seen)
    _check_spec_is_not_bypassed(session, build, changes)
    promised_on = changes.pop("promised_on", build.promised_on)
    errors = faults_of_promise(build.promised_on, promised_on, " ".join(promise_reason.split()))
    errors |= _faults_of_plan(
        changes.get("title", build.title), build.rod_kind, changes.get("thread_colour", build.thread_colour)
    )
    if errors:
        raise BadInput(errors)
    if changes.get("customer_id", build.customer_id) != build.customer_id:
        _check_customer(session, changes["customer_id"])
        _end_links(session, build.id, signer)
    if changes.get("blank_id") is not None:
        blank_view(session, changes["blank_id"])
    for name, value in changes.items():
        setattr(build, name, value)
    write_promise(session, build, signer, promised_on, promise_reason)
    session.flush()
    if "blank_id" in changes:
        follow_make_up(session, build)
    return build


def _end_links(session: Session, build_id: int, signer: Signer) -> None:
    """Whoever has an address of this rod must not read what is the next customer's."""
    end_link(session, build_id, now=signer.now)
    end_quote_links(session, [build_id], now=signer.now)


def _check_customer(session: Session, customer_id: int) -> None:
    if customer_record(session, customer_id).erased_at is not None:
        raise BadInput({"customer_id": "That customer was erased; choose another, or take them down anew."})


def _check_spec_is_not_bypassed(session: Session, build: Build, changes: dict[str, Any]) -> None:
    """What follows the spec is changed there, as a revision: else the two would say different things."""
    meant = [name for name in OF_THE_SPEC if name in changes and changes[name] != getattr(build, name)]
    if meant and revisions_of_build(session, build.id).spec:
        raise BadInput(dict.fromkeys(meant, "This follows the spec; write a further revision of that."))


def _faults_of_plan(title: str, rod_kind: str, colour: str) -> dict[str, str]:
    """What cannot be of a build's plan, by field."""
    errors = {}
    if not title.strip():
        errors["title"] = "The build needs a title that says what it is."
    if rod_kind not in ROD_KINDS:
        errors["rod_kind"] = f"The kind of rod must be one of {', '.join(ROD_KINDS)}."
    if not COLOUR.fullmatch(colour):
        errors["thread_colour"] = "The thread's colour is written #rrggbb, in small letters."
    return errors
