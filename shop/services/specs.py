"""Specs: writing down what is wanted of a rod, as a further revision."""

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.specs import Spec as SpecRecord
from shop.queries.blanks import blank_view
from shop.queries.builds import build_record
from shop.queries.events import event_facts
from shop.queries.sequences import sequence_for_kind
from shop.queries.specs import SpecView, latest_spec
from shop.rules.record import EventKind, fold
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.spec import ASKED_BY, CUSTOMER, LABELS, Spec, changed_fields, document_of, faults_of_spec
from shop.rules.spec_changes import reworked_fields
from shop.services.bench import Bench
from shop.services.build_parts import follow_make_up
from shop.services.events import add_event

MOST_REASON = 500


def revise_spec(
    session: Session,
    number: str,
    bench: Bench,
    spec: Spec,
    *,
    revision: int | None,
    reason: str = "",
    asked_by: str = CUSTOMER,
) -> int:
    """Keep a spec as the next revision of a build's; gives its number.

    Where nothing has changed, nothing is kept and the present number is given. `revision` is the one that
    the change was made on (0 before the first; none: whichever is the latest). What is changed after the
    stage that uses it could begin needs a reason. Raises `BadInput` with every fault by field, `NotOnFile`
    for the build, `Overtaken` where somebody has written another revision meanwhile or the order is closed.
    """
    build = build_record(session, number)
    latest = latest_spec(session, build.id)
    present = 0 if latest is None else latest.revision
    _check_is_newest(build, revision, present)
    check_spec(session, spec)
    if latest is not None and latest.value == spec:
        return present
    rework = _rework(session, bench, build, latest, spec)
    if faults := _faults_of_change(reason, asked_by, rework):
        raise BadInput(faults)
    _follow(session, build, spec)
    session.add(
        SpecRecord(
            build_id=build.id, revision=present + 1, entered_at=bench.now, by=bench.actor.name,
            asked_by=asked_by, reason=reason, rework=list(rework), document=document_of(spec),
        )
    )  # fmt: skip
    _tell(session, bench, build, present + 1, latest, spec, rework)
    return present + 1


def _check_is_newest(build: Build, revision: int | None, present: int) -> None:
    """Of two people who write at once neither silently wins."""
    if build.closed_at is not None:
        raise Overtaken(f"{build.number} is {build.closed_as or 'handed over'}; its spec stays as it is.")
    if revision is not None and revision != present:
        raise Overtaken(
            f"Somebody has written revision {present} of this spec meanwhile; look at that first. "
            "What you typed stands below, and nothing of it is saved yet."
        )


def check_spec(session: Session, spec: Spec) -> None:
    """Raise `BadInput` with every fault of a spec, a blank that is not on file included."""
    faults = faults_of_spec(spec)
    if spec.blank_id is not None:
        try:
            blank_view(session, spec.blank_id)
        except NotOnFile as gone:
            faults["blank_id"] = f"{gone.sentence} Please choose another."
    if faults:
        raise BadInput(faults)


def _rework(
    session: Session, bench: Bench, build: Build, latest: SpecView | None, spec: Spec
) -> tuple[str, ...]:
    """What changes too late; nothing where nothing was written down before."""
    if latest is None:
        return ()
    sequence = bench.sequences.of_build(session, build.sequence_id).value
    reached = fold(event_facts(session, build.id, build.pass_number)).reached
    return reworked_fields(latest.value, spec, sequence, reached)


def _faults_of_change(reason: str, asked_by: str, rework: tuple[str, ...]) -> dict[str, str]:
    faults = {}
    if asked_by not in ASKED_BY:
        faults["asked_by"] = f"Say whose wish it is: one of {', '.join(ASKED_BY)}."
    if len(reason) > MOST_REASON:
        faults["reason"] = f"The reason has {len(reason)} characters; at most {MOST_REASON} fit."
    if rework and not reason.strip():
        what = ", ".join(LABELS[name].lower() for name in rework)
        faults["reason"] = (
            f"The step that uses it has begun ({what}), so this is a rework: say why it is changed now."
        )
    return faults


def _follow(session: Session, build: Build, spec: Spec) -> None:
    """The build's own fields follow its spec, so that drawing, bench and make-up see them.

    Its kind of rod follows while nothing has been done, and its sequence with it. Raises `BadInput`.
    """
    if spec.rod_kind != build.rod_kind:
        if build.stage_id is not None or build.pass_number > 1:
            raise BadInput(
                {"rod_kind": f"Work on it has begun as a {build.rod_kind} rod; its kind stays what it is."}
            )
        build.sequence_id, build.rod_kind = sequence_for_kind(session, None, spec.rod_kind)
    build.title, build.blank_id, build.thread_colour = spec.title, spec.blank_id, spec.thread_colour
    follow_make_up(session, build)


def _tell(
    session: Session,
    bench: Bench,
    build: Build,
    revision: int,
    latest: SpecView | None,
    spec: Spec,
    rework: tuple[str, ...],
) -> None:
    """The record names what changed, never the words: a person can be erased, an event cannot."""
    changed = () if latest is None else changed_fields(latest.value, spec)
    said = [LABELS[name].lower() + (" (rework)" if name in rework else "") for name in changed]
    what = f": {', '.join(said)}" if said else " is written down"
    details = {"revision": revision, "fields": list(changed), "rework": list(rework)}
    words = f"Revision {revision} of the spec{what}."
    add_event(session, build, bench, EventKind.SPEC, bench.now, "", words, details)
    session.flush()
