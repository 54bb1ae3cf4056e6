"""Turners through the services: places, who is on them, how long a coat must turn, and looking at them."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_record, build_view
from shop.queries.cure_clock import CureClock
from shop.queries.events import events_of_build
from shop.queries.turner_facts import turner_fact
from shop.queries.turners import (
    TurnerView,
    every_turner,
    stay_view,
    turner_view,
    turners_now,
)
from shop.rules.decide import ClearedBy, ShutHold
from shop.rules.facts import TurnerFact
from shop.rules.people import Role
from shop.rules.refusals import BadInput, Held, NotAllowed, NotOnFile, Overtaken
from shop.rules.sequences import HoldKind
from shop.services.adhesives import change_adhesive
from shop.services.corrections import CureAnew, correct_cure
from shop.services.mixes import touch_puddle
from shop.services.turners import add_turner, change_turner, move, note_turning, put_on, take_off
from shop.services.zones import change_zone
from tests.api.filled import FINISH, ZONE
from tests.conftest import START
from tests.turner_shop import FOUR_PIECE, PLACES, RODS, TURNED, TURNER, TurnerShop

FIRST, SECOND, THIRD, _ = RODS
MS = timedelta(milliseconds=1)


@pytest.fixture
def shop(session: Session) -> TurnerShop:
    return TurnerShop(session, START)


def seen(shop: TurnerShop) -> TurnerView:
    return turner_view(shop.session, TURNER, CureClock().warmth(shop.session))


def record(shop: TurnerShop, number: str = FIRST) -> list[tuple[str, str]]:
    """Kind and words of every entry of a build's record."""
    build = build_view(shop.session, number)
    return [(event.kind, event.note) for event in events_of_build(shop.session, build.id)]


def hold_of(held: pytest.ExceptionInfo[Held]) -> ShutHold:
    (hold,) = held.value.decision.holds
    return hold


def test_a_rod_is_put_on_and_taken_off_once_it_has_turned_long_enough(shop: TurnerShop) -> None:
    stay = shop.coated(FIRST, 2)
    view = seen(shop)
    assert [(on.place_number, on.build, on.turning.until) for on in view.stays] == [
        (2, FIRST, START + TURNED)
    ]
    assert view.free == PLACES - 1
    shop.now = START + TURNED - MS
    with pytest.raises(Held) as held:
        take_off(shop.session, shop.bench(), stay.id)
    hold = hold_of(held)
    assert (hold.kind, hold.clears_at, hold.cleared_by) == (HoldKind.TURNER, START + TURNED, ClearedBy.TIME)
    shop.now = START + TURNED
    take_off(shop.session, shop.bench(), stay.id, by="Ott")
    assert (seen(shop).stays, seen(shop).free) == ((), PLACES)
    assert record(shop)[-2:] == [
        ("turner", "Put on Rack, place 2: the whole rod."),
        ("turner", "Taken off Rack, place 2, after 4 h 00 min."),
    ]
    with pytest.raises(Overtaken, match="Ott has taken that rod off already"):
        take_off(shop.session, shop.bench(), stay.id)


def test_where_the_sheet_is_silent_the_set_time_counts(shop: TurnerShop) -> None:
    change_adhesive(shop.session, FINISH, now=shop.now, by="Nell", turn_minutes=None)
    stay = shop.coated(FIRST, 1)
    turning = seen(shop).stays[0].turning
    assert (turning.until, turning.by_sheet) == (START + timedelta(hours=5), False)
    with pytest.raises(Held, match="its sheet is silent"):
        take_off(shop.session, shop.bench(), stay.id)


def test_the_running_coat_keeps_the_turning_time_that_it_began_with(shop: TurnerShop) -> None:
    shop.coated(FIRST, 1)
    change_adhesive(shop.session, FINISH, now=shop.now, by="Nell", turn_minutes=600)
    assert seen(shop).stays[0].turning.until == START + TURNED


def test_cold_makes_it_turn_for_longer_and_below_the_coldest_for_ever(shop: TurnerShop) -> None:
    stay = shop.coated(FIRST, 1)
    change_zone(shop.session, ZONE, assumed_c=15.0)
    until = seen(shop).stays[0].turning.until
    assert until is not None
    assert until > START + timedelta(hours=5)
    change_zone(shop.session, ZONE, assumed_c=5.0)
    assert seen(shop).stays[0].turning.no_end
    with pytest.raises(Held, match="does not harden") as held:
        take_off(shop.session, shop.bench(), stay.id)
    assert (hold_of(held).clears_at, hold_of(held).is_stalled) == (None, True)


def test_a_tacky_puddle_keeps_it_turning(shop: TurnerShop) -> None:
    stay = shop.coated(FIRST, 1)
    shop.forward(hours=6)
    touch_puddle(shop.session, shop.bench(), 1, state="tacky", at=None)
    with pytest.raises(Held, match="its puddle is tacky"):
        take_off(shop.session, shop.bench(), stay.id)
    touch_puddle(shop.session, shop.bench(), 1, state="firm", at=shop.now)
    take_off(shop.session, shop.bench(), stay.id)


