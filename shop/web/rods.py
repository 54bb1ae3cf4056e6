"""A rod as the pages show it: its state in a word, its holds, its drawing, its rulers.

Turns what `shop.queries.bench` found into finished values for templates. It decides nothing.
"""

from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.queries.bench import BenchRow, shuts_at, waits_for_time
from shop.queries.builds import BuildView
from shop.rules.decide import ShutHold
from shop.rules.facts import CureFact, Facts
from shop.rules.holds import in_utc
from shop.rules.hours import Hours, last_open
from shop.rules.sequences import HoldKind, Sequence
from shop.web.drawing import RodDrawing, draw_rod
from shop.web.ruler import RulerCure, RulerRow, draw_mini_ruler
from shop.web.wording import day, not_before, when

TITLES = {
    HoldKind.ORDER: "Order of work",
    HoldKind.SET: "Not set",
    HoldKind.FULL_CURE: "Not fully cured",
    HoldKind.RECOAT: "Recoat window",
    HoldKind.POT_LIFE: "Pot life over",
    HoldKind.SUSPECT: "Suspect mix",
    HoldKind.CHECK: "Check",
    HoldKind.MEASUREMENT: "Measurement",
    HoldKind.LOT: "Lot out of date",
    HoldKind.TURNER: "No turner place",
    HoldKind.WARM: "Too cold to mix",
    HoldKind.CLOCK: "Clock in doubt",
    HoldKind.PARTS: "Parts missing",
    HoldKind.SLIDE_ON: "Slides on first",
    HoldKind.DEPOSIT: "Deposit not in",
    HoldKind.BALANCE: "Not paid",
    HoldKind.APPROVAL: "No yes yet",
}


# What a shop that never said its hours is judged by.
ALWAYS = Hours()
# Every thin ruler of In hand spans the same time, so that rods compare by eye.
BEFORE, AFTER = timedelta(hours=12), timedelta(hours=48)


class HoldView(NamedTuple):
    """A shut hold in finished words."""

    kind: str
    title: str
    reason: str
    clears_at_text: str
    cleared_by: str
    waivable: bool


class RodState(NamedTuple):
    """Where a rod stands: one of `free`, `setting`, `held`, `stalled`, `done`, and what to say of it."""

    kind: str
    says: str


class RowView(NamedTuple):
    """One rod as a row of In hand. Hashable, so that equal rows can share their rendering."""

    number: str
    title: str
    customer: str
    drawing: RodDrawing
    state: str
    says: str
    next: str
    due: str
    overdue: bool
    mini: RulerRow | None


def hold_view(hold: ShutHold, now: datetime, zone: ZoneInfo) -> HoldView:
    """A shut hold for a template."""
    until = "" if hold.clears_at is None else not_before(hold.clears_at, now, zone)
    reason = _reason(hold, now, zone)
    return HoldView(hold.kind.value, TITLES[hold.kind], reason, until, hold.cleared_by.value, hold.waivable)


def _reason(hold: ShutHold, now: datetime, zone: ZoneInfo) -> str:
    """The reason of a hold, its instants as the shop's own clock shows them."""
    if hold.already is not None:
        return f"{hold.already.by} logged this at {when(hold.already.at, now, zone)}; it is on record once."
    if hold.look_again_at is not None:
        again = not_before(hold.look_again_at, now, zone)
        return hold.reason.replace(in_utc(hold.look_again_at), again)
    if hold.closed_at is not None:
        return hold.reason.replace(in_utc(hold.closed_at), when(hold.closed_at, now, zone))
    return hold.reason


def on_it(sequence: Sequence, facts: Facts) -> frozenset[str]:
    """What the drawing of a rod shows so far, by the stages that have been reached."""
    return frozenset(item for stage in sequence.stages if stage.name in facts.reached for item in stage.draws)


def drawing_of(row: BenchRow, compact: bool) -> RodDrawing:
    """The rod, with what is on it so far."""
    build = row.build
    shown = on_it(row.sequence, row.facts)
    return draw_rod(build.rod_kind, build.pieces, shown, build.thread_colour, compact=compact)


def state_of(row: BenchRow, now: datetime, zone: ZoneInfo, hours: Hours = ALWAYS) -> RodState:
    """The state of a rod in a word, and the sentence beside it."""
    decision = row.decision
    if decision.stage is None:
        return RodState("done", row.build.closed_as or "every stage is reached")
    if decision.allowed:
        return RodState("free", _shuts(row, now, zone, hours))
    first = decision.holds[0]
    more = len(decision.holds) - 1
    if waits_for_time(decision) and decision.time_clears_at is not None:
        return RodState("setting", f"until {not_before(decision.time_clears_at, now, zone)}")
    stalled = any(hold.is_stalled for hold in decision.holds)
    tail = f" And {more} more." if more else ""
    return RodState("stalled" if stalled else "held", _reason(first, now, zone) + tail)


def _shuts(row: BenchRow, now: datetime, zone: ZoneInfo, hours: Hours) -> str:
    """By when the next coat is to be laid: before the window shuts, and while somebody is there to lay it."""
    shuts = shuts_at(row, now)
    if shuts is None:
        return ""
    last = last_open(hours, shuts, zone)
    if last is None or last <= now or last == shuts:
        return f"window shuts {when(shuts, now, zone)}"
    return f"coat by {when(last, now, zone)}; the window shuts {when(shuts, now, zone)}, when nobody is there"


def due_of(row: BenchRow, now: datetime, zone: ZoneInfo) -> tuple[str, bool]:
    """What was promised, in words, and whether that day is over."""
    today = now.astimezone(zone).date()
    words = promised_words(row.build, today)
    return (f"promised {words}" if words else ""), "overdue" in words


def promised_words(build: BuildView, today: date) -> str:
    """The promised day, and whether it is over while the build is still open; empty where none is."""
    if build.promised_on is None:
        return ""
    overdue = build.promised_on < today and build.closed_at is None
    return day(build.promised_on, today) + (" · overdue" if overdue else "")


def ruler_cure(row: BenchRow, cure: CureFact) -> RulerCure:
    """A cure as the ruler of time draws it."""
    return RulerCure(
        f"{row.build.number} {cure.place}", f"/builds/{row.build.number}", cure.closed_at, cure.set_at,
        cure.full_at, cure.recoat_from, cure.recoat_until, cure.full_at is None, cure.tacky,
    )  # fmt: skip


@lru_cache(maxsize=4096)
def _mini(cure: RulerCure, minute: datetime, zone: ZoneInfo) -> RulerRow:
    """The thin ruler of one cure; within a minute it is drawn once."""
    return draw_mini_ruler(cure, minute - BEFORE, minute + AFTER, minute, zone)


def row_view(row: BenchRow, now: datetime, zone: ZoneInfo, hours: Hours = ALWAYS) -> RowView:
    """A rod as a row of In hand. Pages show whole minutes, so the row is that of the minute."""
    minute = now.replace(second=0, microsecond=0)
    state = state_of(row, minute, zone, hours)
    due, overdue = due_of(row, minute, zone)
    soft = max(row.cures, key=lambda cure: cure.closed_at, default=None)
    mini = None if soft is None else _mini(ruler_cure(row, soft), minute, zone)
    stage = row.decision.stage
    return RowView(
        row.build.number, row.build.title, row.build.customer, drawing_of(row, compact=True), state.kind,
        state.says, "" if stage is None else f"next: {stage.name}", due, overdue, mini,
    )  # fmt: skip
