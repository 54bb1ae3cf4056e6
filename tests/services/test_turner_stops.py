"""Stops of turners through the services: what was wet, turned by hand and inspected; what the record says."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_view
from shop.queries.cure_clock import CureClock
from shop.queries.cures import cure_record
from shop.queries.events import events_of_build
from shop.queries.facts import facts_of_build, facts_of_open_builds, seen_from
from shop.queries.kept_records import KeptRecords
from shop.queries.turner_facts import turner_fact
from shop.queries.turner_stops import StopView, stop_view, stops_to_see
from shop.queries.turners import turner_view
from shop.rules.facts import Facts, TurnerFact
from shop.rules.refusals import BadInput, Held, NotOnFile, Overtaken
from shop.rules.sequences import HoldKind
from shop.services.corrections import CureAnew, MixAnew, correct_cure, correct_mix
from shop.services.cures import close_cure
from shop.services.events import Logged, advance
from shop.services.mixes import make_mix
from shop.services.turner_stops import end_stop, inspect, stop_turner, turn_by_hand
from shop.services.turners import add_turner, move, note_turning, take_off
from tests.api.filled import BOND, FINISH, ZONE
from tests.conftest import START
from tests.turner_shop import FOUR_PIECE, RODS, TURNED, TURNER, TurnerShop

FIRST, SECOND, THIRD, _ = RODS
MS = timedelta(milliseconds=1)
HOUR = timedelta(hours=1)


@pytest.fixture
def shop(session: Session) -> TurnerShop:
    return TurnerShop(session, START)


def seen(shop: TurnerShop, stop_id: int = 1) -> StopView:
    return stop_view(shop.session, stop_id, CureClock().warmth(shop.session))


def notes(shop: TurnerShop, number: str = FIRST) -> list[str]:
    build = build_view(shop.session, number)
    return [event.note for event in events_of_build(shop.session, build.id) if event.kind == "turner"]


def facts(shop: TurnerShop, number: str = FIRST) -> Facts:
    """The facts by the way of one rod; the way of all open rods must give the same."""
    bench, build = shop.bench(), build_view(shop.session, number)
    alone = facts_of_build(shop.session, build.id, build.pass_number, bench.warmth, bench.around)
    among = facts_of_open_builds(shop.session, KeptRecords(), bench.warmth)
    assert seen_from(among.get(build.id, Facts()), bench.around) == alone
    return alone


def test_a_stop_catches_every_wet_rod_and_lists_the_wettest_first(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    shop.forward(hours=3)
    shop.coated(SECOND, 2)
    shop.put_on(THIRD, 3)
    shop.forward(minutes=30)
    shop.stop(note="breaker")
    stop = seen(shop)
    assert [(rod.build, rod.place_number) for rod in stop.by_hand(shop.now)] == [(SECOND, 2), (FIRST, 1)]
    assert stop.to_inspect(shop.now) == []
    # Nobody had looked since the rods were put on, so it may have stood still all that time.
    assert stop.stopped_at == START + 3 * HOUR
    assert notes(shop)[-1] == (
        "Rack stood still (breaker) with the whole rod wet on it, place 1: turn it by hand, then inspect the "
        "coat."
    )
    assert len(notes(shop, THIRD)) == 1


@pytest.mark.parametrize(("before", "caught"), [(MS, [FIRST]), (timedelta(0), [])])
def test_what_had_turned_long_enough_is_not_caught(
    shop: TurnerShop, before: timedelta, caught: list[str]
) -> None:
    shop.coated(FIRST, 1)
    shop.now = START + TURNED + HOUR
    shop.stop(START + TURNED - before)
    assert [rod.build for rod in seen(shop).rods] == caught


def test_a_rod_that_came_off_since_was_caught_too(shop: TurnerShop) -> None:
    stay = shop.coated(FIRST, 1)
    shop.now = START + TURNED
    take_off(shop.session, shop.bench(), stay.id)
    shop.forward(minutes=5)
    shop.stop(START + HOUR)
    stop = seen(shop)
    assert ([rod.build for rod in stop.to_inspect(shop.now)], stop.by_hand(shop.now)) == ([FIRST], [])
    assert notes(shop)[-1].endswith("place 1: inspect the coat.")


def test_a_rod_put_on_after_the_unnoticed_stop_and_one_entered_late_are_caught(shop: TurnerShop) -> None:
    shop.forward(hours=1)
    shop.coated(FIRST, 1)
    shop.coat(SECOND)
    shop.forward(minutes=20)
    shop.forward(minutes=5)
    shop.coated(THIRD, 3)
    shop.forward(minutes=5)
    shop.stop(START + HOUR)
    assert {rod.build for rod in seen(shop).rods} == {FIRST, THIRD}
    end_stop(shop.session, shop.bench(), 1)
    shop.forward(minutes=1)
    shop.put_on(SECOND, 2, on_at=shop.now - timedelta(minutes=10))
    assert {rod.build for rod in seen(shop).rods} == {FIRST, SECOND, THIRD}
    assert facts(shop, SECOND).inspections


def close_late(shop: TurnerShop, closed_at: datetime, build: str = FIRST, place: str = "guide wraps") -> int:
    """A coat of a cup mixed at that instant, written down now; gives the cure's id."""
    bench = shop.bench()
    mix = make_mix(shop.session, bench, adhesive_id=FINISH, zone_id=ZONE, mixed_at=closed_at)
    return close_cure(shop.session, bench, mix.id, build=build, place=place, closed_at=closed_at).id


