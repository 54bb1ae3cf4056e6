"""What comes after: warranty with the last stage, rods that came back, and the same again."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_view, enquiries
from shop.queries.events import events_of_build
from shop.queries.intakes import intake_view
from shop.queries.returns import returns_between, returns_of_build
from shop.queries.shop import read_shop, shop_record
from shop.queries.specs import latest_spec
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.returns import ReturnSaid
from shop.services.bench import Bench
from shop.services.corrections import EventAnew, correct_event
from shop.services.customers import add_customer
from shop.services.events import send_back
from shop.services.re_orders import order_same_again
from shop.services.returns import record_return
from shop.services.sequences import add_sequence
from shop.services.specs import revise_spec
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.repair_shop import ROD, STILL_HERE, open_repairs_desk, take_in
from tests.spec_shop import CASTING, SPEC, bench_of, log
from tests.spec_shop import UTC as ZONE

TODAY = date(2026, 3, 2)
SAID = ReturnSaid(TODAY, "wrap came loose", "wrapped", person="Nell", cost_cents=25_00)


@pytest.fixture
def bench(hub: Hub, hands: Hands, session: Session) -> Bench:
    return open_repairs_desk(hub, session, hands.wall_at)


def notes(session: Session, number: str) -> list[str]:
    return [event.note for event in events_of_build(session, build_view(session, number).id)]


def test_the_last_stage_of_a_new_rod_begins_its_warranty(session: Session, bench: Bench) -> None:
    assert build_view(session, ROD).warranty_until == date(2027, 3, 2)
    shop_record(session).warranty_months = 0
    shop_record(session).time_zone = "Pacific/Auckland"
    log(session, bench, STILL_HERE, "agreed", "parts in hand", "blank checked", "laid out", "wrapped")
    log(session, bench, STILL_HERE, "handed over")
    assert build_view(session, STILL_HERE).warranty_until is None


@pytest.mark.usefixtures("bench")
def test_it_runs_from_the_shops_own_day(hub: Hub, session: Session) -> None:
    shop_record(session).time_zone = "Pacific/Auckland"
    evening = bench_of(hub, session, datetime(2026, 3, 30, 20, 0, tzinfo=UTC))
    log(session, evening, STILL_HERE, "agreed", "parts in hand", "blank checked", "laid out", "wrapped")
    log(session, evening, STILL_HERE, "handed over")
    assert build_view(session, STILL_HERE).warranty_until == date(2027, 3, 31)


@pytest.mark.usefixtures("bench")
def test_a_day_put_right_puts_the_warranty_right_and_other_facts_leave_it(
    hub: Hub, hands: Hands, session: Session
) -> None:
    hands.forward(days=2)
    later = bench_of(hub, session, hands.wall_at)
    events = [e for e in events_of_build(session, build_view(session, ROD).id) if e.kind == "stage"]
    shop_record(session).warranty_months = 6
    correct_event(session, later, events[0].id, anew=EventAnew(by="Nell"), reason="it was Nell")
    assert build_view(session, ROD).warranty_until == date(2027, 3, 2)
    anew = EventAnew(at=datetime(2026, 3, 3, 9, 0, tzinfo=UTC))
    correct_event(session, later, events[-1].id, anew=anew, reason="a day later")
    assert build_view(session, ROD).warranty_until == date(2026, 9, 3)


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize(
    ("day", "within"), [("2026-03-02", True), ("2027-03-02", True), ("2027-03-03", False)]
)
def test_a_rod_that_came_back_is_under_warranty_by_its_day(
    hub: Hub, session: Session, day: str, within: bool
) -> None:
    then = bench_of(hub, session, datetime(2027, 4, 1, tzinfo=UTC))
    said = replace(SAID, returned_on=date.fromisoformat(day))
    kept = record_return(session, ROD, then, said)
    assert kept.under_warranty is within
    assert notes(session, ROD)[-1] == (
        f"It came back, {'under warranty' if within else 'not under warranty'}: wrap came loose."
    )
    (line,) = returns_of_build(session, build_view(session, ROD).id)
    assert (line.cause, line.stage_name, line.person, line.cost_cents, line.lot) == (
        "wrap came loose", "wrapped", "Nell", 25_00, "",
    )  # fmt: skip
    assert [item.id for item in returns_between(session, said.returned_on, said.returned_on)] == [kept.id]


def test_with_a_wish_it_is_taken_in_for_repair(session: Session, bench: Bench) -> None:
    kept = record_return(session, ROD, bench, SAID, wish="Wrap the third guide.", work="guides wrapped again")
    (line,) = returns_of_build(session, build_view(session, ROD).id)
    assert line.repair == "26-003"
    repair = build_view(session, "26-003")
    assert (kept.repair_id, repair.copied_from_id) == (repair.id, build_view(session, ROD).id)
    view = intake_view(session, repair.id)
    assert view is not None
    assert (view.rod, view.wish) == (f"{ROD} 8 ft casting", "Wrap the third guide.")
    with pytest.raises(Overtaken, match="is written down as come back on 2026-03-02 already"):
        record_return(session, ROD, bench, SAID, wish="again")


def test_one_that_is_in_for_repair_already_came_back_for_that(session: Session, bench: Bench) -> None:
    repair = take_in(session, bench, own_number=ROD)
    with pytest.raises(BadInput) as bad:
        record_return(session, ROD, bench, SAID, wish="mend it")
    assert repair in bad.value.errors["repair"]
    kept = record_return(session, ROD, bench, SAID)
    assert kept.repair_id == build_view(session, repair).id


def test_what_cannot_have_come_back_is_refused(session: Session, bench: Bench) -> None:
    with pytest.raises(Overtaken, match="was never handed over; send it back"):
        record_return(session, STILL_HERE, bench, SAID)
    with pytest.raises(BadInput) as bad:
        record_return(session, ROD, bench, replace(SAID, lot_id=99, cause="?"), wish=" ")
    assert set(bad.value.errors) == {"cause", "lot_id", "wish"}
    with pytest.raises(NotOnFile):
        record_return(session, "26-099", bench, SAID)
    send_back(session, ROD, bench, to="laid out", reason="a guide is out of line")
    with pytest.raises(Overtaken):
        record_return(session, ROD, bench, SAID)


def test_the_same_again_is_an_enquiry_for_the_same_customer(session: Session, bench: Bench) -> None:
    log(session, bench, STILL_HERE, "agreed")
    words = replace(SPEC, inscription="For Ada", inscription_side="top", wishes="as light as can be")
    revise_spec(session, STILL_HERE, bench, words, revision=1)
    add_sequence(session, now=bench.now, sequence=replace(CASTING, stages=CASTING.stages[1:]))
    made = order_same_again(session, STILL_HERE, bench, zone=ZONE)
    view = build_view(session, made.build.number)
    first = build_view(session, STILL_HERE)
    assert (view.is_enquiry, view.copied_from_id, view.customer_id, view.promised_on) == (
        True, first.id, first.customer_id, None,
    )  # fmt: skip
    assert view.sequence_id != first.sequence_id
    spec = latest_spec(session, view.id)
    assert spec is not None
    assert spec.value == words
    assert [item.number for item in enquiries(session)] == [view.number]
    assert (made.changes, made.left_out) == ((), "")


def test_for_another_customer_the_firsts_own_words_stay_behind(session: Session, bench: Bench) -> None:
    log(session, bench, STILL_HERE, "agreed")
    words = replace(SPEC, inscription="For Ada", inscription_again="For Ada", wishes="light", hand_size="S")
    revise_spec(session, STILL_HERE, bench, words, revision=1)
    other = add_customer(session, now=bench.now, name="Ines Wald")
    made = order_same_again(session, STILL_HERE, bench, zone=ZONE, customer_id=other.id)
    spec = latest_spec(session, made.build.id)
    assert spec is not None
    assert spec.value == SPEC
    assert made.build.customer_id == other.id


def test_a_rod_without_a_spec_is_copied_from_its_plan(session: Session, bench: Bench) -> None:
    made = order_same_again(session, ROD, bench, zone=ZONE)
    spec = latest_spec(session, made.build.id)
    assert spec is not None
    assert (spec.value.title, spec.value.blank_id, spec.value.wishes) == ("8 ft casting", 1, "")


def test_what_is_no_rod_is_not_made_again(session: Session, bench: Bench) -> None:
    with pytest.raises(Overtaken, match="was never ordered"):
        order_same_again(session, STILL_HERE, bench, zone=ZONE)
    with pytest.raises(Overtaken, match="is a repair"):
        order_same_again(session, take_in(session, bench), bench, zone=ZONE)
    with pytest.raises(NotOnFile):
        order_same_again(session, ROD, bench, zone=ZONE, customer_id=99)
    assert read_shop(session).warranty_months == 12
