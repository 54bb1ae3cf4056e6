"""The demo's time after the handing over: a rod that came back, and somebody else's that is looked over."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from seed_demo.hand import Hand
from seed_demo.shop import TIME_ZONE
from shop.queries.builds import build_view
from shop.queries.lots import lots_of_build
from shop.rules.intakes import Condition, IntakeSaid, blank_list
from shop.rules.returns import ReturnSaid
from shop.services.customers import add_customer
from shop.services.intakes import RepairSaid, take_in_repair
from shop.services.returns import record_return

SEEN = {
    "tip-top": Condition("tip-top", "missing", "broken off, a stump of the tube is left"),
    "guide 1 ring": Condition("guide 1 ring", "worn", "a groove on the underside"),
    "guide 3 wrap": Condition("guide 3 wrap", "cracked", "finish lifted, thread frayed"),
    "blank": Condition("blank", "sound"),
    "reel seat": Condition("reel seat", "loose", "turns under a firm hand"),
    "rear grip": Condition("rear grip", "worn"),
}


def fill_afterwards(hand: Hand, finished: str, *, now: datetime) -> None:
    """Take in a rod that was bought elsewhere, and write down that a finished one came back."""
    zone = ZoneInfo(TIME_ZONE)
    bench = hand.bench(now - timedelta(hours=2))
    today = bench.now.astimezone(zone).date()
    customer = add_customer(
        hand.session, now=bench.now, name="Teodor Wick", email="teodor@example.org"
    )  # fmt: skip
    rows = tuple(SEEN.get(row.item, row) for row in blank_list(7))
    intake = IntakeSaid(
        today, "8 ft spinning, two pieces, dark green, no name on it",
        "The tip is off since the weekend; and the seat turns a little.", rows,
    )  # fmt: skip
    take_in_repair(hand.session, bench, RepairSaid(customer.id, intake, "joint glued again"), zone=zone)
    _came_back(hand, finished, now)


def _came_back(hand: Hand, number: str, now: datetime) -> None:
    """A guide's wrap of a finished rod lifted; it is put down to a lot of the finish, where one is known."""
    bench = hand.bench(now - timedelta(hours=1))
    said = ReturnSaid(
        bench.now.astimezone(ZoneInfo(TIME_ZONE)).date(), "finish came off", "second finish coat",
        person=bench.actor.name, cost_cents=18_50, note="Lifted at the third guide; coated again.",
    )  # fmt: skip
    uses = lots_of_build(hand.session, build_view(hand.session, number).id).uses
    lot_id = next((use.lot_id for use in uses if use.place == "guide wraps"), None)
    record_return(hand.session, number, bench, replace(said, lot_id=lot_id))