def test_a_joint_does_not_sag_and_a_coat_that_was_stripped_turns_no_more(shop: TurnerShop) -> None:
    stay = shop.put_on(FIRST, 1)
    cure = shop.coat(FIRST)
    assert seen(shop).wet_at(shop.now)
    correct_cure(shop.session, shop.bench(), cure, anew=CureAnew(failed=True), reason="Stripped.")
    assert not seen(shop).wet_at(shop.now)
    take_off(shop.session, shop.bench(), stay.id)


def test_it_comes_off_early_for_a_reason_that_stays_on_the_record(shop: TurnerShop) -> None:
    stay = shop.coated(FIRST, 1)
    shop.forward(hours=1)
    with pytest.raises(NotAllowed):
        take_off(shop.session, shop.bench(Role.HELPER), stay.id, reason="The chuck slips.")
    assert seen(shop).stays
    with pytest.raises(Held):
        take_off(shop.session, shop.bench(Role.BUILDER), stay.id, reason="  ")
    take_off(shop.session, shop.bench(Role.BUILDER), stay.id, reason="The chuck slips")
    assert record(shop)[-1][1] == (
        "Taken off Rack, place 1, after 1 h 00 min, before its turning time was over: The chuck slips."
    )


@pytest.mark.parametrize(
    ("said", "error", "match"),
    [
        ({"place_number": 0}, BadInput, "the places 1 to 3"),
        ({"place_number": 4}, BadInput, "the places 1 to 3"),
        ({"place_number": 1}, Overtaken, f"Place 1 of Rack is taken: {FIRST}"),
        ({"build": FIRST}, Overtaken, f"The whole rod of {FIRST} is on Rack, place 1, already"),
        ({"build": FIRST, "section": 1}, Overtaken, "is on Rack, place 1, already"),
        ({"section": 2}, BadInput, "1 sections; 0 stands for the whole rod"),
        ({"section": -1}, BadInput, "0 stands for the whole rod"),
        ({"on_at": START + timedelta(seconds=1)}, BadInput, "in the future"),
        ({"on_at": START - timedelta(minutes=1)}, BadInput, "before this build was taken on"),
        ({"build": "26-777"}, NotOnFile, "no build 26-777"),
        ({"turner_id": 9}, NotOnFile, "no turner 9"),
    ],
)
def test_what_cannot_be_put_on(
    shop: TurnerShop, said: dict[str, Any], error: type[Exception], match: str
) -> None:
    shop.coated(FIRST, 1)
    said = {"turner_id": TURNER, "build": SECOND, "place_number": 2, **said}
    turner_id = said.pop("turner_id")
    with pytest.raises(error, match=match):
        put_on(shop.session, shop.bench(), turner_id, **said)
    assert [(stay.build, stay.place_number) for stay in seen(shop).stays] == [(FIRST, 1)]


def test_each_section_has_a_place_of_its_own_and_no_section_two(shop: TurnerShop) -> None:
    shop.put_on(FOUR_PIECE, 1, section=1)
    shop.put_on(FOUR_PIECE, 2, section=4)
    for section, place in ((1, 3), (0, 3)):
        with pytest.raises(Overtaken, match="already"):
            shop.put_on(FOUR_PIECE, place, section=section)
    with pytest.raises(BadInput, match="4 sections"):
        shop.put_on(FOUR_PIECE, 3, section=5)
    shop.put_on(FOUR_PIECE, 3, section=2)
    assert record(shop, FOUR_PIECE)[-1] == ("turner", "Put on Rack, place 3: section 2.")


def test_a_finished_build_is_not_put_on(shop: TurnerShop) -> None:
    build_record(shop.session, FIRST).closed_at = shop.now
    with pytest.raises(Overtaken, match="is finished"):
        shop.put_on(FIRST, 1)


def test_one_time_on_one_place_belongs_to_one_rod(shop: TurnerShop) -> None:
    shop.forward(hours=1)
    stay = shop.put_on(FIRST, 1)
    shop.forward(hours=1)
    take_off(shop.session, shop.bench(), stay.id, off_at=shop.now - timedelta(minutes=10))
    with pytest.raises(BadInput, match="Another rod was on that place until 2026-03-02 10:50 UTC"):
        shop.put_on(SECOND, 1, on_at=shop.now - timedelta(minutes=11))
    with pytest.raises(BadInput, match="It was on a turner then, until 2026-03-02 10:50 UTC"):
        shop.put_on(FIRST, 2, on_at=shop.now - timedelta(minutes=11))
    shop.put_on(SECOND, 1, on_at=shop.now - timedelta(minutes=10))
    with pytest.raises(BadInput, match="before it was put on"):
        take_off(shop.session, shop.bench(), 2, off_at=shop.now - timedelta(minutes=11))


