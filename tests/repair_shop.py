"""A shop with one rod handed over and the ready-made repairs on file, for the tests of what comes after."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.rules.intakes import IntakeSaid, blank_list
from shop.services.bench import Bench
from shop.services.intakes import RepairSaid, take_in_repair
from shop.services.sequences import add_ready_made
from shop.web.deps import Hub
from tests.spec_shop import CUSTOMER, ORDER, UTC, log, open_desk

ROD, STILL_HERE = ORDER, "26-001"
ALL = ("agreed", "parts in hand", "blank checked", "laid out", "wrapped", "handed over")


def open_repairs_desk(hub: Hub, session: Session, now: datetime) -> Bench:
    """Put the shop on file, with the rod `26-002` handed over and the enquiry `26-001`; gives its bench."""
    bench = open_desk(hub, session, now)
    add_ready_made(session, now=now)
    log(session, bench, ROD, *ALL)
    return bench


def take_in(session: Session, bench: Bench, **more: str) -> str:
    """The number of a repair that is taken in today."""
    own = more.get("own_number", "")
    rod = "" if own else more.get("rod", "7 ft casting, dark green")
    said = IntakeSaid(bench.now.date(), rod, more.get("wish", "A new tip-top."), blank_list(2))
    repair = RepairSaid(CUSTOMER, said, more.get("work", ""), own)
    return take_in_repair(session, bench, repair, zone=UTC).number
