"""The demo's lots: bottles to mix from, one near its last day, one out of date, one quarantined, one used up.

All of them came before the first rod of the demo was begun. Numbers and dates are invented.
"""

from datetime import datetime, timedelta
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.queries.cure_clock import CureClock
from shop.queries.facts import surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.queries.shop import shop_day
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.bench import Bench
from shop.services.lots import add_lot, empty_lot, quarantine_lot

CAME_DAYS_AGO = 70
OPENED_DAYS_AGO = 45


class LotPair(NamedTuple):
    """The ids of the two lots that the demo mixes one adhesive from; a kit is both."""

    lot_a_id: int
    lot_b_id: int


class Bottle(NamedTuple):
    """A lot of one adhesive of the demo; days are from today. `serves` says as which parts mixes use it."""

    adhesive: str
    part: str
    number: str
    use_by_in_days: int
    amount_ml: float
    position: str
    serves: tuple[str, ...] = ()
    is_open: bool = True
    quarantined: str = ""
    emptied_days_ago: int | None = None


BOTTLES = (
    Bottle("slow", "A", "R-2207", 420, 946.0, "cupboard, left", ("A",)),
    Bottle("slow", "B", "H-1184", 300, 946.0, "cupboard, left", ("B",)),
    Bottle("slow", "B", "H-1102", -20, 946.0, "cupboard, right"),
    Bottle("slow", "kit", "K-0450", 90, 236.0, "", emptied_days_ago=40),
    Bottle("fast", "kit", "Q-0931", 12, 118.0, "bench drawer", ("A", "B")),
    Bottle("finish", "A", "S-4410", 260, 473.0, "dust-free box", ("A",)),
    Bottle("finish", "B", "S-4411", 260, 473.0, "dust-free box", ("B",)),
    Bottle(
        "finish", "B", "S-4398", 200, 473.0, "quarantine shelf", is_open=False,
        quarantined="Stringy when poured; the trial cup was still soft after two days.",
    ),
)  # fmt: skip


def put_lots_on_shelf(session: Session, adhesives: dict[str, int], *, now: datetime) -> dict[str, LotPair]:
    """Put every bottle on the shelf; gives what to mix from, by the key of the adhesive."""
    serving: dict[tuple[str, str], int] = {}
    for bottle in BOTTLES:
        lot_id = _put(session, adhesives[bottle.adhesive], bottle, now)
        serving |= {(bottle.adhesive, part): lot_id for part in bottle.serves}
    return {key: LotPair(serving[key, "A"], serving[key, "B"]) for key in adhesives}


def _put(session: Session, adhesive_id: int, bottle: Bottle, now: datetime) -> int:
    bench = _bench(session, now)
    today = shop_day(session, now)
    lot = add_lot(
        session, bench, adhesive_id=adhesive_id, part=bottle.part, number=bottle.number,
        received_on=today - timedelta(days=CAME_DAYS_AGO),
        opened_on=today - timedelta(days=OPENED_DAYS_AGO) if bottle.is_open else None,
        use_by=today + timedelta(days=bottle.use_by_in_days), position=bottle.position,
        amount_ml=bottle.amount_ml,
    )  # fmt: skip
    if bottle.quarantined:
        quarantine_lot(session, bench, lot.id, reason=bottle.quarantined, suspect_mixes=False)
    if bottle.emptied_days_ago is not None:
        empty_lot(session, bench, lot.id, on=today - timedelta(days=bottle.emptied_days_ago))
    return lot.id


def _bench(session: Session, now: datetime) -> Bench:
    warmth = CureClock().warmth(session)
    around = surroundings(warmth, "", now.timestamp())
    return Bench(now, Actor("Maren", ROLE_RIGHTS[Role.OWNER]), warmth, around, KeptSequences())
