"""Intakes: one of a build as a view, one record for a verb, and the repairs that are in the shop."""

from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.events import Event
from shop.db.intakes import Intake
from shop.db.sequences import Stage
from shop.rules.intakes import Condition, conditions_from
from shop.rules.record import EventKind


class IntakeView(NamedTuple):
    """How a rod came in; `signed_at` is null until whoever brought it has signed."""

    id: int
    build_id: int
    brought_on: date
    rod: str
    wish: str
    conditions: tuple[Condition, ...]
    signed_name: str
    signed_at: datetime | None
    entered_at: datetime
    by: str
    version: int


class RepairLine(NamedTuple):
    """A repair in the shop: where it stands, when it came, whether its list is signed.

    `since` is when it reached the stage it stands at or was sent back to it, null before the first;
    `is_ready` whether only the last stage, the handing over, is left.
    """

    number: str
    title: str
    customer_id: int
    customer: str
    stage: str | None
    brought_on: date | None
    signed_at: datetime | None
    since: datetime | None
    is_ready: bool


_VIEW: Select[*tuple[Any, ...]] = select(
    Intake.id, Intake.build_id, Intake.brought_on, Intake.rod, Intake.wish, Intake.conditions,
    Intake.signed_name, Intake.signed_at, Intake.entered_at, Intake.by, Intake.version,
).where(Intake.build_id == bindparam("build_id"))  # fmt: skip
_RECORD = select(Intake).where(Intake.build_id == bindparam("build_id"))
_LAST_POSITION = (
    select(func.max(Stage.position))
    .where(Stage.sequence_id == Build.sequence_id)
    .correlate(Build)
    .scalar_subquery()
)
_SINCE = (
    select(func.max(Event.happened_at))
    .where(
        Event.build_id == Build.id, Event.pass_number == Build.pass_number,
        Event.stage_id == Build.stage_id, Event.kind.in_((EventKind.STAGE, EventKind.SEND_BACK)),
    )
    .correlate(Build)
    .scalar_subquery()
)  # fmt: skip
_REPAIRS: Select[*tuple[Any, ...]] = (
    select(
        Build.number, Build.title, Build.customer_id, Customer.name, Stage.name, Intake.brought_on,
        Intake.signed_at, _SINCE, func.coalesce(Stage.position == _LAST_POSITION - 1, False),
    )
    .join(Customer, Customer.id == Build.customer_id)
    .join(Stage, Stage.id == Build.stage_id, isouter=True)
    .join(Intake, Intake.build_id == Build.id, isouter=True)
    .where(Build.closed_at.is_(None), ~Build.is_enquiry, Build.rod_kind == "repair")
    .order_by(Build.number)
)  # fmt: skip
_OPEN_OF_ROD = (
    select(Build.number)
    .where(
        Build.copied_from_id == bindparam("rod_id"), Build.rod_kind == "repair", Build.closed_at.is_(None)
    )
    .order_by(Build.id)
    .limit(1)
)  # fmt: skip
_OWN = aliased(Build)
_TAKEN_IN: Select[*tuple[Any, ...]] = (
    select(Build.number, Intake.rod, Intake.wish, func.coalesce(_OWN.number, ""))
    .join(Intake, Intake.build_id == Build.id)
    .join(_OWN, _OWN.id == Build.copied_from_id, isouter=True)
    .where(
        Build.customer_id == bindparam("customer_id"), Build.closed_at.is_(None),
        Build.created_at >= bindparam("since"),
    )
    .order_by(Build.id)
)  # fmt: skip


def open_repair_of(session: Session, rod_id: int) -> str:
    """The number of the repair that one of the shop's own rods is in the shop for, or empty."""
    return session.scalar(_OPEN_OF_ROD, {"rod_id": rod_id}) or ""


def just_taken_in(
    session: Session, customer_id: int, own_number: str, rod: str, wish: str, since: datetime
) -> str:
    """The number of the very same repair that was taken in since an instant, or empty.

    An own rod is known by its number, whichever words stand for it.
    """
    for number, kept_rod, kept_wish, kept_own in session.execute(
        _TAKEN_IN, {"customer_id": customer_id, "since": since}
    ):
        if (kept_wish, kept_own) == (wish, own_number) and (own_number or kept_rod == rod):
            return str(number)
    return ""


def intake_view(session: Session, build_id: int) -> IntakeView | None:
    """How a build came in; none where nobody has written it down."""
    row = session.execute(_VIEW, {"build_id": build_id}).first()
    if row is None:
        return None
    view = IntakeView._make(row)
    return view._replace(conditions=conditions_from(view.conditions))  # type: ignore[arg-type]


def intake_record(session: Session, build_id: int) -> Intake | None:
    """The record of how a build came in, for a verb; none where nobody has written it down."""
    return session.scalars(_RECORD, {"build_id": build_id}).first()


def open_repairs(session: Session) -> list[RepairLine]:
    """Every repair that is in the shop, by number."""
    return [RepairLine._make(row)._replace(is_ready=bool(row[-1])) for row in session.execute(_REPAIRS)]
