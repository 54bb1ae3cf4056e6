"""Intakes: taking a rod in for repair, writing down how it came, and having that signed.

What is done on it is chosen in `shop.services.repair_works`.
"""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.intakes import Intake
from shop.queries.builds import BuildView, build_record, build_view
from shop.queries.events import event_facts
from shop.queries.intakes import intake_record, open_repair_of
from shop.queries.shop import shop_day
from shop.rules.facts import Tick
from shop.rules.intakes import (
    CONDITIONS_SIGNED,
    FIRST_GUIDES,
    MOST_ROD,
    IntakeSaid,
    blank_list,
    conditions_from,
    document_of,
    fault_of_signing,
    faults_of_intake,
    said_of_conditions,
)
from shop.rules.record import EventKind, fold
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.sequences import HoldKind
from shop.rules.spec import FIRST_COLOUR, Spec
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.events import Logged, add_event, note_down
from shop.services.repair_works import REPAIR, fault_of_work, sequence_of_work
from shop.services.specs import revise_spec

MOST_TITLE = 120


@dataclass(frozen=True)
class RepairSaid:
    """A repair as it is taken in: whose, how it came, what is to be done (a sequence's name or its work).

    `own_number` is the shop's own earlier rod that comes back; its words stand in where none are said.
    """

    customer_id: int
    intake: IntakeSaid
    work: str = ""
    own_number: str = ""


def take_in_repair(session: Session, bench: Bench, said: RepairSaid, *, zone: ZoneInfo) -> Build:
    """Take a rod in: a build of kind repair, how it came, and what is wished for as its spec.

    The conditions may be written down later; then the list is laid down empty. `zone` is the shop's. Raises
    `BadInput` with every fault by field, also for an own rod that was never handed over or is in the shop for
    repair already; `NotOnFile`.
    """
    errors: dict[str, str] = {}
    own = _own_rod(session, said.own_number, errors)
    intake = said.intake
    rod = intake.rod or ("" if own is None else f"{own.number} {own.title}"[:MOST_ROD])
    intake = IntakeSaid(
        intake.brought_on, rod, intake.wish, intake.conditions or blank_list(FIRST_GUIDES)
    )  # fmt: skip
    errors |= faults_of_intake(intake, shop_day(session, bench.now)) | fault_of_work(session, said.work)
    if errors:
        raise BadInput(errors)
    title = (f"Repair of {own.number} {own.title}" if own else f"Repair: {rod}")[:MOST_TITLE]
    build = take_on_build(
        session, now=bench.now, zone=zone, customer_id=said.customer_id, title=title, rod_kind=REPAIR,
        sequence_id=sequence_of_work(session, bench, said.work),
        blank_id=None if own is None else own.blank_id,
        thread_colour=FIRST_COLOUR if own is None else own.thread_colour, actor=bench.actor,
    )  # fmt: skip
    build.copied_from_id = None if own is None else own.id
    spec = Spec(
        REPAIR, title, blank_id=build.blank_id, thread_colour=build.thread_colour, wishes=intake.wish
    )  # fmt: skip
    revise_spec(session, build.number, bench, spec, revision=0)
    write_intake(session, build.number, bench, intake, version=0)
    return build


def _own_rod(session: Session, number: str, errors: dict[str, str]) -> BuildView | None:
    """The shop's own earlier rod that comes back; none, with a fault noted, where it cannot be one."""
    if not number:
        return None
    try:
        own = build_view(session, number)
    except NotOnFile as gone:
        errors["own_number"] = gone.sentence
        return None
    if own.closed_at is None or own.closed_as:
        errors["own_number"] = (
            f"{number} was never handed over. While it is in the shop it is no repair: "
            "send it back to the right stage on its own page."
        )
    elif repair := open_repair_of(session, own.id):
        errors["own_number"] = f"{number} is in the shop for repair already, as {repair}."
    return own


def write_intake(
    session: Session, number: str, bench: Bench, said: IntakeSaid, *, version: int | None
) -> Intake:
    """Write down how a repair came in, or write it anew; once it is signed it stays as it is.

    `version` is that of the list which was shown (0 before the first; none: whichever is there). Raises
    `BadInput` with every fault by field, `NotOnFile`, or `Overtaken` where somebody else has written it
    meanwhile, it is signed, or the build is no repair or is closed.
    """
    build = build_record(session, number)
    record = intake_record(session, build.id)
    _check_may_write(build, record, version)
    if errors := faults_of_intake(said, shop_day(session, bench.now)):
        raise BadInput(errors)
    is_new = record is None
    if record is None:
        record = Intake(build_id=build.id)
        session.add(record)
    record.brought_on, record.rod, record.wish = said.brought_on, said.rod.strip(), said.wish.strip()
    record.conditions = document_of(said.conditions)
    record.entered_at, record.by = bench.now, bench.actor.name
    session.flush()
    begin = "The rod is taken in" if is_new else "The condition list is written anew"
    words = f"{begin}: {said_of_conditions(said.conditions)}"
    add_event(session, build, bench, EventKind.INTAKE, bench.now, "", words)
    session.flush()
    return record


def _check_may_write(build: Build, record: Intake | None, version: int | None) -> None:
    if build.rod_kind != REPAIR:
        raise Overtaken(f"{build.number} is no repair; nothing is taken in for it.")
    if build.closed_at is not None:
        raise Overtaken(f"{build.number} is {build.closed_as or 'handed over'}; its condition list stays.")
    if record is not None and record.signed_at is not None:
        raise Overtaken("The condition list is signed; it stays as whoever brought the rod saw it.")
    present = 0 if record is None else record.version
    if version is not None and version != present:
        raise Overtaken(
            "Somebody else has written on this list meanwhile. What you typed stands below, unsaved."
        )


def sign_intake(session: Session, number: str, bench: Bench, *, name: str, version: int | None) -> Intake:
    """Have a condition list signed by whoever brought the rod, which ticks the check of its sequence.

    `version` as for `write_intake`. Raises `BadInput`, `NotOnFile`, or `Overtaken` where there is no list
    yet, it is signed already, or somebody else has written on it meanwhile.
    """
    build = build_record(session, number)
    record = intake_record(session, build.id)
    if record is None:
        raise Overtaken("Nobody has written down how the rod came in; there is nothing to sign.")
    if record.signed_at is not None:
        raise Overtaken("The condition list is signed already.")
    _check_may_write(build, record, version)
    if errors := fault_of_signing(name, conditions_from(record.conditions)):
        raise BadInput(errors)
    record.signed_name, record.signed_at = name.strip(), bench.now
    add_event(session, build, bench, EventKind.INTAKE, bench.now, "", "The condition list is signed.")
    session.flush()
    _tick_signed(session, bench, build)
    return record


def _tick_signed(session: Session, bench: Bench, build: Build) -> None:
    """Tick the check that asks for the signature, at the stage that has it and was not reached yet."""
    stages = bench.sequences.of_build(session, build.sequence_id).value.stages
    asking = [
        stage.name
        for stage in stages
        if any(hold.kind is HoldKind.CHECK and hold.check == CONDITIONS_SIGNED for hold in stage.holds)
    ]
    reached = fold(event_facts(session, build.id, build.pass_number)).reached
    for name in asking:
        if name not in reached:
            note_down(session, build.number, bench, Logged(name, ticks=(Tick(CONDITIONS_SIGNED, ""),)))
