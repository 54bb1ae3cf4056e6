"""Returns: writing down that a rod came back, and taking it in for repair in the same move."""

from datetime import date

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.returns import Return
from shop.queries.builds import build_record, build_view
from shop.queries.customers import customer_view
from shop.queries.intakes import open_repair_of
from shop.queries.lots import lot_fact
from shop.queries.returns import returns_of_build
from shop.queries.shop import read_shop, shop_day
from shop.rules.intakes import IntakeSaid
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.returns import ReturnSaid, faults_of_return
from shop.rules.warranties import is_under_warranty
from shop.services.bench import Bench
from shop.services.events import add_event
from shop.services.intakes import RepairSaid, take_in_repair
from shop.services.mails import take_back_care


def record_return(
    session: Session, number: str, bench: Bench, said: ReturnSaid, *, wish: str | None = None, work: str = ""
) -> Return:
    """Write down that a rod came back; with a `wish` it is taken in for repair, which is to do `work`.

    One that is in the shop for repair already came back for that. Whether the warranty runs is told from the
    day it came back. Raises `BadInput` with every fault by field, `NotOnFile`, or `Overtaken` for a rod that
    is in the shop or was written down as come back that day.
    """
    build = build_record(session, number)
    if build.closed_at is None or build.closed_as:
        raise Overtaken(
            f"{number} was never handed over; send it back to the right stage on its own page instead."
        )
    if any(line.returned_on == said.returned_on for line in returns_of_build(session, build.id)):
        raise Overtaken(f"{number} is written down as come back on {said.returned_on} already.")
    zone = read_shop(session).zone
    errors = _faults(session, bench, build.sequence_id, build.closed_at.astimezone(zone).date(), said)
    under_repair = open_repair_of(session, build.id)
    errors |= {} if wish is None else _faults_of_repair(session, build, wish, under_repair)
    if errors:
        raise BadInput(errors)
    record = Return(
        build_id=build.id, returned_on=said.returned_on, cause=said.cause, stage_name=said.stage_name,
        lot_id=said.lot_id, person=said.person.strip(), cost_cents=said.cost_cents, note=said.note.strip(),
        under_warranty=is_under_warranty(build.warranty_until, said.returned_on), entered_at=bench.now,
        by=bench.actor.name,
    )  # fmt: skip
    session.add(record)
    if under_repair:
        record.repair_id = build_view(session, under_repair).id
    elif wish is not None:
        repair = RepairSaid(build.customer_id, IntakeSaid(said.returned_on, wish=wish), work, number)
        record.repair_id = take_in_repair(session, bench, repair, zone=zone).id
    take_back_care(session, build.id, now=bench.now)
    within = "under" if record.under_warranty else "not under"
    words = f"It came back, {within} warranty: {said.cause}."
    add_event(session, build, bench, EventKind.INTAKE, bench.now, "", words)
    session.flush()
    return record


def _faults_of_repair(session: Session, build: Build, wish: str, under_repair: str) -> dict[str, str]:
    errors = {}
    if under_repair:
        errors["repair"] = f"{build.number} is in for repair already, as {under_repair}; untick this."
    elif customer_view(session, build.customer_id).erased_at is not None:
        errors["repair"] = (
            f"The customer of {build.number} was erased. Untick this, and take it in under Repairs "
            "for whoever brings it."
        )
    if not wish.strip():
        errors["wish"] = "Say what is to be done, in the words of whoever brought it."
    return errors


def _faults(
    session: Session, bench: Bench, sequence_id: int, handed_over: date, said: ReturnSaid
) -> dict[str, str]:
    stages = [stage.name for stage in bench.sequences.of_build(session, sequence_id).value.stages]
    errors = faults_of_return(said, shop_day(session, bench.now), handed_over, stages)
    if said.lot_id is not None:
        try:
            lot_fact(session, said.lot_id)
        except NotOnFile as gone:
            errors["lot_id"] = gone.sentence
    return errors
