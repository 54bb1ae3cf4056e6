"""Orders: taking an enquiry on by hand, ending one that comes to nothing, and taking it up again."""

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.builds import build_record
from shop.rules.orders import REASONS, way_to_close
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Bench
from shop.services.build_parts import put_back_all
from shop.services.events import add_event

MOST_NOTE = 1000


def take_on_order(session: Session, number: str, bench: Bench) -> Build:
    """Take an enquiry on as an order; from then on the bench sees it.

    Its first stage still asks for whatever its sequence says, the customer's yes among it. Raises
    `NotOnFile`, or `Overtaken` where it is an order already or was closed.
    """
    build = build_record(session, number)
    if build.closed_at is not None:
        raise Overtaken(f"{number} is {build.closed_as or 'handed over'}; reopen it first, if it goes on.")
    if not build.is_enquiry:
        raise Overtaken(f"{number} has been taken on as an order already.")
    build.is_enquiry = False
    add_event(session, build, bench, EventKind.ORDER, bench.now, "", "The order is taken on.")
    session.flush()
    return build


def close_order(session: Session, number: str, bench: Bench, *, reason: str, note: str = "") -> Build:
    """End an enquiry as declined, or an order as cancelled; what was set aside for it goes back.

    The record keeps `reason`, one of a few that name nobody (`shop.rules.orders.REASONS`); `note` is kept
    with the build's notes. Raises `BadInput`, `NotOnFile`, or `Overtaken` where it was closed before.
    """
    build = build_record(session, number)
    if build.closed_at is not None:
        raise Overtaken(f"{number} is {build.closed_as or 'handed over'} already.")
    faults = {}
    if reason not in REASONS:
        faults["reason"] = f"Choose the reason: one of {', '.join(REASONS)}."
    if len(note) > MOST_NOTE:
        faults["note"] = f"The note has {len(note)} characters; at most {MOST_NOTE} fit."
    if faults:
        raise BadInput(faults)
    put_back_all(session, build, bench)
    build.closed_at, build.closed_as = bench.now, way_to_close(build.is_enquiry)
    build.notes = "\n".join(filter(None, (build.notes, note.strip())))
    words = f"{build.closed_as.capitalize()}: {reason}."
    details = {"closed_as": build.closed_as, "reason": reason}
    add_event(session, build, bench, EventKind.CLOSED, bench.now, "", words, details)
    session.flush()
    return build


def reopen_order(session: Session, number: str, bench: Bench) -> Build:
    """Take a declined enquiry or a cancelled order up again, where it stood.

    Raises `NotOnFile`, or `Overtaken` where it was not declined or cancelled: a rod that was handed over is
    sent back instead.
    """
    build = build_record(session, number)
    if not build.closed_as:
        state = "is open" if build.closed_at is None else "was handed over; send it back to a stage instead"
        raise Overtaken(f"{number} {state}.")
    build.closed_at, build.closed_as = None, ""
    add_event(session, build, bench, EventKind.ORDER, bench.now, "", "Taken up again.")
    session.flush()
    return build
