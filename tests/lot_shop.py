"""A shelf with lots, rods, and mixes made from the lots, for the tests of lots in every layer."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.db.lots import Lot
from shop.db.mixes import Mix
from shop.queries.cure_clock import CureClock
from shop.queries.facts import surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.cures import close_cure
from shop.services.lots import add_lot
from shop.services.mixes import make_mix
from tests.api.filled import BOND, CUSTOMER, SEQUENCE, ZONE, fill

# The shop's clock of the tests begins on this day.
TODAY = date(2026, 3, 2)
CAME = date(2026, 2, 1)


def bench_at(session: Session, now: datetime, role: Role = Role.OWNER) -> Bench:
    """The bench at an instant, with somebody of a role at it."""
    warmth = CureClock().warmth(session)
    around = surroundings(warmth, "", now.timestamp())
    return Bench(now, Actor("Nell", ROLE_RIGHTS[role]), warmth, around, KeptSequences())


class LotShop:
    """The small shop of the API's tests with two rods; every verb at the instant `now`."""

    def __init__(self, session: Session, now: datetime) -> None:
        self.session = session
        self.now = now
        fill(session, now)
        self.numbers = [self.rod(), self.rod()]

    def bench(self, role: Role = Role.OWNER) -> Bench:
        return bench_at(self.session, self.now, role)

    def rod(self) -> str:
        return take_on_build(
            self.session, now=self.now, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
            rod_kind="casting", sequence_id=SEQUENCE,
        ).number  # fmt: skip

    def lot(self, part: str = "A", number: str = "R-1", adhesive_id: int = BOND, **said: Any) -> Lot:
        said = {"part": part, "number": number, "received_on": CAME, **said}
        return add_lot(self.session, self.bench(), adhesive_id=adhesive_id, **said)

    def mix(
        self,
        lot_a: int | None = None,
        lot_b: int | None = None,
        amounts: tuple[float | None, float | None] = (None, None),
        **more: Any,
    ) -> Mix:
        """A cup from two lots, whatever they are: the Cup's own refusals are not what is tested here."""
        said = {"adhesive_id": BOND, "zone_id": ZONE, "mixed_at": None, **more}
        mix = make_mix(self.session, self.bench(), **said)
        mix.lot_a_id, mix.lot_b_id = lot_a, lot_b
        mix.amount_a_ml, mix.amount_b_ml = amounts
        self.session.flush()
        return mix

    def close(self, mix: Mix, place: str = "rear grip", rod: int = 0) -> int:
        assert mix.root_id is not None
        cure = close_cure(
            self.session, self.bench(), mix.root_id, build=self.numbers[rod], place=place, closed_at=None
        )
        return cure.id
