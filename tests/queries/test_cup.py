"""The places that wait for a cup: what to prepare, what is to be done anew, what is in another cup."""

from datetime import datetime, timedelta

import pytest

from shop.craft.quantities import Dimension, Quantity
from shop.db.sessions import Session
from shop.queries.cup import (
    CupAnswer,
    CupSide,
    CupWish,
    Servable,
    cup_answer,
    cups_in_hand,
    places_in_cups,
    servable,
)
from shop.queries.shop import read_shop
from shop.rules.facts import Tick
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.refusals import BadInput
from shop.rules.sequences import HoldKind
from shop.services.bench import Bench
from shop.services.corrections import CureAnew, correct_cure
from shop.services.cups import CupSaid
from shop.services.cures import close_cure
from shop.services.events import Logged, advance
from shop.services.mixes import judge_mix, make_mix, suspect_mix
from shop.services.servings import leave_out
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from tests.api.filled import BOND, FINISH, ZONE
from tests.conftest import START, Hands
from tests.web.bench_shop import open_bench

MAREN = Actor("Maren", ROLE_RIGHTS[Role.OWNER])
NUMBER = "26-001"
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
REAR, WRAPS = (NUMBER, "rear grip"), (NUMBER, "guide wraps")


class Cups:
    """The bench of the small shop at any instant, with one rod."""

    def __init__(self, hub: Hub) -> None:
        self.hub = hub

    def bench(self, session: Session, now: datetime) -> Bench:
        return BenchSide(self.hub, now).bench(session, MAREN)

    def side(self, session: Session, now: datetime) -> CupSide:
        bench = BenchSide(self.hub, now)
        return CupSide(
            bench.view(session), bench.warmth(session), read_shop(session), self.hub.sheets, now
        )  # fmt: skip

    def reach(self, now: datetime, *stages: str) -> None:
        bore = {"rear bore": Quantity(Dimension.LENGTH, 12_000_000)}
        ticks = (Tick("orientation", "Ott"),)
        with self.hub.database.writing(now) as session:
            for name in stages:
                advance(session, NUMBER, self.bench(session, now), Logged(name, measured=bore, ticks=ticks))

    def mix(self, now: datetime, adhesive_id: int = BOND) -> int:
        with self.hub.database.writing(now) as session:
            mixed = make_mix(
                session, self.bench(session, now), adhesive_id=adhesive_id, zone_id=ZONE, mixed_at=None
            )
            return mixed.id

    def serve(self, now: datetime, *places: tuple[str, str]) -> int:
        """Mix a cup of bond for places; gives its id."""
        with self.hub.database.writing(now) as session:
            return cup_of(session, self.bench(session, now), places)

    def close(self, now: datetime, mix_id: int, place: str) -> int:
        with self.hub.database.writing(now) as session:
            bench = self.bench(session, now)
            return close_cure(session, bench, mix_id, build=NUMBER, place=place, closed_at=None).id

    def fail(self, now: datetime, cure_id: int) -> None:
        with self.hub.database.writing(now) as session:
            bench = self.bench(session, now)
            correct_cure(session, bench, cure_id, anew=CureAnew(failed=True), reason="It came loose.")

    def waiting(self, now: datetime, use: str) -> list[Servable]:
        with self.hub.database.reading() as session:
            side = self.side(session, now)
            return servable(side.view, use, places_in_cups(cups_in_hand(session, side), side))

    def answer(self, now: datetime, *serves: tuple[str, str], adhesive_id: int = BOND) -> CupAnswer:
        with self.hub.database.reading() as session:
            return cup_answer(session, self.side(session, now), CupWish(adhesive_id, ZONE, serves))


def cup_of(session: Session, bench: Bench, places: tuple[tuple[str, str], ...]) -> int:
    said = CupSaid(serves=places)
    return make_mix(session, bench, adhesive_id=BOND, zone_id=ZONE, mixed_at=None, cup=said).id


@pytest.fixture
def cups(hub: Hub, hands: Hands) -> Cups:
    """One rod that waits for its rear grip."""
    open_bench(hub, hands)
    cups = Cups(hub)
    cups.reach(START, "agreed", "fitted")
    return cups


def coated(cups: Cups) -> datetime:
    """The first coat of the rod is laid and logged; gives when."""
    cups.close(START, cups.mix(START), "rear grip")
    cups.reach(START, "grip glued")
    seat = START + 10 * HOUR
    cups.close(seat, cups.mix(seat), "reel seat")
    cups.reach(START + 24 * HOUR, "seat glued", "hard")
    laid = START + 25 * HOUR
    cups.close(laid, cups.mix(laid, FINISH), "guide wraps")
    cups.reach(laid, "first coat")
    return laid


