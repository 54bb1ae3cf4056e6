"""The small shop of the API's tests with a turner of three places and rods to coat, for tests of every layer.

Its sheet of the finish says to turn a coat for four hours at 20 °C, which is what the zone is at.
"""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.craft.lengths import parse_length
from shop.db.turners import TurnerStay, TurnerStop
from shop.queries.cure_clock import CureClock
from shop.queries.facts import surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.queries.turner_facts import turner_fact
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.adhesives import change_adhesive
from shop.services.bench import Bench
from shop.services.blanks import add_blank
from shop.services.builds import take_on_build
from shop.services.cures import close_cure
from shop.services.mixes import make_mix
from shop.services.turner_stops import stop_turner
from shop.services.turners import add_turner, put_on
from tests.api.filled import CUSTOMER, FINISH, SEQUENCE, ZONE, fill

TURNER = 1
PLACES = 3
TURNED = timedelta(hours=4)
# Whole rods but the last, which has four sections.
RODS = ("26-001", "26-002", "26-003", "26-004")
FOUR_PIECE = "26-004"


def fill_with_turner(session: Session, now: datetime) -> None:
    """Put the shop, its turner and its rods on file."""
    fill(session, now)
    turn_minutes = TURNED / timedelta(minutes=1)
    change_adhesive(session, FINISH, now=now, by="Nell", turn_minutes=turn_minutes)
    add_turner(session, now=now, name="Rack", places=PLACES, check_minutes=120, zone_id=ZONE)
    blank = add_blank(
        session, now=now, maker="Tern", model="904", length_nm=parse_length("9'"), pieces=4, stations=[]
    )
    for number in RODS:
        take_on_build(
            session, now=now, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft", rod_kind="casting",
            sequence_id=SEQUENCE, blank_id=blank.id if number == FOUR_PIECE else None,
        )  # fmt: skip


def bench_at(session: Session, now: datetime, role: Role = Role.OWNER) -> Bench:
    """The bench at an instant, with somebody of a role at it."""
    warmth = CureClock().warmth(session)
    around = surroundings(warmth, "", now.timestamp(), turner_fact(session, warmth))
    return Bench(now, Actor("Nell", ROLE_RIGHTS[role]), warmth, around, KeptSequences())


def lay_coat(session: Session, bench: Bench, build: str, place: str = "guide wraps") -> int:
    """A fresh mix of the finish, and a coat laid with it at once; gives the cure's id."""
    mix = make_mix(session, bench, adhesive_id=FINISH, zone_id=ZONE, mixed_at=None)
    assert mix.root_id is not None
    return close_cure(session, bench, mix.root_id, build=build, place=place, closed_at=None).id


class TurnerShop:
    """The shop in one session; every verb at the instant `now`."""

    def __init__(self, session: Session, now: datetime) -> None:
        self.session = session
        self.now = now
        fill_with_turner(session, now)

    def bench(self, role: Role = Role.OWNER) -> Bench:
        return bench_at(self.session, self.now, role)

    def forward(self, **span: float) -> None:
        self.now += timedelta(**span)

    def coat(self, build: str) -> int:
        return lay_coat(self.session, self.bench(), build)

    def put_on(self, build: str, place: int, section: int = 0, on_at: datetime | None = None) -> TurnerStay:
        return put_on(
            self.session, self.bench(), TURNER, build=build, section=section, place_number=place, on_at=on_at
        )

    def coated(self, build: str, place: int) -> TurnerStay:
        """A rod coated and put on at once."""
        self.coat(build)
        return self.put_on(build, place)

    def stop(self, stopped_at: datetime | None = None, note: str = "") -> TurnerStop:
        return stop_turner(self.session, self.bench(), TURNER, stopped_at=stopped_at, note=note)
