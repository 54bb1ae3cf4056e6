"""Promises: the only way in which a build's promised day is set or moved, with a row and an event each."""

from datetime import date

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.promises import Promise
from shop.queries.builds import build_record
from shop.rules.promises import faults_of_promise, say_promise
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Signer
from shop.services.events import add_event
from shop.services.mails import tell_of_slip


def change_promise(
    session: Session, number: str, signer: Signer, *, promised_on: date | None, reason: str = ""
) -> Promise | None:
    """Promise a day for a build, move the promise, or take it back; none where nothing changes.

    A change of a promise that was made needs a reason, which the customer is told. Raises `BadInput`,
    `NotOnFile`, or `Overtaken` for a build that is closed.
    """
    return write_promise(session, build_record(session, number), signer, promised_on, reason)


def write_promise(
    session: Session, build: Build, signer: Signer, promised_on: date | None, reason: str
) -> Promise | None:
    """`change_promise` for a build that was read already."""
    was_on, reason = build.promised_on, " ".join(reason.split())
    if errors := faults_of_promise(was_on, promised_on, reason):
        raise BadInput(errors)
    if promised_on == was_on:
        return None
    if build.closed_at is not None:
        how = build.closed_as or "handed over"
        raise Overtaken(f"Build {build.number} is {how}; nothing is promised for it any more.")
    build.promised_on = promised_on
    session.flush()
    promise = Promise(
        build_id=build.id, promised_on=promised_on, was_on=was_on, reason=reason, at=signer.now,
        by=signer.actor.name,
    )  # fmt: skip
    session.add(promise)
    note = say_promise(was_on, promised_on, reason)
    details = {
        "promised_on": None if promised_on is None else promised_on.isoformat(),
        "was_on": None if was_on is None else was_on.isoformat(),
    }
    add_event(session, build, signer, EventKind.PROMISE, signer.now, "", note, details)
    session.flush()
    tell_of_slip(session, build, promise)
    return promise