def test_what_is_to_be_prepared_is_said_once_the_window_has_shut(cups: Cups) -> None:
    laid = coated(cups)
    (in_time,) = cups.waiting(laid + 20 * HOUR, "finish")
    assert (in_time.prep, in_time.holds, in_time.is_first_coat) == ("", (), False)
    late = laid + 20 * HOUR + timedelta(seconds=1)
    (shut,) = cups.waiting(late, "finish")
    assert (shut.stage, shut.holds) == ("second coat", ())
    assert "has shut: wash, scuff and wipe it, then tick “prep”." in shut.prep
    answer = cups.answer(late, WRAPS, adhesive_id=FINISH)
    assert [item.prep for item in answer.plan.servings] == [shut.prep]
    assert [hold for hold in answer.holds if hold.kind is HoldKind.RECOAT] == []


def test_a_place_whose_joint_failed_waits_for_a_cup_again(cups: Cups) -> None:
    cure_id = cups.close(START, cups.mix(START), "rear grip")
    cups.reach(START, "grip glued")
    (waits,) = cups.waiting(START + HOUR, "bond")
    assert waits.place == "reel seat"
    cups.fail(START + HOUR, cure_id)
    free, held = cups.waiting(START + HOUR, "bond")
    assert (free.place, free.stage, free.holds) == ("rear grip", "grip glued", ())
    assert (held.place, held.stage) == ("reel seat", "seat glued")
    assert "The joint at the rear grip has failed; it must be done anew." in {
        hold.reason for hold in held.holds
    }
    assert cups.answer(START + HOUR, REAR).holds == ()
    again = START + 2 * HOUR
    cups.close(again, cups.mix(again), "rear grip")
    assert [item.place for item in cups.waiting(again, "bond")] == ["reel seat"]


def test_a_coat_that_failed_is_offered_as_that_coat_and_once(cups: Cups) -> None:
    laid = coated(cups)
    with cups.hub.database.reading() as session:
        side = cups.side(session, laid)
        (cure_id,) = (
            cure.id
            for rows in side.view
            for row in rows
            for cure in row.facts.cures
            if cure.place == WRAPS[1]
        )
    cups.fail(laid + HOUR, cure_id)
    (waits,) = cups.waiting(laid + HOUR, "finish")
    assert (waits.stage, waits.is_first_coat, waits.holds) == ("first coat", True, ())


def test_a_joint_is_not_done_anew_with_another_mix_under_suspicion(cups: Cups) -> None:
    first = cups.mix(START)
    cure_id = cups.close(START, first, "rear grip")
    cups.close(START, first, "butt cap")
    cups.reach(START, "grip glued")
    cups.fail(START + HOUR, cure_id)
    with cups.hub.database.writing(START + HOUR) as session:
        suspect_mix(session, cups.bench(session, START + HOUR), first, reason="old bottle")
    waits = next(item for item in cups.waiting(START + HOUR, "bond") if item.place == "rear grip")
    assert [hold.kind for hold in waits.holds] == [HoldKind.SUSPECT]
    assert [hold.kind for hold in cups.answer(START + HOUR, REAR).holds] == [HoldKind.SUSPECT]


@pytest.mark.parametrize(
    ("since", "lives"), [(timedelta(0), True), (29 * MINUTE, True), (30 * MINUTE, False), (HOUR, False)]
)
def test_a_place_waits_in_one_cup_at_a_time(cups: Cups, since: timedelta, lives: bool) -> None:
    cups.serve(START, REAR)
    (waits,) = cups.waiting(START + since, "bond")
    assert waits.in_cup == ("in the cup of 09:00 by Maren" if lives else "")
    if not lives:
        assert cups.answer(START + since, REAR).holds == ()
        return
    with pytest.raises(BadInput) as refused:
        cups.answer(START + since, REAR)
    assert refused.value.errors == {
        "serves": "The rear grip of 26-001 is in the cup of 09:00 by Maren already."
    }


def test_a_place_left_out_of_a_cup_may_go_into_another(cups: Cups) -> None:
    mix_id = cups.serve(START, REAR)
    with cups.hub.database.writing(START) as session:
        leave_out(session, cups.bench(session, START), mix_id, 1, reason="The bore was too tight.")
    (waits,) = cups.waiting(START, "bond")
    assert waits.in_cup == ""
    assert cups.answer(START, REAR).holds == ()


def test_a_cup_that_is_to_be_done_again_serves_nothing(cups: Cups) -> None:
    mix_id = cups.serve(START, REAR)
    with cups.hub.database.writing(START) as session:
        bench = cups.bench(session, START)
        suspect_mix(session, bench, mix_id, reason="measured wrong")
        judge_mix(session, bench, mix_id, verdict="redo", reason="It was.")
    (waits,) = cups.waiting(START, "bond")
    assert waits.in_cup == ""
