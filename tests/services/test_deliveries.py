"""Deliveries: what came lies on the shelf with its cost and its lots, is looked at, and may go back."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.build_parts import Surplus, parts_of_build, surplus_of_open_builds
from shop.queries.builds import build_view
from shop.queries.deliveries import (
    DeliveryLine,
    delivery_view,
    latest_deliveries,
    lines_of_deliveries,
    waiting_deliveries,
)
from shop.queries.lots import lot_history, lots_on_file
from shop.queries.purchases import purchases
from shop.queries.stocks import stock_view, unit_costs
from shop.rules.deliveries import DeliveryDays
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.build_parts import set_aside
from shop.services.builds import change_build
from shop.services.deliveries import (
    DeliverySaid,
    LineSaid,
    inspect_delivery,
    receive_delivery,
    return_to_supplier,
)
from shop.services.lots import open_lot
from shop.services.make_ups import save_make_up
from tests.conftest import START
from tests.lot_shop import TODAY, bench_at
from tests.make_up_shop import GUIDES, PARTS, WHOLE
from tests.stock_shop import (
    KITS,
    OTHER_SEAT,
    RINGS,
    ROD,
    SEATS,
    SECOND,
    SHARES,
    SUPPLIER,
    fill_with_stock,
)

WEEK = timedelta(days=7)
DAYS = DeliveryDays(TODAY, TODAY + WEEK, TODAY + 2 * WEEK)
KIT = LineSaid(KITS, 2, 2_450, "K-77", use_by=date(2026, 9, 1))
SAID = DeliverySaid(DAYS, (LineSaid(RINGS, 10, 265), KIT), SUPPLIER, "DN 4471", "Two boxes.")


@pytest.fixture
def shop(session: Session) -> Session:
    fill_with_stock(session, START)
    return session


def receive(session: Session, said: DeliverySaid = SAID) -> int:
    return receive_delivery(session, bench_at(session, START), said).id


def there(session: Session, stock_id: int) -> int:
    session.flush()
    return stock_view(session, stock_id).on_shelf


def test_what_came_lies_on_the_shelf_with_its_cost_and_its_lots(shop: Session) -> None:
    delivery_id = receive(shop)
    assert (there(shop, RINGS), there(shop, KITS)) == (16, 3)
    seen = delivery_view(shop, delivery_id)
    assert (seen.supplier, seen.reference, seen.inspected_at, seen.by) == (
        "Tern Hollow Supply", "DN 4471", None, "Nell",
    )  # fmt: skip
    assert lines_of_deliveries(shop, [delivery_id]) == {
        delivery_id: [
            DeliveryLine(RINGS, "Ring guide 8", "piece", False, 10, 0, 265, "EUR"),
            DeliveryLine(KITS, "Riverbed", "bottle", True, 2, 0, 2_450, "EUR"),
        ]
    }
    lots = lots_on_file(shop, TODAY)
    assert [(lot.number, lot.part, lot.received_on, lot.use_by) for lot in lots] == [
        ("K-77", "kit", TODAY, date(2026, 9, 1))
    ] * 2
    assert unit_costs(shop, [stock_view(shop, RINGS)])[RINGS].cents == 265


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"days": DeliveryDays(TODAY + WEEK)}, "received_on"),
        ({"days": DeliveryDays(None)}, "received_on"),
        ({"days": replace(DAYS, inspect_by=TODAY - WEEK)}, "inspect_by"),
        ({"lines": ()}, "lines"),
        ({"lines": (KIT,) * 61}, "lines"),
        ({"reference": "x" * 61}, "reference"),
        ({"note": "x" * 2001}, "note"),
        ({"lines": (KIT, LineSaid(99, 1))}, "lines.2.stock_id"),
        ({"lines": (LineSaid(RINGS, 0),)}, "lines.1.count"),
        ({"lines": (LineSaid(RINGS, 100_001),)}, "lines.1.count"),
        ({"lines": (LineSaid(RINGS, 1, -1),)}, "lines.1.unit_cost_cents"),
        ({"lines": (LineSaid(RINGS, 1, None, "K-1"),)}, "lines.1.lot_number"),
        ({"lines": (replace(KIT, lot_number=" "),)}, "lines.1.lot_number"),
        ({"lines": (replace(KIT, count=51),)}, "lines.1.count"),
        ({"lines": (replace(KIT, part="C"),)}, "lines.1.part"),
        ({"lines": (replace(KIT, use_by=date(1999, 1, 1)),)}, "lines.1.use_by"),
    ],
)
def test_a_delivery_that_cannot_be(shop: Session, changes: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        receive(shop, replace(SAID, **changes))
    assert field in refused.value.errors


def test_a_delivery_of_nobody_is_taken_and_one_of_an_unknown_supplier_is_not(shop: Session) -> None:
    with pytest.raises(NotOnFile, match="no supplier 9"):
        receive(shop, replace(SAID, supplier_id=9))
    receive(shop, replace(SAID, supplier_id=None))
    assert latest_deliveries(shop, 9)[0].supplier == ""


def test_a_delivery_waits_until_it_was_looked_at_and_cannot_go_back(shop: Session) -> None:
    first, second = receive(shop), receive(shop, replace(SAID, days=DeliveryDays(TODAY)))
    third = receive(shop, replace(SAID, days=replace(DAYS, inspect_by=TODAY)))
    assert [item.id for item in waiting_deliveries(shop, TODAY)] == [third, first, second]
    bench = bench_at(shop, START)
    for delivery_id in (first, second):
        inspect_delivery(shop, bench, delivery_id, note="One box was wet.")
    seen = delivery_view(shop, first)
    assert (seen.inspected_at, seen.inspected_by, seen.note) == (
        START,
        "Nell",
        "Two boxes.\nOne box was wet.",
    )
    with pytest.raises(Overtaken, match="Nell has looked at this delivery already"):
        inspect_delivery(shop, bench, first)
    last_day = TODAY + 2 * WEEK
    assert [item.id for item in waiting_deliveries(shop, last_day)] == [third, first]
    assert [item.id for item in waiting_deliveries(shop, last_day + timedelta(days=1))] == [third]
    with pytest.raises(BadInput, match="at most 2000 characters"):
        inspect_delivery(shop, bench, third, note="x" * 2000)


def test_what_is_not_right_goes_back(shop: Session) -> None:
    delivery_id, bench = receive(shop), bench_at(shop, START)
    send: dict[str, Any] = {"stock_id": RINGS, "count": 4, "reason": "Rings cracked."}
    for changes, error, says in (
        ({"count": 0}, BadInput, "from 1 to"), ({"reason": " "}, BadInput, "what is wrong with it"),
        ({"stock_id": SEATS}, NotOnFile, "did not come with this delivery"),
        ({"count": 11}, Overtaken, "only 10 are not back yet"),
    ):  # fmt: skip
        with pytest.raises(error, match=says):
            return_to_supplier(shop, bench, delivery_id, **{**send, **changes})
    return_to_supplier(shop, bench, delivery_id, **send)
    assert there(shop, RINGS) == 12
    assert lines_of_deliveries(shop, [delivery_id])[delivery_id][0].returned == 4
    with pytest.raises(Overtaken, match="only 6 are not back yet"):
        return_to_supplier(shop, bench, delivery_id, **{**send, "count": 7})


def test_what_is_set_aside_does_not_go_back(shop: Session) -> None:
    bench = bench_at(shop, START)
    said = replace(SAID, lines=(LineSaid(SEATS, 1),))
    delivery_id = receive(shop, said)
    for number in (ROD, SECOND):
        seat = next(
            part for part in parts_of_build(shop, build_view(shop, number).id) if part.name == "Casting seat"
        )
        set_aside(shop, number, bench, part_id=seat.id)
    with pytest.raises(Overtaken, match="2 × Casting seat are set aside for rods"):
        return_to_supplier(shop, bench, delivery_id, stock_id=SEATS, count=1, reason="Too short.")


def test_bottles_that_go_back_are_used_up_as_lots(shop: Session) -> None:
    delivery_id, bench = receive(shop), bench_at(shop, START)
    first, second = (lot.id for lot in lots_on_file(shop, TODAY))
    open_lot(shop, bench, first)
    with pytest.raises(Overtaken, match="Of the bottles of that day 1 are still shut"):
        return_to_supplier(shop, bench, delivery_id, stock_id=KITS, count=2, reason="Leaks.")
    return_to_supplier(shop, bench, delivery_id, stock_id=KITS, count=1, reason="Leaks.")
    gone = [lot for lot in lots_on_file(shop, TODAY) if lot.emptied_on is not None]
    assert [(lot.id, lot.emptied_on) for lot in gone] == [(second, TODAY)]
    assert [item.kind for item in lot_history(shop, second)] == ["received", "sent back"]
    assert there(shop, KITS) == 2


def test_what_to_buy_follows_the_builds_and_the_least(shop: Session) -> None:
    change_build(shop, ROD, bench_at(shop, START), promised_on=TODAY + timedelta(days=20))
    lines = {line.stock.name: line for line in purchases(shop, TODAY)}
    # Two rods take three rings each of the six there, four of which should be left.
    assert {name: (line.purchase.count, line.purchase.short) for name, line in lines.items()} == {
        "Ring guide 8": (4, 0), "Casting seat": (1, 1), "Cork rear grip": (1, 0),
    }  # fmt: skip
    assert lines["Casting seat"].purchase.builds == (SECOND,)
    assert lines["Casting seat"].purchase.order_by is None
    change_build(shop, SECOND, bench_at(shop, START), promised_on=TODAY + timedelta(days=10))
    late = next(line for line in purchases(shop, TODAY) if line.stock.name == "Casting seat").purchase
    assert (late.builds, late.order_by, late.is_late) == ((ROD,), TODAY - timedelta(days=4), True)
    receive(shop, replace(SAID, lines=(LineSaid(RINGS, 4), LineSaid(SEATS, 1), LineSaid(SHARES, 1))))
    assert [line.stock.name for line in purchases(shop, TODAY)] == ["Cork rear grip"]


def test_what_a_rod_no_longer_takes_is_put_back_and_not_bought(shop: Session) -> None:
    bench = bench_at(shop, START)
    parts = {part.name: part for part in parts_of_build(shop, build_view(shop, ROD).id)}
    set_aside(shop, ROD, bench, part_id=parts["Casting seat"].id)
    set_aside(shop, ROD, bench, part_id=parts["Ring guide 8"].id)
    long_seat = replace(PARTS[1], component_id=OTHER_SEAT)
    said = replace(WHOLE, parts=(PARTS[0], long_seat), guides=GUIDES[:2])
    save_make_up(shop, ROD, bench, said, revision=1)
    assert surplus_of_open_builds(shop) == [
        Surplus(SEATS, ROD, "Casting seat", 1), Surplus(RINGS, ROD, "Ring guide 8", 1),
    ]  # fmt: skip
    counts = {line.stock.name: line.purchase.count for line in purchases(shop, TODAY)}
    # The seat that lies there for the first rod is the second one's; five rings of six are taken by the two.
    assert counts == {"Ring guide 8": 3, "Cork rear grip": 1}
