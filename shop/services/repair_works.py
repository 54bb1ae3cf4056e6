"""What is done on a repair: choosing the sequence that does it, when it comes in or once it was looked at."""

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.builds import build_record
from shop.queries.events import event_facts
from shop.queries.sequences import present_sequences
from shop.rules.intakes import SEQUENCE_PREFIX, work_of
from shop.rules.ready_made import READY_MADE
from shop.rules.record import EventKind, fold
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.sequences import Sequence
from shop.services.bench import Bench
from shop.services.events import add_event
from shop.services.sequences import add_sequence

REPAIR = "repair"
OF_READY_MADE = {item.name: item for item in READY_MADE if item.rod_kind == REPAIR}


def works_on_offer(session: Session) -> list[tuple[str, str]]:
    """What may be done on a repair, as the name of its sequence and words for it; what is on file first."""
    present = list(_present(session))
    names = [*present, *(name for name in OF_READY_MADE if name not in present)]
    return [(name, work_of(name)) for name in names]


def _present(session: Session) -> dict[str, int]:
    return {view.name: view.id for view in present_sequences(session) if view.rod_kind == REPAIR}


def fault_of_work(session: Session, work: str) -> dict[str, str]:
    """What keeps a work from being chosen, by field; saying none is no fault."""
    offered = works_on_offer(session)
    if not work or any(work in pair for pair in offered):
        return {}
    return {"work": f"Choose what is to be done, one of: {', '.join(words for _, words in offered)}."}


def sequence_of_work(session: Session, bench: Bench, work: str) -> int:
    """The id of the sequence that does it; a ready-made one is put on file where the shop has it not yet.

    `work` is its name, with or without the word that all begin with; empty for the first. Raises `BadInput`.
    """
    if errors := fault_of_work(session, work):
        raise BadInput(errors)
    present = _present(session)
    if not work:
        name = next(iter(present), next(iter(OF_READY_MADE)))
    else:
        name = work if work in present or work in OF_READY_MADE else f"{SEQUENCE_PREFIX}{work}"
    if name in present:
        return present[name]
    return add_sequence(session, now=bench.now, sequence=OF_READY_MADE[name]).id


def choose_work(session: Session, number: str, bench: Bench, *, work: str) -> Build:
    """Have a repair follow the sequence that does what is to be done, from the stage it stands at.

    Every stage that it has reached must be one of that sequence too, in the same place: what was done is not
    undone by a choice. Raises `BadInput`, `NotOnFile`, or `Overtaken` where the repair is past that point.
    """
    build = build_record(session, number)
    if build.rod_kind != REPAIR:
        raise Overtaken(f"{number} is no repair; its sequence stays what it is.")
    if build.closed_at is not None:
        raise Overtaken(f"{number} is {build.closed_as or 'handed over'}; its sequence stays what it is.")
    sequence_id = sequence_of_work(session, bench, work)
    if sequence_id == build.sequence_id:
        return build
    before = bench.sequences.of_build(session, build.sequence_id)
    after = bench.sequences.of_build(session, sequence_id)
    reached = fold(event_facts(session, build.id, build.pass_number)).reached
    if name := _in_the_way(before.value, after.value, set(reached)):
        raise Overtaken(
            f"“{name}” has been reached, which is not in the same place of that sequence. "
            "Send the rod back before it first."
        )
    standing = next((s.name for s in reversed(after.value.stages) if s.name in reached), None)
    build.sequence_id = sequence_id
    build.stage_id = None if standing is None else after.stage_ids[standing]
    words = f"What is to be done: {work_of(after.value.name)}."
    add_event(session, build, bench, EventKind.INTAKE, bench.now, "", words)
    session.flush()
    return build


def _in_the_way(before: Sequence, after: Sequence, reached: set[str]) -> str:
    """The first stage that was reached and is not in the same place of the other sequence; or empty."""
    for position, stage in enumerate(before.stages):
        if stage.name in reached:
            same = after.stages[position].name if position < len(after.stages) else ""
            if same != stage.name:
                return stage.name
    return ""
