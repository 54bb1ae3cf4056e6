"""Stock as a shop lives with it: counting begins, stock-takes, bottles that are lots, suppliers."""

from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from shop.queries.build_parts import parts_of_build
from shop.queries.builds import build_view
from shop.queries.stocks import (
    MoveView,
    moves_of_stock,
    stock_of_code,
    stock_view,
    stocks_on_shelf,
    unit_costs,
)
from shop.queries.suppliers import suppliers_by_name
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.build_parts import set_aside
from shop.services.lots import add_lot, change_lot, empty_lot
from shop.services.stocks import change_stock, count_stock, start_counting
from shop.services.suppliers import add_supplier, change_supplier
from shop.web.addresses import MOST_WHOLE
from tests.api.filled import BOND, FINISH
from tests.conftest import START
from tests.lot_shop import TODAY, bench_at
from tests.make_up_shop import BLANK, FORE, RING
from tests.stock_shop import KITS, OTHER_SEAT, REARS, RINGS, ROD, SEATS, SUPPLIER, fill_with_stock


@pytest.fixture
def shop(session: Session) -> Session:
    fill_with_stock(session, START)
    return session


def there(session: Session, stock_id: int) -> int:
    return stock_view(session, stock_id).on_shelf


def moves(session: Session, stock_id: int) -> list[MoveView]:
    return moves_of_stock(session, stock_id, MOST_WHOLE, 50)


def test_counting_begins_with_what_lies_there(shop: Session) -> None:
    bench = bench_at(shop, START)
    start_counting(shop, bench, what="blank", item_id=BLANK, on_shelf=3, bin=" rack ")
    start_counting(shop, bench, what="component", item_id=FORE)
    codes = {item.name: (item.kind, item.code, item.unit, item.on_shelf) for item in stocks_on_shelf(shop)}
    assert codes == {
        "Heron 70": ("blank", "B1", "piece", 3), "Cork fore grip": ("grip", "C3", "piece", 0),
        "Cork rear grip": ("grip", "C1", "piece", 2), "Ring guide 8": ("guide", "RING8", "piece", 6),
        "Casting seat": ("reel seat", "SEAT16", "piece", 1),
        "Casting seat, long": ("reel seat", "SEAT16L", "piece", 1),
        "Thread A, garnet": ("thread", "C6", "share", 3), "Riverbed": ("adhesive", "A1", "bottle", 1),
    }  # fmt: skip
    begun = moves(shop, RINGS)
    assert [(move.kind, move.moved, move.note, move.by) for move in begun] == [
        ("counted", 6, "Counting begins.", "Nell")
    ]


