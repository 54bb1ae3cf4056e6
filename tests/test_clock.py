"""The watch on the clock: which moves raise a doubt, that it is written down, and what settles it."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from shop.app import open_hub, write_down_doubt
from shop.clock import BACKWARD_TOLERANCE, FORWARD_TOLERANCE, Clock
from shop.queries.shop import read_shop
from shop.rules.people import Role
from shop.services.clock import confirm_time
from shop.web.deps import Hub
from tests.conftest import START, Hands

MOVES = [
    # what happened to wall time, to the steady clock (both in seconds), and the doubt's words or none
    ("time passes", 3600.0, 3600.0, ""),
    ("nothing passes", 0.0, 0.0, ""),
    ("back by exactly a second", -1.0, 0.0, ""),
    ("back by a little more than a second", -1.001, 0.0, "went back by 1 s"),
    ("back by a day", -86400.0, 0.0, "went back by 24 h 0 min"),
    ("back by two seconds within an hour", 3598.0, 3600.0, "went back by 2 s"),
    ("ahead by exactly two minutes", 120.0, 0.0, ""),
    ("ahead by a second more than two minutes", 121.0, 0.0, "jumped ahead by 2 min"),
    ("ahead by two minutes and a second within an hour", 3721.0, 3600.0, "jumped ahead by 2 min"),
    ("ahead by a day within ten seconds", 86410.0, 10.0, "jumped ahead by 24 h 0 min"),
]


def move(hands: Hands, wall_seconds: float, steady_seconds: float) -> None:
    hands.wall_at += timedelta(seconds=wall_seconds)
    hands.steady_at += steady_seconds


@pytest.fixture
def clock(hands: Hands) -> Clock:
    return Clock(hands.wall, hands.steady)


@pytest.mark.parametrize(("what", "wall", "steady", "words"), MOVES, ids=[row[0] for row in MOVES])
def test_a_move_raises_a_doubt_or_not(
    hands: Hands, clock: Clock, what: str, wall: float, steady: float, words: str
) -> None:
    move(hands, wall, steady)
    assert clock.now() == hands.wall_at
    assert words in clock.doubt
    assert bool(clock.doubt) == bool(words), what


def test_small_steps_back_add_up(hands: Hands, clock: Clock) -> None:
    for _ in range(3):
        move(hands, -0.4, 0.0)
        clock.now()
    assert "went back by 1 s" in clock.doubt


def test_small_steps_ahead_add_up_even_over_hours(hands: Hands, clock: Clock) -> None:
    # A clock that runs half as fast again must not make a wait shorter by never jumping.
    for _ in range(60):
        move(hands, 15.0, 10.0)
        clock.now()
    assert "jumped ahead by 2 min" in clock.doubt


@pytest.mark.parametrize("rate", [0.9998, 1.0002])
def test_slow_drift_never_adds_up(hands: Hands, clock: Clock, rate: float) -> None:
    for _ in range(30 * 24 * 60):
        move(hands, 60.0 * rate, 60.0)
        clock.now()
    assert clock.doubt == ""


def test_a_doubt_stays_when_the_clock_behaves_again(hands: Hands, clock: Clock) -> None:
    move(hands, -3600.0, 0.0)
    clock.now()
    hands.forward(hours=5)
    clock.now()
    assert "went back by 60 min" in clock.doubt


def test_trust_forgets_the_doubt_and_watches_from_there(hands: Hands, clock: Clock) -> None:
    move(hands, 3600.0, 0.0)
    clock.now()
    clock.trust()
    clock.now()
    assert clock.doubt == ""
    move(hands, -3600.0, 0.0)
    clock.now()
    assert "went back by 60 min" in clock.doubt


def test_a_process_stopped_between_two_readings_is_no_jump(hands: Hands) -> None:
    # Three seconds go by between a wall reading and its steady one, as when the process was put to sleep.
    delays = iter([0.0, 3.0, 0.0, 0.0] * 5)

    def late_steady() -> float:
        hands.forward(seconds=next(delays, 0.0))
        return hands.steady_at

    clock = Clock(hands.wall, late_steady)
    for _ in range(4):
        clock.now()
    assert clock.doubt == ""


@pytest.mark.parametrize(
    ("behind", "doubted"),
    [
        (timedelta(0), False),
        (BACKWARD_TOLERANCE, False),
        (BACKWARD_TOLERANCE + timedelta(milliseconds=1), True),
        (FORWARD_TOLERANCE, True),
        (-timedelta(days=400), False),  # switched off for a year: nothing tells that from a jump
    ],
)
def test_at_start_the_clock_must_not_be_behind_the_record(
    clock: Clock, behind: timedelta, doubted: bool
) -> None:
    clock.compare_with_record(START + behind)
    assert bool(clock.doubt) == doubted


def reopened(hub: Hub, hands: Hands) -> Hub:
    """The same data folder, opened again as after a restart."""
    hub.database.close()
    return open_hub(hub.settings, Clock(hands.wall, hands.steady))


def open_doubt(hub: Hub) -> str:
    with hub.database.reading() as session:
        return read_shop(session).clock_doubt


def test_a_doubt_is_written_down_and_survives_a_restart(hub: Hub, hands: Hands) -> None:
    move(hands, 7200.0, 0.0)
    hub.clock.now()
    write_down_doubt(hub)
    hands.forward(minutes=1)
    again = reopened(hub, hands)
    assert again.clock.doubt == ""
    assert "jumped ahead by 2 h 0 min" in open_doubt(again)
    again.database.close()


def test_a_start_behind_the_record_is_written_down(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.forward(days=2)):
        pass
    move(hands, -86400.0, 0.0)
    again = reopened(hub, hands)
    assert "24 h 0 min behind the last entry on record" in again.clock.doubt
    # The doubt's own entry must not hide the doubt from the start after this one.
    third = reopened(again, hands)
    assert "24 h 0 min behind" in open_doubt(third)
    third.database.close()


def test_the_same_doubt_is_written_down_once(hub: Hub, hands: Hands) -> None:
    move(hands, -60.0, 0.0)
    hub.clock.now()
    write_down_doubt(hub)
    write_down_doubt(hub)
    with hub.database.writing(hands.wall_at) as session:
        assert confirm_time(session, now=hands.wall_at, by="owner") == 1


def test_confirming_settles_every_doubt(hub: Hub, hands: Hands) -> None:
    for seconds in (-60.0, 9000.0):
        move(hands, seconds, 0.0)
        hub.clock.now()
        write_down_doubt(hub)
    with hub.database.writing(hands.wall_at) as session:
        assert confirm_time(session, now=hands.wall_at, by="owner") == 2
    assert open_doubt(hub) == ""


def test_every_page_says_that_the_clock_is_in_doubt(
    hands: Hands, signed_in: Callable[[Role], TestClient]
) -> None:
    browser = signed_in(Role.HELPER)
    assert "The clock is in doubt" not in browser.get("/ways").text
    move(hands, 3600.0, 0.0)
    assert "jumped ahead by 60 min" in browser.get("/ways").text
