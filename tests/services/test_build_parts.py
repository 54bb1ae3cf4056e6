"""Parts of a build as a shop lives with them: followed, set aside, used, put back, taken off, held up."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy.orm import Session

from shop.queries.build_parts import BuildPartView, cost_of_build, part_records, parts_of_build
from shop.queries.builds import build_record, build_view
from shop.queries.events import events_of_build
from shop.queries.stocks import stock_view
from shop.rules.build_parts import LOOK_ALIKE_CHECK
from shop.rules.deliveries import DeliveryDays
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, Overtaken
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.services.build_parts import (
    came_off,
    confirm_part,
    name_part,
    put_back,
    put_back_all,
    set_aside,
    set_aside_all_that_is_there,
    take_another,
)
from shop.services.builds import change_build, take_on_build
from shop.services.components import change_component
from shop.services.corrections import EventAnew, correct_event
from shop.services.deliveries import DeliverySaid, LineSaid, receive_delivery
from shop.services.events import Logged, Release, advance, send_back
from shop.services.make_ups import GuideSaid, PartSaid, save_make_up
from shop.services.sequences import add_sequence
from shop.services.stocks import start_counting
from tests.api.filled import CUSTOMER, SEQUENCE
from tests.conftest import START
from tests.lot_shop import TODAY, bench_at
from tests.make_up_shop import BLANK, FORE, GUIDES, PARTS, RING, SEAT, WHOLE, nm
from tests.stock_shop import (
    OTHER_SEAT,
    OTHERS,
    REARS,
    RINGS,
    ROD,
    SEATS,
    SECOND,
    SHARES,
    TAKING,
    THREAD_A,
    fill_with_stock,
)


@pytest.fixture
def shop(session: Session) -> Session:
    fill_with_stock(session, START)
    return session


def parts(session: Session, number: str = ROD) -> dict[str, BuildPartView]:
    return {part.name: part for part in parts_of_build(session, build_view(session, number).id)}


def counts(session: Session, number: str = ROD) -> dict[str, tuple[int, int, int]]:
    return {name: (part.needed, part.set_aside, part.used) for name, part in parts(session, number).items()}


def level(session: Session, stock_id: int) -> tuple[int, int]:
    session.flush()
    stock = stock_view(session, stock_id)
    return stock.on_shelf, stock.set_aside


def part_id(session: Session, name: str, number: str = ROD) -> int:
    return parts(session, number)[name].id


def log(session: Session, *stages: str, number: str = ROD) -> None:
    for stage in stages:
        advance(session, number, bench_at(session, START), Logged(stage))


def told(session: Session, number: str = ROD) -> list[str]:
    events = events_of_build(session, build_view(session, number).id)
    return [event.note for event in events if event.kind == EventKind.PARTS]


ALL = {
    "Heron 70": (1, 0, 0), "Cork rear grip": (1, 0, 0), "Casting seat": (1, 0, 0),
    "Cork fore grip": (1, 0, 0), "Ring guide 8": (3, 0, 0),
}  # fmt: skip


def test_a_build_takes_its_blank_and_what_its_make_up_names(shop: Session) -> None:
    assert counts(shop) == ALL
    assert parts(shop)["Heron 70"].stock_id is None
    assert {part.group for part in parts(shop).values()} == {"blank", "grip", "reel seat", "guide"}
    # The rod of the other test shop has no make-up: its blank alone.
    assert counts(shop, "26-001") == {"Heron 70": (1, 0, 0)}


def test_a_new_revision_is_followed_and_what_was_taken_stays_counted(shop: Session) -> None:
    bench = bench_at(shop, START)
    set_aside(shop, ROD, bench, part_id=part_id(shop, "Ring guide 8"))
    set_aside(shop, ROD, bench, part_id=part_id(shop, "Casting seat"))
    long_seat = replace(PARTS[1], component_id=OTHER_SEAT)
    said = replace(WHOLE, parts=(PARTS[0], long_seat), guides=GUIDES[:2])
    save_make_up(shop, ROD, bench, said, revision=1)
    assert counts(shop) == {
        "Heron 70": (1, 0, 0), "Cork rear grip": (1, 0, 0), "Casting seat": (0, 1, 0),
        "Ring guide 8": (2, 3, 0), "Casting seat, long": (1, 0, 0),
    }  # fmt: skip
    assert parts(shop)["Ring guide 8"].too_many == 1
    put_back(shop, ROD, bench, part_id=part_id(shop, "Ring guide 8"), count=1)
    put_back(shop, ROD, bench, part_id=part_id(shop, "Casting seat"))
    assert "Casting seat" not in parts(shop)
    assert (level(shop, RINGS), level(shop, SEATS)) == ((6, 2), (1, 0))


def test_another_blank_takes_the_place_of_the_first(shop: Session) -> None:
    bench = bench_at(shop, START)
    change_build(shop, ROD, bench, blank_id=None)
    assert "Heron 70" not in parts(shop)
    change_build(shop, ROD, bench, blank_id=BLANK)
    assert counts(shop)["Heron 70"] == (1, 0, 0)


def test_what_is_named_after_its_stage_is_on_the_rod_already(shop: Session) -> None:
    set_aside_all_that_is_there(shop, ROD, bench_at(shop, START))
    log(shop, "agreed", "parts in hand", "fitted", "glued")
    said = replace(WHOLE, parts=(*PARTS[:1], replace(PARTS[1], component_id=OTHER_SEAT), *PARTS[2:]))
    save_make_up(shop, ROD, bench_at(shop, START), said, revision=1)
    assert counts(shop)["Casting seat, long"] == (1, 0, 1)
    assert counts(shop)["Casting seat"] == (0, 0, 1)
    assert level(shop, OTHERS) == (1, 0)


def test_setting_aside_takes_from_the_shelf_what_others_may_have(shop: Session) -> None:
    bench = bench_at(shop, START)
    assert set_aside_all_that_is_there(shop, ROD, bench) == [
        (1, "Cork rear grip"), (1, "Casting seat"), (3, "Ring guide 8"),
    ]  # fmt: skip
    assert [level(shop, stock) for stock in (RINGS, SEATS, REARS)] == [(6, 3), (1, 1), (2, 1)]
    assert told(shop) == ["Set aside: 1 × Cork rear grip, 1 × Casting seat, 3 × Ring guide 8."]
    with pytest.raises(Overtaken, match="26-002 has every counted part that it takes"):
        set_aside_all_that_is_there(shop, ROD, bench)
    with pytest.raises(
        Overtaken, match="No Casting seat is free: the one on the shelf is set aside for another rod"
    ):
        set_aside(shop, SECOND, bench, part_id=part_id(shop, "Casting seat", SECOND))
    assert set_aside_all_that_is_there(shop, SECOND, bench) == [(1, "Cork rear grip"), (3, "Ring guide 8")]
    with pytest.raises(Overtaken, match="Nothing that 26-003 misses is free on the shelf: 1 × Casting seat"):
        set_aside_all_that_is_there(shop, SECOND, bench)


def test_no_more_is_set_aside_or_put_back_than_there_can_be(shop: Session) -> None:
    bench = bench_at(shop, START)
    rings, fore = part_id(shop, "Ring guide 8"), part_id(shop, "Cork fore grip")
    for count, says in ((0, "from 1 to 100,000"), (4, "26-002 takes only 3 more of Ring guide 8.")):
        with pytest.raises(BadInput, match=says):
            set_aside(shop, ROD, bench, part_id=rings, count=count)
    with pytest.raises(Overtaken, match="Cork fore grip is not counted"):
        set_aside(shop, ROD, bench, part_id=fore)
    with pytest.raises(Overtaken, match="No Ring guide 8 is set aside for 26-002"):
        put_back(shop, ROD, bench, part_id=rings)
    set_aside(shop, ROD, bench, part_id=rings, count=2)
    with pytest.raises(BadInput, match="Only 2 × Ring guide 8 are set aside for 26-002"):
        put_back(shop, ROD, bench, part_id=rings, count=3)
    set_aside(shop, ROD, bench, part_id=rings)
    with pytest.raises(Overtaken, match="26-002 has all of Ring guide 8 that it takes"):
        set_aside(shop, ROD, bench, part_id=rings)
    put_back_all(shop, build_record(shop, ROD), bench)
    assert (counts(shop), level(shop, RINGS)) == (ALL, (6, 0))
    assert told(shop)[-1] == "Put back: 3 × Ring guide 8."


def test_parts_are_used_at_their_stage_at_what_they_cost_then(shop: Session) -> None:
    bench = bench_at(shop, START)
    line = LineSaid(RINGS, 2, unit_cost_cents=275)
    receive_delivery(shop, bench, DeliverySaid(DeliveryDays(TODAY), [line], reference="DN 1"))
    set_aside_all_that_is_there(shop, ROD, bench)
    log(shop, "agreed", "parts in hand", "fitted")
    # The fore grip is not counted, so nobody says a word about it; it is on the rod all the same.
    assert told(shop)[-1] == "Used: 1 × Cork rear grip."
    assert counts(shop)["Cork fore grip"] == (1, 0, 1)
    assert (level(shop, REARS), level(shop, RINGS)) == ((1, 0), (8, 3))
    log(shop, "glued", "laid out")
    assert (level(shop, SEATS), level(shop, RINGS)) == ((0, 0), (5, 0))
    cost = cost_of_build(shop, build_view(shop, ROD).id)
    # Neither the grip nor the seat has a cost on file; the guides cost what the delivery said.
    assert (cost.cents, cost.unknown) == ({"EUR": 3 * 275}, 2)
    receive_delivery(shop, bench, DeliverySaid(DeliveryDays(TODAY), [replace(line, unit_cost_cents=999)]))
    assert cost_of_build(shop, build_view(shop, ROD).id).cents == {"EUR": 825}


def test_what_was_not_set_aside_is_said_and_not_taken_off_the_count(shop: Session) -> None:
    bench = bench_at(shop, START)
    with pytest.raises(Held):
        log(shop, "agreed", "parts in hand")
    released = (Release(HoldKind.PARTS, "The customer brought his own guides."),)
    for stage in ("parts in hand", "fitted", "glued", "laid out"):
        advance(shop, ROD, bench, Logged(stage, releases=released))
    assert told(shop)[-1] == "Not set aside before, so not taken off the count: 3 × Ring guide 8."
    assert (counts(shop)["Ring guide 8"], level(shop, RINGS)) == ((3, 0, 3), (6, 0))
    # They never cost this build anything, so they are no saving either when they lie on the shelf.
    came_off(shop, ROD, bench, part_id=part_id(shop, "Ring guide 8"), count=2)
    assert (counts(shop)["Ring guide 8"], level(shop, RINGS)) == ((3, 0, 1), (8, 0))
    assert cost_of_build(shop, build_view(shop, ROD).id) == ({}, 0)


def used_up_to(session: Session, last: str) -> None:
    set_aside_all_that_is_there(session, ROD, bench_at(session, START))
    names = [stage.name for stage in TAKING.stages]
    log(session, *names[: names.index(last) + 1])


def test_a_sending_back_leaves_parts_used_and_says_so(shop: Session) -> None:
    used_up_to(shop, "glued")
    bench = bench_at(shop, START + timedelta(hours=1))
    confirm_part(shop, ROD, bench, code="SEAT16")
    send_back(shop, ROD, bench, to="fitted", reason="The seat faces wrong.")
    assert told(shop)[-1].startswith("Still counted as used: 1 × Casting seat. Say at the rod's parts")
    assert (counts(shop)["Casting seat"], level(shop, SEATS)) == ((1, 0, 1), (0, 0))
    with pytest.raises(BadInput, match="Only 1 × Casting seat are on this rod"):
        came_off(shop, ROD, bench, part_id=part_id(shop, "Casting seat"), count=2)
    came_off(shop, ROD, bench, part_id=part_id(shop, "Casting seat"))
    assert (counts(shop)["Casting seat"], level(shop, SEATS)) == ((1, 0, 0), (1, 0))
    assert parts(shop)["Casting seat"].confirmed_at is None
    with pytest.raises(Overtaken, match="No Casting seat is on this rod"):
        came_off(shop, ROD, bench, part_id=part_id(shop, "Casting seat"))


def test_what_replaces_a_part_on_the_rod_is_to_be_got_once_the_rod_is_sent_back(shop: Session) -> None:
    used_up_to(shop, "laid out")
    bench = bench_at(shop, START + timedelta(hours=1))
    parts_now = (PARTS[0], replace(PARTS[1], component_id=OTHER_SEAT), *PARTS[2:])
    save_make_up(shop, ROD, bench, replace(WHOLE, parts=parts_now), revision=1)
    assert counts(shop)["Casting seat, long"] == (1, 0, 1)
    send_back(shop, ROD, bench, to="fitted", reason="The customer wants the long seat.")
    assert counts(shop)["Casting seat, long"] == (1, 0, 0)
    # What is on the rod stays: the seat that comes off, the guides that nobody named anew.
    assert (counts(shop)["Casting seat"], counts(shop)["Ring guide 8"]) == ((0, 0, 1), (3, 0, 3))
    assert told(shop)[-1].startswith("Still counted as used: 1 × Casting seat, 3 × Ring guide 8.")
    with pytest.raises(Held, match="Casting seat, long"):
        log(shop, "glued")
    set_aside(shop, ROD, bench, part_id=part_id(shop, "Casting seat, long"))
    log(shop, "glued")
    assert (counts(shop)["Casting seat, long"], level(shop, OTHERS)) == ((1, 0, 1), (0, 0))


def test_a_spoilt_part_is_taken_anew_and_stays_what_the_rod_cost(shop: Session) -> None:
    change_component(shop, RING, cost_cents=300)
    used_up_to(shop, "laid out")
    bench, build_id = bench_at(shop, START), build_view(shop, ROD).id
    take_another(shop, ROD, bench, part_id=part_id(shop, "Ring guide 8"), reason="Bent.")
    assert told(shop)[-1] == "Spoilt, to be taken anew: 1 × Ring guide 8. Bent."
    assert (counts(shop)["Ring guide 8"], level(shop, RINGS)) == ((3, 0, 2), (3, 0))
    set_aside(shop, ROD, bench, part_id=part_id(shop, "Ring guide 8"))
    send_back(shop, ROD, bench, to="glued", reason="Guides off.")
    log(shop, "laid out")
    assert counts(shop)["Ring guide 8"] == (3, 0, 3)
    assert cost_of_build(shop, build_id).cents == {"EUR": 4 * 300}
    came_off(shop, ROD, bench, part_id=part_id(shop, "Ring guide 8"), count=3)
    assert cost_of_build(shop, build_id).cents == {"EUR": 300}


def test_a_stage_that_did_not_happen_gives_nothing_back_by_itself(shop: Session) -> None:
    used_up_to(shop, "fitted")
    events = events_of_build(shop, build_view(shop, ROD).id)
    fitted = next(event for event in events if event.stage == "fitted")
    correct_event(shop, bench_at(shop, START), fitted.id, anew=EventAnew(undone=True), reason="Wrong rod.")
    assert told(shop)[-1].startswith("Still counted as used: 1 × Cork rear grip.")
    assert level(shop, REARS) == (1, 0)
    assert build_view(shop, ROD).stage == "parts in hand"


def test_what_is_left_goes_back_when_the_rod_is_finished(shop: Session) -> None:
    bench = bench_at(shop, START)
    name_part(shop, ROD, bench, component_id=THREAD_A, count=2)
    used_up_to(shop, "laid out")
    name_part(shop, ROD, bench, component_id=THREAD_A, count=1)
    log(shop, "wrapped", "handed over")
    assert told(shop)[-2:] == ["Used: 1 × Thread A, garnet.", "Put back: 1 × Thread A, garnet."]
    assert level(shop, SHARES) == (2, 0)
    with pytest.raises(Overtaken, match="26-002 is finished"):
        set_aside_all_that_is_there(shop, ROD, bench)


def test_thread_is_named_by_hand_and_stays_through_revisions(shop: Session) -> None:
    bench = bench_at(shop, START)
    name_part(shop, ROD, bench, component_id=THREAD_A, count=1)
    save_make_up(shop, ROD, bench, replace(WHOLE, guides=GUIDES[:1]), revision=1)
    assert counts(shop)["Thread A, garnet"] == (1, 0, 0)
    name_part(shop, ROD, bench, component_id=THREAD_A, count=0)
    assert "Thread A, garnet" not in parts(shop)
    for component, count, error, says in (
        (THREAD_A, 0, Overtaken, "is not on the list of 26-002"),
        (THREAD_A, 201, BadInput, "A rod takes 0 to 200 of one part"),
        (SEAT, 1, BadInput, "A reel seat goes on a rod by its make-up; only thread is named here."),
    ):
        with pytest.raises(error, match=says):
            name_part(shop, ROD, bench, component_id=component, count=count)


def test_a_repair_takes_only_what_is_named_by_hand(shop: Session) -> None:
    number = take_on_build(
        shop, now=START, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="guides off", rod_kind="repair",
        sequence_id=SEQUENCE, blank_id=BLANK,
    ).number  # fmt: skip
    bench = bench_at(shop, START)
    save_make_up(shop, number, bench, WHOLE, revision=0)
    assert counts(shop, number) == {}
    name_part(shop, number, bench, component_id=RING, count=2)
    save_make_up(shop, number, bench, replace(WHOLE, guides=()), revision=1)
    assert counts(shop, number) == {"Ring guide 8": (2, 0, 0)}


def test_the_part_in_hand_is_held_against_the_rod(shop: Session) -> None:
    bench = bench_at(shop, START)
    for code, says in (
        ("", "Scan the part, or type its code."),
        ("NONE", "Nothing on the shelf has the code “NONE”."),
        (
            "SEAT16L",
            "Put it back: in hand is “Casting seat, long”, and the reel seat of this rod is “Casting seat”.",
        ),
        ("C6", "Put it back: in hand is “Thread A, garnet”, a thread, and this rod takes no thread."),
        ("A1", "In hand is “Riverbed”: an adhesive is said on the Cup, not here."),
    ):
        with pytest.raises(BadInput) as refused:
            confirm_part(shop, ROD, bench, code=code)
        assert refused.value.errors == {"code": says}
    assert confirm_part(shop, ROD, bench, code=" seat16 ") == "Casting seat"
    later = bench_at(shop, START + timedelta(hours=1))
    assert confirm_part(shop, ROD, later, stock_id=SEATS) == "Casting seat"
    assert parts(shop)["Casting seat"].confirmed_at == START
    assert told(shop) == ["Held against the rod, and it is the right one: Casting seat."]
    # What is not counted has no code; it is confirmed from the list.
    assert confirm_part(shop, ROD, bench, part_id=part_id(shop, "Cork fore grip")) == "Cork fore grip"
    with pytest.raises(BadInput) as refused:
        confirm_part(shop, ROD, bench, stock_id=OTHERS)
    assert list(refused.value.errors) == ["stock_id"]


def test_a_check_of_that_name_is_ticked_by_holding_every_part_up(shop: Session) -> None:
    looking = Hold(HoldKind.CHECK, check=LOOK_ALIKE_CHECK)
    sequence = add_sequence(
        shop, now=START,
        sequence=Sequence("looking", "casting", (Stage("glued", holds=(looking,), uses=("reel seat",)),)),
    )  # fmt: skip
    number = take_on_build(
        shop, now=START, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft", rod_kind="casting",
        sequence_id=sequence.id, blank_id=BLANK,
    ).number  # fmt: skip
    bench = bench_at(shop, START)
    save_make_up(shop, number, bench, WHOLE, revision=0)
    with pytest.raises(Held, match="parts held against the rod"):
        log(shop, "glued", number=number)
    confirm_part(shop, number, bench, code="SEAT16")
    log(shop, "glued", number=number)
    assert build_view(shop, number).stage == "glued"


def test_a_part_that_nobody_can_name_is_not_followed(shop: Session) -> None:
    bench = bench_at(shop, START)
    said = replace(WHOLE, guides=(GuideSaid(nm("4")), GuideSaid(nm("18 1/2"), RING)))
    save_make_up(shop, ROD, bench, said, revision=1)
    assert counts(shop)["Ring guide 8"] == (1, 0, 0)
    twice = replace(WHOLE, parts=(*PARTS, PartSaid("spacer", FORE, nm("17"), nm("18"))))
    save_make_up(shop, ROD, bench, twice, revision=2)
    assert counts(shop)["Cork fore grip"] == (2, 0, 0)


def test_counting_that_begins_later_asks_nothing_for_what_is_on_the_rod(shop: Session) -> None:
    used_up_to(shop, "fitted")
    start_counting(shop, bench_at(shop, START), what="component", item_id=FORE)
    start_counting(shop, bench_at(shop, START), what="blank", item_id=BLANK)
    assert [part.missing for part in parts(shop).values()] == [0] * 5
    assert {part.missing for part in parts(shop, SECOND).values()} == {1, 3}


def test_a_make_up_from_before_is_taken_over_when_it_is_kept_once_more(shop: Session) -> None:
    build_id = build_view(shop, ROD).id
    for record in part_records(shop, build_id).values():
        shop.delete(record)
    shop.flush()
    assert counts(shop) == {}
    assert save_make_up(shop, ROD, bench_at(shop, START), WHOLE, revision=1) == 1
    assert counts(shop) == ALL
