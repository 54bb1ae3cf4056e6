"""Repairs: taken in, looked over, signed for, and brought to the right point of the right sequence."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_view, open_builds
from shop.queries.events import events_of_build
from shop.queries.intakes import intake_view, open_repairs
from shop.queries.sequences import present_sequences, sequence_view
from shop.queries.specs import latest_spec
from shop.rules.intakes import Condition, IntakeSaid, blank_list
from shop.rules.refusals import BadInput, Held, NotOnFile, Overtaken
from shop.services.bench import Bench
from shop.services.events import Logged, advance, send_back
from shop.services.intakes import RepairSaid, sign_intake, take_in_repair, write_intake
from shop.services.orders import close_order
from shop.services.repair_works import choose_work, works_on_offer
from shop.services.sequences import retire_sequence
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.repair_shop import ROD, STILL_HERE, open_repairs_desk, take_in
from tests.spec_shop import CUSTOMER, UTC

TIP_TOP, JOINT, WRAPS = "Repair: new tip-top", "Repair: joint glued again", "Repair: guides wrapped again"


@pytest.fixture
def bench(hub: Hub, hands: Hands, session: Session) -> Bench:
    return open_repairs_desk(hub, session, hands.wall_at)


def sequence_of(session: Session, number: str) -> str:
    return sequence_view(session, build_view(session, number).sequence_id).name


def look_over(session: Session, bench: Bench, number: str, **states: str) -> None:
    view = intake_view(session, build_view(session, number).id)
    assert view is not None
    rows = tuple(replace(row, state=states.get(row.item, "sound")) for row in view.conditions)
    said = IntakeSaid(view.brought_on, view.rod, view.wish, rows)
    write_intake(session, number, bench, said, version=view.version)


def test_a_rod_in_words_is_taken_in(session: Session, bench: Bench) -> None:
    number = take_in(session, bench, work="new tip-top")
    build = build_view(session, number)
    assert (build.rod_kind, build.title, build.copied_from_id, build.is_enquiry) == (
        "repair", "Repair: 7 ft casting, dark green", None, False,
    )  # fmt: skip
    assert sequence_of(session, number) == TIP_TOP
    assert number in [item.number for item in open_builds(session)]
    view = intake_view(session, build.id)
    assert view is not None
    assert (view.rod, view.wish, len(view.conditions)) == ("7 ft casting, dark green", "A new tip-top.", 13)
    spec = latest_spec(session, build.id)
    assert spec is not None
    assert (spec.value.rod_kind, spec.value.wishes) == ("repair", "A new tip-top.")
    # What is on the record names nobody and quotes nobody.
    said = " ".join(event.note for event in events_of_build(session, build.id))
    assert "The rod is taken in: 0 of 13 points amiss, 13 not looked at." in said
    assert "dark green" not in said


def test_our_own_rod_is_taken_in_by_its_number(session: Session, bench: Bench) -> None:
    number = take_in(session, bench, own_number=ROD)
    build, own = build_view(session, number), build_view(session, ROD)
    assert (build.copied_from_id, build.blank_id, build.thread_colour) == (
        own.id, own.blank_id, own.thread_colour,
    )  # fmt: skip
    assert build.title == f"Repair of {ROD} 8 ft casting"
    assert sequence_of(session, number) == WRAPS


def test_what_cannot_be_taken_in_is_said_all_at_once(session: Session, bench: Bench) -> None:
    tomorrow = bench.now.date() + timedelta(days=1)
    said = RepairSaid(CUSTOMER, IntakeSaid(tomorrow), work="a miracle", own_number=STILL_HERE)
    with pytest.raises(BadInput) as bad:
        take_in_repair(session, bench, said, zone=UTC)
    assert set(bad.value.errors) == {"wish", "brought_on", "work", "own_number"}
    assert "send it back to the right stage" in bad.value.errors["own_number"]
    with pytest.raises(BadInput, match="There is no build 26-099"):
        take_in(session, bench, own_number="26-099")


def test_a_list_is_signed_once_and_opens_the_first_stage(session: Session, bench: Bench) -> None:
    number = take_in(session, bench)
    with pytest.raises(Held, match="condition list signed"):
        advance(session, number, bench, Logged("taken in"))
    with pytest.raises(BadInput, match="Nothing on the list has been looked at"):
        sign_intake(session, number, bench, name="Ada Thorn", version=None)
    look_over(session, bench, number, blank="cracked")
    with pytest.raises(Overtaken, match="meanwhile"):
        sign_intake(session, number, bench, name="Ada Thorn", version=1)
    record = sign_intake(session, number, bench, name="Ada Thorn", version=2)
    assert (record.signed_name, record.signed_at) == ("Ada Thorn", bench.now)
    advance(session, number, bench, Logged("taken in"))
    said = " ".join(event.note for event in events_of_build(session, build_view(session, number).id))
    assert "The condition list is signed." in said
    assert "Ada" not in said
    with pytest.raises(Overtaken, match="signed already"):
        sign_intake(session, number, bench, name="Ada Thorn", version=None)
    with pytest.raises(Overtaken, match="it stays as whoever brought the rod saw it"):
        look_over(session, bench, number)


def test_of_two_who_write_on_a_list_neither_silently_wins(session: Session, bench: Bench) -> None:
    number = take_in(session, bench)
    look_over(session, bench, number)
    said = IntakeSaid(bench.now.date(), "a rod", "a wish", (Condition("blank", "cracked"),))
    with pytest.raises(Overtaken, match="Somebody else has written on this list"):
        write_intake(session, number, bench, said, version=1)
    with pytest.raises(BadInput):
        write_intake(session, number, bench, replace(said, wish=""), version=2)
    write_intake(session, number, bench, said, version=None)
    view = intake_view(session, build_view(session, number).id)
    assert view is not None
    assert view.conditions == (Condition("blank", "cracked"),)


def test_nothing_is_written_where_it_cannot_be(session: Session, bench: Bench) -> None:
    said = IntakeSaid(bench.now.date(), "a rod", "a wish", blank_list(0))
    with pytest.raises(Overtaken, match="is no repair"):
        write_intake(session, ROD, bench, said, version=None)
    with pytest.raises(Overtaken, match="Nobody has written down"):
        sign_intake(session, ROD, bench, name="Ada Thorn", version=None)
    number = take_in(session, bench)
    close_order(session, number, bench, reason="the price")
    with pytest.raises(Overtaken, match="is cancelled"):
        write_intake(session, number, bench, said, version=None)
    with pytest.raises(NotOnFile):
        write_intake(session, "26-099", bench, said, version=None)


def test_what_is_to_be_done_is_chosen_anew_while_both_have_the_same_behind_them(
    session: Session, bench: Bench
) -> None:
    number = take_in(session, bench)
    look_over(session, bench, number)
    sign_intake(session, number, bench, name="Ada Thorn", version=None)
    for stage in ("taken in", "looked at"):
        advance(session, number, bench, Logged(stage))
    choose_work(session, number, bench, work="joint glued again")
    build = build_view(session, number)
    assert (sequence_of(session, number), build.stage) == (JOINT, "looked at")
    choose_work(session, number, bench, work=JOINT)
    said = [event.note for event in events_of_build(session, build.id)]
    assert said.count("What is to be done: joint glued again.") == 1
    with pytest.raises(Held, match="said yes to nothing"):
        advance(session, number, bench, Logged("repair agreed"))


def test_it_is_not_chosen_anew_past_that_point_nor_for_what_is_no_repair(
    session: Session, bench: Bench
) -> None:
    with pytest.raises(Overtaken, match="is no repair"):
        choose_work(session, ROD, bench, work=JOINT)
    number = take_in(session, bench)
    with pytest.raises(BadInput, match="Choose what is to be done"):
        choose_work(session, number, bench, work="a miracle")
    close_order(session, number, bench, reason="the price")
    with pytest.raises(Overtaken, match="is cancelled"):
        choose_work(session, number, bench, work=JOINT)


def test_a_ready_made_repair_that_the_shop_has_not_is_put_on_file_when_it_is_chosen(
    session: Session, bench: Bench
) -> None:
    old = next(view for view in present_sequences(session) if view.name == TIP_TOP)
    retire_sequence(session, old.id, now=bench.now)
    session.flush()
    assert (TIP_TOP, "new tip-top") in works_on_offer(session)
    number = take_in(session, bench, work=TIP_TOP)
    assert sequence_of(session, number) == TIP_TOP
    assert build_view(session, number).sequence_id != old.id


def test_repairs_in_the_shop_say_where_they_stand(session: Session, bench: Bench) -> None:
    number = take_in(session, bench)
    (line,) = open_repairs(session)
    assert (line.number, line.stage, line.signed_at, line.since, line.is_ready) == (
        number, None, None, None, False,
    )  # fmt: skip


def test_one_that_was_sent_back_to_lie_ready_has_lain_since_then(session: Session, bench: Bench) -> None:
    number = take_in(session, bench)
    look_over(session, bench, number)
    sign_intake(session, number, bench, name="Ada Thorn", version=None)
    advance(session, number, bench, Logged("taken in"))
    advance(session, number, bench, Logged("looked at"))
    send_back(session, number, bench, to="looked at", reason="look again")
    (line,) = open_repairs(session)
    assert (line.stage, line.since) == ("looked at", bench.now)
