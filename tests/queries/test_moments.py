"""The moments of turners: who is on which place, and only while something on it is wet."""

from datetime import datetime, timedelta
from typing import Any

from shop.queries.moments import turner_moments
from shop.queries.turners import StayView, TurnerView
from shop.rules.moments import Kind
from shop.rules.turners import Turning
from tests.conftest import START

HOUR = timedelta(hours=1)


def stay(place: int, build: str, until: datetime | None) -> StayView:
    """A rod put on at the start, whose coat must turn until an instant, or not at all."""
    turning = Turning() if until is None else Turning(START, until)
    return StayView(place, 1, place, 0, START, "Nell", None, "", place, build, "7 ft", False, turning)


def turner(*stays: StayView, **other: Any) -> TurnerView:
    named: dict[str, Any] = {
        "id": 1, "name": "North", "places": 4, "check_minutes": 120, "zone_id": None, "zone": None,
        "version": 1, "seen_at": None, "stop_id": None, "stopped_at": None,
    }  # fmt: skip
    return TurnerView(**{**named, **other}, stays=stays)


WET, SOON_DRY, BARE = (
    stay(1, "26-001", START + 8 * HOUR),
    stay(2, "26-002", START + HOUR),
    stay(3, "26-003", None),
)


def test_a_look_names_the_rods_that_are_wet_with_their_places() -> None:
    (moment,) = turner_moments([turner(WET, SOON_DRY, BARE)], START)
    assert (moment.kind, moment.at, moment.number) == (Kind.LOOK, START + 2 * HOUR, 1)
    assert moment.words == "26-001 on place 1, 26-002 on place 2: look whether North still turns"
    (later,) = turner_moments([turner(WET, SOON_DRY, BARE)], START + HOUR)
    assert later.who == "26-001 on place 1"


def test_a_rod_whose_sections_take_several_places_is_named_once() -> None:
    second = stay(2, "26-001", START + 8 * HOUR)
    (moment,) = turner_moments([turner(WET, second)], START)
    assert moment.who == "26-001 on places 1, 2"


def test_a_look_that_was_taken_is_asked_again_later_under_the_same_key() -> None:
    looked = turner(WET, seen_at=START + 2 * HOUR)
    (first,) = turner_moments([turner(WET)], START)
    (second,) = turner_moments([looked], START + 2 * HOUR)
    assert first.key == second.key
    assert second.at == START + 4 * HOUR


def test_a_turner_that_stands_still_is_told_while_something_on_it_is_wet() -> None:
    stopped = turner(WET, SOON_DRY, stop_id=9, stopped_at=START)
    (moment,) = turner_moments([stopped], START)
    assert (moment.kind, moment.at, moment.key) == (Kind.STOPPED, START, "stopped-9")
    assert turner_moments([stopped], START + 8 * HOUR) == []


def test_an_empty_turner_says_nothing() -> None:
    assert turner_moments([turner(), turner(BARE)], START) == []
    assert turner_moments([turner(BARE, stop_id=9, stopped_at=START)], START) == []