def test_a_wet_rod_is_moved_and_goes_on_turning(shop: TurnerShop) -> None:
    add_turner(shop.session, now=shop.now, name="Spare", places=1, check_minutes=60)
    stay = shop.coated(FIRST, 1)
    shop.forward(minutes=30)
    moved = move(shop.session, shop.bench(), stay.id, turner_id=2, place_number=1)
    warmth = CureClock().warmth(shop.session)
    assert stay_view(shop.session, stay.id, warmth).off_at == shop.now
    on = stay_view(shop.session, moved.id, warmth)
    assert (on.turner_id, on.on_at, on.turning.until) == (2, shop.now, START + TURNED)
    assert record(shop)[-1][1] == "Moved from Rack, place 1, to Spare, place 1."
    shop.coated(SECOND, 1)
    with pytest.raises(Overtaken, match="is taken"):
        move(shop.session, shop.bench(), moved.id, turner_id=TURNER, place_number=1)
    with pytest.raises(BadInput, match="on that place already"):
        move(shop.session, shop.bench(), moved.id, turner_id=2, place_number=1)
    with pytest.raises(BadInput, match="before it was put on"):
        move(shop.session, shop.bench(), moved.id, turner_id=1, place_number=2, at=START)
    with pytest.raises(Overtaken, match="off already"):
        move(shop.session, shop.bench(), stay.id, turner_id=1, place_number=2)


@pytest.mark.parametrize(
    ("changes", "error", "match"),
    [
        ({"places": 1}, BadInput, f"{FIRST} is on place 2"),
        ({"name": "Spare"}, BadInput, "called Spare already"),
        ({"name": " "}, BadInput, "needs a name"),
        ({"check_minutes": 4}, BadInput, "every 5 to 1440"),
        ({"zone_id": 9}, NotOnFile, "no zone 9"),
        ({"version": 7}, Overtaken, "Somebody else changed this turner"),
    ],
)
def test_a_turner_cannot_become_what_it_is_not(
    shop: TurnerShop, changes: dict[str, Any], error: type[Exception], match: str
) -> None:
    add_turner(shop.session, now=shop.now, name="Spare", places=1, check_minutes=60)
    shop.coated(FIRST, 2)
    with pytest.raises(error, match=match):
        change_turner(shop.session, shop.bench(), TURNER, **changes)


def test_a_turner_is_changed(shop: TurnerShop) -> None:
    version = seen(shop).version
    changes: dict[str, Any] = {"name": " Long rack ", "places": 8, "zone_id": None}
    change_turner(shop.session, shop.bench(), TURNER, version=version, **changes)
    view = seen(shop)
    assert (view.name, view.places, view.check_minutes, view.zone_id) == ("Long rack", 8, 120, None)


def due(shop: TurnerShop) -> list[tuple[datetime, bool, tuple[str, ...]]]:
    found = []
    for turner in every_turner(shop.session, CureClock().warmth(shop.session)):
        at = turner.look_at(shop.now)
        if at is not None:
            rods = tuple(dict.fromkeys(stay.build for stay in turner.wet_at(shop.now)))
            found.append((at, at <= shop.now, rods))
    return found


def test_somebody_looks_every_two_hours_while_anything_is_wet(shop: TurnerShop) -> None:
    assert due(shop) == []
    shop.coated(FIRST, 1)
    first = START + timedelta(hours=2)
    assert due(shop) == [(first, False, (FIRST,))]
    shop.now = first - MS
    assert due(shop) == [(first, False, (FIRST,))]
    shop.now = first
    assert due(shop) == [(first, True, (FIRST,))]
    note_turning(shop.session, shop.bench(), TURNER, at=first - timedelta(minutes=5))
    second = START + timedelta(hours=3, minutes=55)
    assert due(shop) == [(second, False, (FIRST,))]
    shop.now = START + TURNED
    assert due(shop) == []


def test_a_look_is_of_now_or_of_before(shop: TurnerShop) -> None:
    shop.forward(hours=1)
    assert note_turning(shop.session, shop.bench(), TURNER).at == shop.now
    for at, match in ((shop.now + MS, "in the future"), (START - MS, "was put on file")):
        with pytest.raises(BadInput, match=match):
            note_turning(shop.session, shop.bench(), TURNER, at=at)


def fact(shop: TurnerShop) -> TurnerFact | None:
    return turner_fact(shop.session, CureClock().warmth(shop.session))


def test_a_decision_knows_how_many_places_are_free_and_when_the_next_may_be(shop: TurnerShop) -> None:
    assert fact(shop) == TurnerFact(PLACES, PLACES)
    shop.coated(FIRST, 1)
    shop.forward(hours=1)
    shop.coated(SECOND, 2)
    assert fact(shop) == TurnerFact(PLACES, 1)
    shop.put_on(THIRD, 3)
    assert fact(shop) == TurnerFact(PLACES, 0, START + TURNED)
    now = turners_now(shop.session, CureClock().warmth(shop.session))
    assert [stay.place_number for stay in now.stays] == [1, 2, 3]


def test_nothing_is_known_of_turners_that_are_not_on_file(session: Session) -> None:
    assert turner_fact(session, CureClock().warmth(session)) is None
