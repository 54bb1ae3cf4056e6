"""News of your rod in finished words: what a customer may know of their own rod, and nothing else.

Pages, the shop's preview and the plain files of `publish` all show what is put together here.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.bench import BenchRow
from shop.queries.messages import messages_of_build
from shop.queries.payments import owed_of_build
from shop.queries.promises import PromiseView, promises_of_build
from shop.queries.shop import ShopView
from shop.rules.enquiries import is_agreed
from shop.rules.last_changes import HARDENING, LastChange, last_changes
from shop.rules.payments import Owed
from shop.rules.sequences import HoldKind
from shop.web.message_page import MOST_SHOWN, WRITE_HINT, customer_line
from shop.web.photo_page import Picture
from shop.web.rods import drawing_of
from shop.web.wording import amount, day

BEGUN = "The steps that use them have begun."
_EVER = datetime.max.replace(tzinfo=UTC)


class NewsStage(NamedTuple):
    """A stage in the customer's words: `done`, `next` or `later`, and the day it was reached."""

    name: str
    state: str
    text: str


class NewsMove(NamedTuple):
    """A change of the promise in words, and why."""

    words: str
    reason: str


class NewsChanges(NamedTuple):
    """What may still be changed, each with until when, and what is settled by now, with why."""

    open: list[tuple[str, str]]
    settled: list[str]
    because: str


def news_of(
    session: Session, row: BenchRow, shop: ShopView, now: datetime, pictures: Iterable[Picture]
) -> dict[str, Any]:
    """What `pages/news.html` needs of a rod; how it is shown is said by `shown_as`.

    The number of statements is the same for every rod.
    """
    zone, build = shop.zone, row.build
    today = now.astimezone(zone).date()
    finished = build.closed_at is not None
    promises = promises_of_build(session, build.id)
    messages = messages_of_build(session, build.id, MOST_SHOWN)
    handed_over = finished and not build.closed_as
    return {
        "title": build.title,
        "drawing": drawing_of(row, compact=False),
        "stages": _stages(row, today, zone),
        "now_words": _now_words(row, now, zone),
        "hardening": _hardening(row, today, zone),
        "promised": day(build.promised_on, today) if build.promised_on else "",
        "moves": [] if finished else _moves(promises, today),
        "finished": finished,
        "changes": None if finished else _changes(row, now, today, zone),
        "money": _money(owed_of_build(session, build.id), _awaits_deposit(row)),
        "care": shop.care_sheet if handed_over else "",
        "warranty": day(build.warranty_until, today) if handed_over and build.warranty_until else "",
        "pictures": list(pictures),
        "messages": [customer_line(message, shop.name, now, zone) for message in messages],
        "has_new": any(not item.from_customer and item.read_at is None for item in messages),
    }


def shown_as(*, action: str = "", preview: str = "", contact: str = "") -> dict[str, Any]:
    """How the page is shown: with the address that its forms go to, as a preview of a build, or as a file.

    A file takes no messages; `contact` is the mail address that it names instead, if there is one.
    """
    return {"action": action, "preview": preview, "contact": contact, "write_hint": WRITE_HINT}


def _stages(row: BenchRow, today: date, zone: ZoneInfo) -> list[NewsStage]:
    told = [stage for stage in row.sequence.stages if stage.customer_words]
    first_open = next((stage for stage in told if stage.name not in row.facts.reached), None)
    if row.build.closed_as:
        first_open = None
    stages = []
    for stage in told:
        reached = row.facts.reached.get(stage.name)
        if reached is not None:
            text = day(reached.at.astimezone(zone).date(), today)
            stages.append(NewsStage(stage.customer_words, "done", text))
        else:
            # The words tell of a stage as done, so the one to come must be told apart in words too.
            state, text = ("next", "comes next") if stage is first_open else ("later", "")
            stages.append(NewsStage(stage.customer_words, state, text))
    return stages


