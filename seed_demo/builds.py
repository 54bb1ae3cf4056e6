"""The demo's customers and rods: what is promised, and how far each has come."""

import random
from datetime import datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from seed_demo.afterwards import fill_afterwards
from seed_demo.enquiries import fill_enquiries
from seed_demo.hand import Hand
from seed_demo.make_ups import lay_down
from seed_demo.money import agree_on, quote_an_enquiry
from seed_demo.news import fill_news
from seed_demo.shelf import Shelf
from seed_demo.shop import TIME_ZONE
from seed_demo.stock import count_the_shelf
from seed_demo.turner import fill_turner
from shop.db.builds import Build
from shop.queries.builds import build_record
from shop.queries.cure_clock import CureClock
from shop.queries.kept_sequences import KeptSequences
from shop.queries.sequences import sequence_for_kind
from shop.services.builds import take_on_build
from shop.services.customers import add_customer

CUSTOMERS = (
    "Ilse Varrow", "Tobin Achard", "Runa Selby", "Matteo Quill", "Greta Olander", "Sunniva Marsh",
    "Pavel Torrin", "Nadia Ferrow", "Anselm Birk", "Keiko Harrow",
)  # fmt: skip
COLOURS = ("#7a1f2b", "#1f4e7a", "#2f6b3a", "#8a5a14", "#4b2e6b", "#0f5f5f")


class Plan(NamedTuple):
    """A rod: its kind, its title, the stage it has reached, when it was begun and is promised (in days).

    With `hours_ago` its next stage was logged that long ago besides, in `zone`; so its joints or coats
    have been hardening since.
    """

    kind: str
    title: str
    until: str
    begun_days_ago: float
    promised_in_days: int
    hours_ago: float | None = None
    zone: str = "bench"


PLANS = (
    Plan("casting", "7 ft casting, jerkbaits", "grips fitted", 6, 9, hours_ago=3.5),
    Plan("casting", "7 ft casting, crankbaits", "rear grip glued", 7, 8, hours_ago=5.0),
    Plan("casting", "6 ft 8 in casting, pike", "wrapped", 12, 4, hours_ago=16.0),
    Plan("casting", "7 ft 2 in casting, worms", "spine marked", 2, 20),
    Plan("casting", "7 ft casting, a gift", "order agreed", 1, 25),
    Plan("spinning", "6 ft 6 in spinning, perch", "wrapped", 16, 2, hours_ago=84.0),
    Plan("spinning", "6 ft 6 in spinning, trout", "grips fitted", 8, -1, hours_ago=2.0),
    Plan("spinning", "7 ft spinning, sea trout", "first finish coat", 18, 6),
    Plan("spinning", "6 ft spinning, a boy's first", "handle cured", 9, 12),
    Plan("fly", "9 ft 4-piece fly, 5 line", "blank checked", 3, 21),
    Plan("fly", "9 ft 4-piece fly, 6 line", "alignment dots and ferrules checked", 14, 5, hours_ago=1.5),
    Plan("surf", "11 ft 6 in surf, two pieces", "rear grip glued", 9, 10, hours_ago=20.0, zone="back store"),
    Plan("surf", "12 ft surf, bass", "inspected", 28, 1),
    Plan("boat", "6 ft boat, roller guides", "blank checked", 5, 18),
    Plan("boat", "5 ft 9 in boat, halibut", "handed over", 29, -3),
    Plan("casting", "7 ft casting, finished", "handed over", 29, 0),
)
SHOWN = "6 ft 8 in casting, pike"
CAME_BACK = "7 ft casting, finished"
CHANGED = "7 ft 2 in casting, worms"


def take_on_builds(
    session: Session, shelf: Shelf, *, now: datetime, chance: random.Random, secret: bytes
) -> int:
    """Take the rods on and bring each to where it stands; gives the id of the one whose link is shown."""
    hand = Hand(session, shelf, chance, CureClock(), KeptSequences())
    customers = [
        add_customer(session, now=now, name=name, email=f"{name.split()[0].lower()}@example.org").id
        for name in CUSTOMERS
    ]
    shown, taken_on = 0, {}
    for position, plan in enumerate(sorted(PLANS, key=lambda plan: -plan.begun_days_ago)):
        build = _take_on(session, shelf, plan, customers[position % len(customers)], position, now)
        _bring_on(hand, build, plan, now, secret)
        taken_on[plan.title] = build.number
        if plan.title == SHOWN:
            shown = build.id
    fill_turner(hand, now=now)
    count_the_shelf(session, shelf, hand.bench(now))
    fill_enquiries(hand, build_record(session, taken_on[CHANGED]), now=now)
    quote_an_enquiry(hand, secret, now=now)
    fill_afterwards(hand, taken_on[CAME_BACK], now=now)
    fill_news(session, hand, build_record(session, taken_on[SHOWN]), now=now)
    return shown


def _take_on(
    session: Session, shelf: Shelf, plan: Plan, customer_id: int, position: int, now: datetime
) -> Build:
    sequence_id, rod_kind = sequence_for_kind(session, None, plan.kind)
    today = now.astimezone(ZoneInfo(TIME_ZONE)).date()
    return take_on_build(
        session, now=now - timedelta(days=plan.begun_days_ago), zone=ZoneInfo(TIME_ZONE),
        customer_id=customer_id, title=plan.title, rod_kind=rod_kind, sequence_id=sequence_id,
        blank_id=shelf.blanks[plan.kind], promised_on=today + timedelta(days=plan.promised_in_days),
        thread_colour=COLOURS[position % len(COLOURS)],
    )  # fmt: skip


def _bring_on(hand: Hand, build: Build, plan: Plan, now: datetime, secret: bytes) -> None:
    begun = now - timedelta(days=plan.begun_days_ago)
    lay_down(hand.session, hand.shelf, hand.bench(begun), build.number, plan.kind)
    agree_on(hand, secret, build.number, plan.title, begun)
    if plan.hours_ago is None:
        hand.walk(build, plan.until, begun, now)
        return
    last = now - timedelta(hours=plan.hours_ago)
    hand.walk(build, plan.until, begun, last - timedelta(minutes=10))
    stage = hand.row(build, last).decision.stage
    if stage is not None:
        hand.log(build, stage, last, plan.zone)
