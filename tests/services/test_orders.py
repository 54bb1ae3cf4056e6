"""Orders: an enquiry becomes one, or comes to nothing and is taken up again; what each refuses."""

from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_record, build_view, enquiries, open_builds
from shop.queries.events import events_of_build
from shop.queries.stocks import stock_view
from shop.rules.orders import REASONS
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, NotOnFile, Overtaken
from shop.services.bench import Bench
from shop.services.build_parts import set_aside_all_that_is_there
from shop.services.corrections import EventAnew, correct_event
from shop.services.events import Logged, advance, note_down, send_back
from shop.services.orders import close_order, reopen_order, take_on_order
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.lot_shop import bench_at
from tests.spec_shop import ENQUIRY, ORDER, log, open_desk
from tests.stock_shop import RINGS, ROD, fill_with_stock


@pytest.fixture
def bench(hub: Hub, hands: Hands, session: Session) -> Bench:
    return open_desk(hub, session, hands.wall_at)


def close(session: Session, bench: Bench, number: str, reason: str = "the price", note: str = "") -> None:
    close_order(session, number, bench, reason=reason, note=note)


def last_event(session: Session, number: str) -> tuple[str, str]:
    event = events_of_build(session, build_view(session, number).id)[-1]
    return event.kind, event.note


def test_an_enquiry_is_taken_on_by_hand_and_still_waits_for_its_yes(session: Session, bench: Bench) -> None:
    take_on_order(session, ENQUIRY, bench)
    assert enquiries(session) == []
    assert [build.number for build in open_builds(session)] == [ENQUIRY, ORDER]
    assert last_event(session, ENQUIRY) == (EventKind.ORDER, "The order is taken on.")
    with pytest.raises(Held) as held:
        advance(session, ENQUIRY, bench, Logged("agreed"))
    assert "said yes to nothing" in held.value.sentence


def test_its_first_stage_makes_an_order_of_it(session: Session, bench: Bench) -> None:
    log(session, bench, ENQUIRY, "agreed")
    assert not build_view(session, ENQUIRY).is_enquiry


@pytest.mark.parametrize(("number", "closed_as"), [(ENQUIRY, "declined"), (ORDER, "cancelled")])
def test_what_comes_to_nothing_is_closed_and_its_record_stays(
    session: Session, bench: Bench, number: str, closed_as: str
) -> None:
    build_record(session, number).notes = "rang twice"
    close(session, bench, number, note="too dear for them")
    view = build_view(session, number)
    assert (view.closed_as, view.closed_at, view.notes) == (
        closed_as, bench.now, "rang twice\ntoo dear for them",
    )  # fmt: skip
    # The record is never changed, so it holds nothing that somebody wrote of a person.
    assert last_event(session, number) == (EventKind.CLOSED, f"{closed_as.capitalize()}: the price.")
    assert number not in [build.number for build in (*enquiries(session), *open_builds(session))]


@pytest.mark.parametrize(("number", "is_enquiry"), [(ENQUIRY, True), (ORDER, False)])
def test_it_is_taken_up_again_where_it_stood(
    session: Session, bench: Bench, number: str, is_enquiry: bool
) -> None:
    close(session, bench, number)
    reopen_order(session, number, bench)
    view = build_view(session, number)
    assert (view.closed_at, view.closed_as, view.is_enquiry) == (None, "", is_enquiry)
    assert last_event(session, number) == (EventKind.ORDER, "Taken up again.")


def test_nothing_is_done_on_a_closed_order(session: Session, bench: Bench) -> None:
    log(session, bench, ORDER, "agreed")
    close(session, bench, ORDER)
    said = Logged("parts in hand")
    refused: list[Callable[[], object]] = [
        lambda: advance(session, ORDER, bench, said),
        lambda: note_down(session, ORDER, bench, said),
        lambda: send_back(session, ORDER, bench, to="agreed", reason="anew"),
    ]
    for attempt in refused:
        with pytest.raises(Overtaken, match="The order was cancelled; reopen it first"):
            attempt()


def test_a_fact_put_right_does_not_reopen_it(session: Session, bench: Bench) -> None:
    log(session, bench, ORDER, "agreed")
    close(session, bench, ORDER)
    first = next(e for e in events_of_build(session, build_view(session, ORDER).id) if e.kind == "stage")
    correct_event(session, bench, first.id, anew=EventAnew(by="Nell"), reason="it was Nell")
    assert build_view(session, ORDER).closed_as == "cancelled"
    assert build_view(session, ORDER).closed_at == bench.now


def test_what_is_set_aside_for_it_goes_back_to_the_shelf(session: Session, hands: Hands) -> None:
    fill_with_stock(session, hands.wall_at)
    bench = bench_at(session, hands.wall_at)
    set_aside_all_that_is_there(session, ROD, bench)
    assert stock_view(session, RINGS).set_aside == 3
    close(session, bench, ROD)
    assert stock_view(session, RINGS).set_aside == 0
    assert "Put back" in events_of_build(session, build_view(session, ROD).id)[-2].note
    assert last_event(session, ROD)[0] == EventKind.CLOSED


def test_each_is_refused_where_it_cannot_be(session: Session, bench: Bench) -> None:
    with pytest.raises(Overtaken, match="taken on as an order already"):
        take_on_order(session, ORDER, bench)
    with pytest.raises(Overtaken, match="is open"):
        reopen_order(session, ORDER, bench)
    close(session, bench, ENQUIRY)
    with pytest.raises(Overtaken, match="is declined; reopen it first"):
        take_on_order(session, ENQUIRY, bench)
    with pytest.raises(Overtaken, match="is declined already"):
        close(session, bench, ENQUIRY)
    log(session, bench, ORDER, "agreed", "parts in hand", "blank checked", "laid out", "wrapped")
    log(session, bench, ORDER, "handed over")
    with pytest.raises(Overtaken, match="is handed over already"):
        close(session, bench, ORDER)
    with pytest.raises(Overtaken, match="send it back"):
        reopen_order(session, ORDER, bench)
    with pytest.raises(NotOnFile):
        close(session, bench, "26-099")


def test_a_reason_is_one_of_those_that_name_nobody(session: Session, bench: Bench) -> None:
    with pytest.raises(BadInput) as bad:
        close(session, bench, ORDER, reason="Ada did not like it", note="x" * 1001)
    assert set(bad.value.errors) == {"reason", "note"}
    assert build_view(session, ORDER).closed_at is None
    assert all(reason.isprintable() for reason in REASONS)
