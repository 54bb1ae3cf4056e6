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
from shop.rules.refusals import BadInput
from shop.rules.sequences import ROD_KINDS
from shop.services.build_parts import follow_make_up

# What a build takes over from its newest spec (`shop.services.specs`).
OF_THE_SPEC = ("title", "blank_id", "thread_colour")
COLOUR = re.compile(r"#[0-9a-f]{6}")


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
) -> Build:
    """Take a new build on and give it the next printed number of the year. Raises `BadInput`, `NotOnFile`.

    The year is that of the shop's own calendar (`zone`). An enquiry has its number from the start too; the
    bench does not see it.
    """
    customer_record(session, customer_id)
    _check_plan(session, title, rod_kind, blank_id, thread_colour)
    if sequence_record(session, sequence_id).retired_at is not None:
        raise BadInput({"sequence_id": "That version of the sequence is retired; choose the present one."})
    year = now.astimezone(zone).year
    running = last_running(session, year) + 1
    build = Build(
        number=f"{year % 100:02d}-{running:03d}", year=year, running=running, customer_id=customer_id,
        title=title, rod_kind=rod_kind, sequence_id=sequence_id, blank_id=blank_id, promised_on=promised_on,
        thread_colour=thread_colour, notes=notes, created_at=now, is_enquiry=is_enquiry,
    )  # fmt: skip
    session.add(build)
    session.flush()
    if blank_id is not None:
        follow_make_up(session, build)
    return build


def change_build(session: Session, number: str, **changes: Any) -> Build:
    """Change `customer_id`, `title`, `blank_id`, `promised_on`, `thread_colour`, `notes` of a build.

    Kind of rod and sequence stay as it started; where a spec is written down, title, blank and colour are
    its own and change with it. Raises `NotOnFile` or `BadInput`.
    """
    build = build_record(session, number)
    _check_spec_is_not_bypassed(session, build, changes)
    if "customer_id" in changes:
        customer_record(session, changes["customer_id"])
    _check_plan(
        session, changes.get("title", build.title), build.rod_kind,
        changes.get("blank_id", build.blank_id), changes.get("thread_colour", build.thread_colour),
    )  # fmt: skip
    for name, value in changes.items():
        setattr(build, name, value)
    session.flush()
    if "blank_id" in changes:
        follow_make_up(session, build)
    return build


def _check_spec_is_not_bypassed(session: Session, build: Build, changes: dict[str, Any]) -> None:
    """What follows the spec is changed there, as a revision: else the two would say different things."""
    meant = [name for name in OF_THE_SPEC if name in changes and changes[name] != getattr(build, name)]
    if meant and revisions_of_build(session, build.id).spec:
        raise BadInput(dict.fromkeys(meant, "This follows the spec; write a further revision of that."))


def _check_plan(session: Session, title: str, rod_kind: str, blank_id: int | None, colour: str) -> None:
    errors = {}
    if not title.strip():
        errors["title"] = "The build needs a title that says what it is."
    if rod_kind not in ROD_KINDS:
        errors["rod_kind"] = f"The kind of rod must be one of {', '.join(ROD_KINDS)}."
    if not COLOUR.fullmatch(colour):
        errors["thread_colour"] = "The thread's colour is written #rrggbb, in small letters."
    if errors:
        raise BadInput(errors)
    if blank_id is not None:
        blank_view(session, blank_id)
