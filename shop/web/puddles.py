"""Puddles as pages show them: which rods wait for one, and when to touch it, in finished words."""

from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.puddles import Puddle, puddles_due
from shop.rules.puddles import Why
from shop.web.benches import BenchSide
from shop.web.templating import Frame
from shop.web.wording import not_before, when


class PuddleLine(NamedTuple):
    """A puddle for a template: `says` when to touch it; `overdue` says that it is to be touched now."""

    mix_id: int
    adhesive: str
    rods: str
    places: str
    says: str
    overdue: bool
    last: str


# Where to go on after a touch, by what the form says; else to the mix.
BACK = {"cup": "/cup", "in-hand": "/"}

WORDS = {
    Why.FIRM: "Found firm in its time: it need not be touched again.",
    Why.STALLED: "Stalled: too cold to set, so there is no time at which to touch it.",
    Why.NO_JOINT: "No joint of it counts on a rod in hand.",
}


def puddles_context(page: Frame, session: Session, bench: BenchSide, back: str) -> dict[str, Any]:
    """What `fragments/puddles.html` needs; `back` is where to go on after a touch, one of `BACK`."""
    due = puddles_due(session, bench.warmth(session), bench.now)
    return {"puddles": [puddle_line(item, bench.now, page.zone) for item in due], "puddles_back": back}


def puddle_line(puddle: Puddle, now: datetime, zone: ZoneInfo) -> PuddleLine:
    """A puddle in finished words, as it stands at an instant."""
    puddle = puddle.seen_at(now)
    last = ""
    if puddle.touched_at is not None:
        last = f"Last found {puddle.state}, {when(puddle.touched_at, now, zone)}."
    return PuddleLine(
        puddle.mix_id, puddle.adhesive, ", ".join(puddle.rods), ", ".join(puddle.places),
        _says(puddle, now, zone), puddle.overdue, last,
    )  # fmt: skip


def _says(puddle: Puddle, now: datetime, zone: ZoneInfo) -> str:
    if puddle.due_at is None:
        return WORDS[puddle.why]
    if puddle.overdue:
        return f"Touch the puddle: due now, since {not_before(puddle.due_at, now, zone)}."
    return f"Touch the puddle: due {not_before(puddle.due_at, now, zone)}."