def test_a_coat_written_down_late_is_caught_by_the_stop_that_is_over(shop: TurnerShop) -> None:
    shop.put_on(FIRST, 1)
    shop.forward(hours=1)
    shop.stop(START + HOUR / 2)
    end_stop(shop.session, shop.bench(), 1)
    assert seen(shop).rods == ()
    shop.forward(hours=6)
    close_late(shop, START + MS)
    assert [rod.build for rod in seen(shop).to_inspect(shop.now)] == [FIRST]
    assert facts(shop).inspections
    assert notes(shop)[-1] == "Rack stood still with the whole rod wet on it, place 1: inspect the coat."
    build = build_view(shop.session, FIRST)
    assert (
        max(e.at for e in events_of_build(shop.session, build.id) if e.kind == "turner") == START + HOUR / 2
    )
    # A further coat of the same rod was inspected with the first.
    close_late(shop, START + 2 * MS, place="trim wrap")
    assert len(seen(shop).rods) == 1


@pytest.mark.parametrize(
    ("closed", "stay", "caught"),
    [
        # The stop is from 1 h to 2 h; the coat turns for four hours from its closing.
        (START + 2 * HOUR - MS, 1, True),
        (START + 2 * HOUR, 1, False),
        (START + HOUR - TURNED + MS, 1, True),
        (START + HOUR - TURNED, 1, False),
        (START + HOUR, 0, False),
    ],
)
def test_a_late_coat_is_caught_by_a_stop_within_its_turning_alone(
    shop: TurnerShop, closed: datetime, stay: int, caught: bool
) -> None:
    shop.now = START + 3 * HOUR
    if stay:
        shop.put_on(FIRST, stay, on_at=START)
    shop.stop(START + HOUR)
    end_stop(shop.session, shop.bench(), 1, ended_at=START + 2 * HOUR)
    close_late(shop, closed)
    assert bool(seen(shop).rods) is caught
    assert bool(facts(shop).inspections) is caught


def test_a_coat_put_right_into_a_stop_is_caught_by_it(shop: TurnerShop) -> None:
    shop.now = START + 3 * HOUR
    shop.put_on(FIRST, 1, on_at=START)
    shop.put_on(SECOND, 2, on_at=START)
    shop.stop(START + HOUR)
    end_stop(shop.session, shop.bench(), 1, ended_at=START + 2 * HOUR)
    cure = close_late(shop, START + 2 * HOUR)
    glue = make_mix(shop.session, shop.bench(), adhesive_id=BOND, zone_id=ZONE, mixed_at=START + HOUR)
    close_cure(
        shop.session, shop.bench(), glue.id, build=SECOND, place="guide wraps", closed_at=START + HOUR
    )  # fmt: skip
    assert seen(shop).rods == ()
    mix_id = cure_record(shop.session, cure).mix_id
    earlier = MixAnew(mixed_at=START + 2 * HOUR - 2 * MS)
    correct_mix(shop.session, shop.bench(), mix_id, anew=earlier, reason="A slip.")
    assert seen(shop).rods == ()
    closed = CureAnew(closed_at=START + 2 * HOUR - MS)
    correct_cure(shop.session, shop.bench(), cure, anew=closed, reason="The clock was fast.")
    assert [rod.build for rod in seen(shop).rods] == [FIRST]
    # What was thought to be glue was the finish.
    finish = MixAnew(adhesive_id=FINISH)
    correct_mix(shop.session, shop.bench(), glue.id, anew=finish, reason="The other bottle.")
    assert [rod.build for rod in seen(shop).rods] == [FIRST, SECOND]


def test_a_rod_moved_late_is_caught_by_the_stop_where_it_went(shop: TurnerShop) -> None:
    other = add_turner(shop.session, now=shop.now, name="Spare", places=1, check_minutes=120)
    stay = shop.coated(FIRST, 1)
    shop.forward(hours=2)
    stop = stop_turner(shop.session, shop.bench(), other.id, stopped_at=START + HOUR)
    end_stop(shop.session, shop.bench(), stop.id)
    move(
        shop.session, shop.bench(), stay.id, turner_id=other.id, place_number=1, at=START + HOUR / 2
    )  # fmt: skip
    assert [rod.build for rod in seen(shop, stop.id).rods] == [FIRST]