@pytest.mark.parametrize(
    ("said", "error", "says"),
    [
        ({"item_id": RING}, Overtaken, "Ring guide 8 is counted already"),
        ({"item_id": FORE, "code": " SEAT16 "}, BadInput, "Casting seat has that code already"),
        ({"item_id": FORE, "on_shelf": -1}, BadInput, "from 0 to 100,000"),
        ({"item_id": FORE, "least": -1}, BadInput, "from 0 to 100,000"),
        ({"item_id": FORE, "supplier_id": 9}, NotOnFile, "no supplier 9"),
        ({"item_id": 99}, NotOnFile, "no component 99"),
        ({"what": "rod", "item_id": 1}, BadInput, "Only blanks, components and adhesives"),
    ],
)
def test_what_cannot_be_counted(
    shop: Session, said: dict[str, Any], error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        start_counting(shop, bench_at(shop, START), **{"what": "component", **said})


def test_a_stock_take_says_who_found_what_and_why(shop: Session) -> None:
    bench = bench_at(shop, START)
    assert count_stock(shop, bench, RINGS, counted=6) == 0
    with pytest.raises(BadInput) as refused:
        count_stock(shop, bench, RINGS, counted=5)
    assert refused.value.errors == {"reason": "The count was 6: say why it differs, as far as anybody knows."}
    for counted, reason in ((-1, "lost"), (100_001, "lost"), (5, "x" * 501)):
        with pytest.raises(BadInput):
            count_stock(shop, bench, RINGS, counted=counted, reason=reason)
    assert count_stock(shop, bench, RINGS, counted=4, reason="Two bent.") == -2
    assert [(move.moved, move.note, move.by) for move in moves(shop, RINGS)[:2]] == [
        (-2, "Two bent.", "Nell"), (0, "As counted.", "Nell"),
    ]  # fmt: skip
    rings = next(
        part for part in parts_of_build(shop, build_view(shop, ROD).id) if part.name == "Ring guide 8"
    )
    set_aside(shop, ROD, bench, part_id=rings.id)
    with pytest.raises(Overtaken, match="3 × Ring guide 8 are set aside for rods, and only 2 would be left"):
        count_stock(shop, bench, RINGS, counted=2, reason="More bent.")
    assert count_stock(shop, bench, RINGS, counted=3, reason="One bent.") == -1


def test_what_is_said_of_an_item_is_changed_and_its_count_is_not(shop: Session) -> None:
    version = stock_view(shop, SEATS).version
    change_stock(shop, SEATS, version=version, least=2, lead_days=21, bin="drawer 2", supplier_id=None)
    seen = stock_view(shop, SEATS)
    assert (seen.least, seen.lead_days, seen.bin, seen.supplier, seen.on_shelf) == (2, 21, "drawer 2", "", 1)
    assert seen.is_below_least
    with pytest.raises(Overtaken, match="Somebody else changed this meanwhile"):
        change_stock(shop, SEATS, version=version, least=3)
    with pytest.raises(BadInput, match="Ring guide 8 has that code already"):
        change_stock(shop, SEATS, code="RING8")
    change_stock(shop, SEATS, code="SEAT-16", lead_days=None)
    found = stock_of_code(shop, "SEAT-16")
    assert found is not None
    assert (found.id, found.lead_days, stock_of_code(shop, "SEAT16")) == (SEATS, None, None)
    # Without a lead time of its own, an item goes by its supplier's.
    assert stock_view(shop, REARS).lead_days == 10


def test_bottles_are_counted_as_their_lots_come_and_go(shop: Session) -> None:
    bench = bench_at(shop, START)
    lot = add_lot(shop, bench, adhesive_id=BOND, part="kit", number="K-1", received_on=TODAY)
    assert there(shop, KITS) == 2
    empty_lot(shop, bench, lot.id)
    assert (there(shop, KITS), moves(shop, KITS)[0].note) == (1, "Lot K-1 is used up.")
    change_lot(shop, bench, lot.id, not_used_up=True)
    assert (there(shop, KITS), moves(shop, KITS)[0].note) == (2, "Lot K-1 is not used up after all.")
    # A bottle that the count has lost may be used up all the same.
    count_stock(shop, bench, KITS, counted=0, reason="Nobody finds them.")
    empty_lot(shop, bench, lot.id)
    assert there(shop, KITS) == 0
    # What is not counted has no moves.
    add_lot(shop, bench, adhesive_id=FINISH, part="kit", number="K-2", received_on=TODAY)
    assert [item.adhesive_id for item in stocks_on_shelf(shop) if item.kind == "adhesive"] == [BOND]


def test_what_one_costs_is_on_file_before_anything_came(shop: Session) -> None:
    costs = unit_costs(shop, stocks_on_shelf(shop))
    assert {cost.cents for cost in costs.values()} == {None, 1700, 60}
    assert costs[stock_of_item(shop, OTHER_SEAT)].cents == 1700
    assert {cost.currency for cost in costs.values()} == {"EUR"}


def stock_of_item(session: Session, component_id: int) -> int:
    return next(item.id for item in stocks_on_shelf(session) if item.component_id == component_id)


def test_a_move_is_never_changed_or_deleted(shop: Session) -> None:
    shop.flush()
    for statement in ("UPDATE stock_moves SET count = 99", "DELETE FROM stock_moves"):
        with pytest.raises(DatabaseError, match="stock_moves are never changed or deleted"):
            shop.connection().execute(text(statement))


def test_a_supplier_is_put_on_file_and_changed(shop: Session) -> None:
    supplier = add_supplier(shop, now=START, name=" Fathom Supply ", email="desk@example.org", lead_days=7)
    with pytest.raises(BadInput) as again:
        add_supplier(shop, now=START, name="Fathom Supply")
    assert again.value.errors == {"name": "Fathom Supply is on file already."}
    assert [item.name for item in suppliers_by_name(shop)] == ["Fathom Supply", "Tern Hollow Supply"]
    change_supplier(shop, supplier.id, version=1, lead_days=None)
    with pytest.raises(Overtaken, match="changed this supplier meanwhile"):
        change_supplier(shop, supplier.id, version=1, name="Fathom")
    with pytest.raises(BadInput):
        change_supplier(shop, SUPPLIER, name="")
    with pytest.raises(NotOnFile):
        change_supplier(shop, 9, name="Nobody")