def _now_words(row: BenchRow, now: datetime, zone: ZoneInfo) -> str:
    """What is being waited for, without a word that is the shop's alone."""
    decision, build = row.decision, row.build
    if build.closed_as:
        return "This order is closed; no work goes on. Ask the shop if that is news to you."
    if decision.stage is None:
        return "Your rod is finished."
    if build.is_enquiry:
        if is_agreed(row.facts.approval):
            return "Your order is with the shop, which takes it on next."
        return "Your wishes are written down; nothing is ordered yet."
    never = any(hold.kind in HARDENING and hold.clears_at is None for hold in decision.holds)
    if never and any(cure.full_at is None for cure in row.cures):
        return "Something on it is hardening slowly; it is given the time it needs."
    until = decision.time_clears_at
    if until is not None:
        last = day(until.astimezone(zone).date(), now.astimezone(zone).date())
        return f"Something on it is hardening until about {last}; nobody needs to do anything until then."
    return "It waits for its next step at the bench."


def _hardening(row: BenchRow, today: date, zone: ZoneInfo) -> list[tuple[str, str]]:
    """Every place where something is still hardening, and until about when; the slowest comes last."""
    ends: dict[str, datetime | None] = {}
    for cure in row.cures:
        end, other = cure.full_at, ends.get(cure.place, cure.full_at)
        ends[cure.place] = None if end is None or other is None else max(end, other)
    said = []
    for place, end in sorted(ends.items(), key=lambda item: (item[1] is None, item[1] or _EVER)):
        until = "slowly; it is given the time it needs"
        if end is not None:
            until = f"fully hard about {day(end.astimezone(zone).date(), today)}"
        said.append((f"On the {place}", until))
    return said


def _moves(promises: Iterable[PromiseView], today: date) -> list[NewsMove]:
    """Every change of the promise with its reason, the newest first."""
    moves = []
    for promise in promises:
        if promise.was_on is None:
            continue
        was = day(promise.was_on, today)
        if promise.promised_on is None:
            words = f"{was} no longer holds"
        else:
            words = f"from {was} to {day(promise.promised_on, today)}"
        moves.append(NewsMove(words, promise.reason))
    return moves[::-1]


def _changes(row: BenchRow, now: datetime, today: date, zone: ZoneInfo) -> NewsChanges:
    """What may still be changed and until when; the day that the shop named goes before the steps."""
    last, found = row.build.change_by, last_changes(row.sequence, row.facts, now)
    is_over = last is not None and last < today
    return NewsChanges(
        [
            (f"{change.label[:1].upper()}{change.label[1:]}", _until(change, last, today, zone))
            for change in found
            if change.is_open and not is_over
        ],
        [change.label for change in found if is_over or not change.is_open],
        f"The last day for changes was {day(last, today)}." if last is not None and is_over else BEGUN,
    )


def _until(change: LastChange, last: date | None, today: date, zone: ZoneInfo) -> str:
    if last is not None:
        return f"Until {day(last, today)}."
    if change.not_before is None:
        return change.words
    soonest = change.not_before.astimezone(zone).date()
    if soonest <= today:
        return change.words
    return f"{change.words} As things stand, not before {day(soonest, today)}."


def _awaits_deposit(row: BenchRow) -> bool:
    """Whether a stage to come waits for the deposit; a rework agreed later raises it on paper only."""
    to_come = (stage for stage in row.sequence.stages if stage.name not in row.facts.reached)
    return any(hold.kind is HoldKind.DEPOSIT for stage in to_come for hold in stage.holds)


def _money(owed: Owed, awaits_deposit: bool) -> list[tuple[str, str]]:
    """What was agreed, paid and is owed; nothing before a quote was agreed, or once the order is closed."""
    if owed.agreed_cents is None or owed.is_dropped:
        return []
    said = [("Agreed", owed.agreed_cents), ("Paid", owed.paid_cents), ("Owed", owed.owed_cents)]
    if owed.deposit_owed_cents and awaits_deposit:
        said.append(("Of that, to begin with", owed.deposit_owed_cents))
    if owed.over_cents:
        said.append(("Paid beyond that", owed.over_cents))
    return [(label, amount(cents, owed.currency)) for label, cents in said]