def test_a_coat_that_is_written_down_while_it_stands_still_is_caught_at_once(shop: TurnerShop) -> None:
    shop.put_on(FIRST, 1)
    shop.stop()
    assert seen(shop).rods == ()
    shop.coat(FIRST)
    assert [rod.build for rod in seen(shop).by_hand(shop.now)] == [FIRST]
    assert notes(shop)[-1].endswith("turn it by hand, then inspect the coat.")
    shop.forward(minutes=15)
    end_stop(shop.session, shop.bench(), 1)
    assert [rod.build for rod in seen(shop).to_inspect(shop.now)] == [FIRST]
    assert notes(shop)[-1] == "Rack turns again; it stood still for 15 min."


def test_it_is_last_seen_turning_at_the_last_look(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    shop.forward(hours=1)
    note_turning(shop.session, shop.bench(), TURNER)
    looked = shop.now
    shop.forward(minutes=30)
    assert shop.stop().stopped_at == looked


def test_turned_by_hand_as_often_as_it_was_but_one_tap_is_one_turn(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    shop.coated(SECOND, 2)
    shop.stop()
    turn_by_hand(shop.session, shop.bench(), 1, build=FIRST)
    shop.forward(seconds=29)
    turn_by_hand(shop.session, shop.bench(), 1, build=FIRST)
    assert notes(shop)[2:] == ["Turned by hand while Rack stands still: the whole rod."]
    assert [rod.build for rod in seen(shop).by_hand(shop.now)] == [SECOND, FIRST]
    shop.forward(minutes=10)
    turn_by_hand(shop.session, shop.bench(), 1, build=FIRST)
    assert len(notes(shop)[2:]) == 2
    assert [rod.turned_at for rod in seen(shop).rods] == [None, shop.now]
    end_stop(shop.session, shop.bench(), 1)
    with pytest.raises(Overtaken, match="no need of it"):
        turn_by_hand(shop.session, shop.bench(), 1, build=FIRST)


def test_nothing_goes_on_until_the_coat_is_inspected(shop: TurnerShop) -> None:
    stay = shop.coated(FIRST, 1)
    shop.forward(hours=1)
    shop.stop()
    (words,) = facts(shop).inspections
    assert words == "Rack stood still at 2026-03-02 09:00 UTC with the whole rod wet on it."
    with pytest.raises(Held, match="Inspect the coat after the turner's stop: Rack stood still") as held:
        advance(shop.session, FIRST, shop.bench(), Logged("agreed"))
    assert [hold.kind for hold in held.value.decision.holds] == [HoldKind.CHECK]
    with pytest.raises(Held, match="stands still with its coat wet"):
        inspect(shop.session, shop.bench(), 1, build=FIRST, outcome="good")
    shop.forward(minutes=10)
    end_stop(shop.session, shop.bench(), 1)
    shop.now = START + 2 * TURNED
    with pytest.raises(Held, match="inspect its coat before its place is freed"):
        take_off(shop.session, shop.bench(), stay.id)
    with pytest.raises(Held, match="inspect its coat"):
        take_off(shop.session, shop.bench(), stay.id, reason="It is dry.")
    inspect(shop.session, shop.bench(), 1, build=FIRST, outcome="good", by="Ott")
    assert facts(shop).inspections == ()
    take_off(shop.session, shop.bench(), stay.id)
    advance(shop.session, FIRST, shop.bench(), Logged("agreed"))
    assert notes(shop) == [
        "Put on Rack, place 1: the whole rod.",
        "Rack stood still with the whole rod wet on it, place 1: turn it by hand, then inspect the coat.",
        "Rack turns again; it stood still for 1 h 10 min.",
        "The coat of the whole rod was inspected after the stop of Rack: good.",
        "Taken off Rack, place 1, after 8 h 00 min.",
    ]
    with pytest.raises(Overtaken, match=f"Ott has inspected {FIRST} already: good"):
        inspect(shop.session, shop.bench(), 1, build=FIRST, outcome="flawed", note="a run")


def test_a_flawed_coat_is_said_to_be_done_anew(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    shop.stop()
    end_stop(shop.session, shop.bench(), 1)
    inspect(shop.session, shop.bench(), 1, build=FIRST, outcome="flawed", note="runs at guide 3")
    assert notes(shop)[-1].endswith("flawed: runs at guide 3. Sand and recoat by the sheet, or strip it.")


def test_a_rod_carried_to_a_turner_that_turns_may_be_inspected_there(shop: TurnerShop) -> None:
    add_turner(shop.session, now=shop.now, name="Spare", places=1, check_minutes=60)
    stay = shop.coated(FIRST, 1)
    shop.forward(minutes=10)
    shop.stop()
    assert (facts(shop).is_on_turner, len(facts(shop).inspections)) == (False, 1)
    move(shop.session, shop.bench(), stay.id, turner_id=2, place_number=1)
    assert facts(shop).is_on_turner
    assert seen(shop).by_hand(shop.now) == []
    inspect(shop.session, shop.bench(), 1, build=FIRST, outcome="good")


def test_each_section_is_inspected_for_itself(shop: TurnerShop) -> None:
    shop.coat(FOUR_PIECE)
    stays = [shop.put_on(FOUR_PIECE, place, section=place) for place in (1, 2)]
    shop.stop()
    end_stop(shop.session, shop.bench(), 1)
    inspect(shop.session, shop.bench(), 1, build=FOUR_PIECE, section=1, outcome="good")
    assert len(facts(shop, FOUR_PIECE).inspections) == 1
    shop.now = START + TURNED
    take_off(shop.session, shop.bench(), stays[0].id)
    with pytest.raises(Held):
        take_off(shop.session, shop.bench(), stays[1].id)


def test_a_turner_that_stands_still_has_no_free_place_and_asks_for_no_look(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    shop.stop()
    warmth = CureClock().warmth(shop.session)
    assert turner_view(shop.session, TURNER, warmth).free == 0
    assert turner_fact(shop.session, warmth) == TurnerFact(3, 0)
    assert turner_view(shop.session, TURNER, warmth).look_at(shop.now + 3 * HOUR) is None
    for verb in (lambda: shop.put_on(SECOND, 2), lambda: note_turning(shop.session, shop.bench(), TURNER)):
        with pytest.raises(Overtaken, match="Rack stands still since 2026-03-02 09:00 UTC"):
            verb()


def test_a_stop_ends_once_and_begins_once(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    shop.forward(hours=1)
    stop = shop.stop()
    with pytest.raises(Overtaken, match="on record already that Rack stands still"):
        shop.stop()
    with pytest.raises(BadInput, match="before it stopped"):
        end_stop(shop.session, shop.bench(), stop.id, ended_at=START - MS)
    end_stop(shop.session, shop.bench(), stop.id, ended_at=START + HOUR / 2, by="Ott")
    with pytest.raises(Overtaken, match="Ott has said already"):
        end_stop(shop.session, shop.bench(), stop.id)
    with pytest.raises(BadInput, match="before Rack last turned again"):
        shop.stop(START + HOUR / 2 - MS)
    assert shop.stop().stopped_at == START + HOUR / 2


def test_what_is_to_be_seen_is_what_goes_on_and_what_is_not_inspected(shop: TurnerShop) -> None:
    warmth = CureClock().warmth(shop.session)
    assert stops_to_see(shop.session, warmth) == []
    shop.coated(FIRST, 1)
    shop.stop()
    warmth = CureClock().warmth(shop.session)
    assert [stop.id for stop in stops_to_see(shop.session, warmth)] == [1]
    end_stop(shop.session, shop.bench(), 1)
    assert [stop.id for stop in stops_to_see(shop.session, warmth)] == [1]
    inspect(shop.session, shop.bench(), 1, build=FIRST, outcome="good")
    assert stops_to_see(shop.session, warmth) == []


@pytest.mark.parametrize(
    ("said", "error", "match"),
    [
        ({"outcome": "fine"}, BadInput, "good or flawed"),
        ({"outcome": "flawed"}, BadInput, "Say what is wrong"),
        ({"outcome": "good", "note": "x" * 501}, BadInput, "at most 500"),
        ({"outcome": "good", "section": 2}, NotOnFile, f"did not catch section 2 of {FIRST}"),
        ({"outcome": "good", "build": SECOND}, NotOnFile, f"did not catch the whole rod of {SECOND}"),
        ({"outcome": "good", "stop_id": 9}, NotOnFile, "no stop 9"),
    ],
)
def test_an_inspection_that_cannot_be(
    shop: TurnerShop, said: dict[str, Any], error: type[Exception], match: str
) -> None:
    shop.coated(FIRST, 1)
    shop.stop()
    end_stop(shop.session, shop.bench(), 1)
    said = {"stop_id": 1, "build": FIRST, **said}
    with pytest.raises(error, match=match):
        inspect(shop.session, shop.bench(), said.pop("stop_id"), **said)
    assert facts(shop).inspections


@pytest.mark.parametrize(
    ("said", "match"),
    [({"stopped_at": START + 2 * HOUR}, "in the future"), ({"note": "x" * 501}, "at most 500")],
)
def test_a_stop_that_cannot_be(shop: TurnerShop, said: dict[str, Any], match: str) -> None:
    with pytest.raises(BadInput, match=match):
        stop_turner(shop.session, shop.bench(), TURNER, **said)
    assert turner_view(shop.session, TURNER, CureClock().warmth(shop.session)).stop_id is None
