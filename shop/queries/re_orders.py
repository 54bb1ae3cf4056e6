"""The same again: the figures of a rod as it was built, and which rod another was to be like."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.craft.quantities import Quantity
from shop.db.builds import Build
from shop.queries.builds import BuildView
from shop.queries.events import events_of_build
from shop.queries.make_ups import latest_make_up, meant_of_build
from shop.rules.facts import Meant
from shop.rules.re_orders import changed_since
from shop.rules.record import EventFact, EventKind, fold

_COPY = (
    select(Build.number)
    .where(
        Build.copied_from_id == bindparam("first_id"), Build.customer_id == bindparam("customer_id"),
        Build.closed_at.is_(None), Build.is_enquiry, Build.created_at >= bindparam("since"),
    )
    .order_by(Build.id)
    .limit(1)
)  # fmt: skip


class AsBuilt(NamedTuple):
    """A rod as it was built: what was measured, in the last pass that measured it, and what was meant."""

    measured: dict[str, Quantity]
    meant: dict[str, Meant]


def as_built(session: Session, build: BuildView) -> AsBuilt:
    """The figures of a rod, corrections put in place; a later pass counts before an earlier one."""
    passes: dict[int, list[EventFact]] = {}
    for event in events_of_build(session, build.id):
        fact = EventFact(
            event.id, EventKind(event.kind), event.stage, event.at, event.by, event.corrects, event.details
        )
        passes.setdefault(event.pass_number, []).append(fact)
    measured: dict[str, Quantity] = {}
    for number in sorted(passes):
        measured |= fold(passes[number]).measured
    return AsBuilt(measured, meant_of_build(session, build.id))


def just_ordered_again(session: Session, first: BuildView, customer_id: int | None, since: datetime) -> str:
    """The number of the same again that was taken down since an instant for a customer, or empty.

    No customer is that of the first.
    """
    whose = first.customer_id if customer_id is None else customer_id
    return session.scalar(_COPY, {"first_id": first.id, "customer_id": whose, "since": since}) or ""


def changes_between(session: Session, first_id: int, copy_id: int) -> tuple[str, ...]:
    """What the newest make-up of a copy has otherwise than that of its first; nothing where one has none."""
    first, copy = latest_make_up(session, first_id), latest_make_up(session, copy_id)
    return () if first is None or copy is None else changed_since(first.value, copy.value)
