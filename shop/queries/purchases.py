"""What to buy now: every counted item that open builds are short of or that is below its least.

What is set aside for a build that does not take it any more is put back and not bought.
"""

from collections import Counter
from datetime import date
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.queries.build_parts import surplus_of_open_builds, wanted_by_open_builds
from shop.queries.stocks import StockView, UnitCost, stocks_on_shelf, unit_costs
from shop.rules.purchases import Counted, Purchase, what_to_buy

NO_COST = UnitCost(None, "")


class PurchaseLine(NamedTuple):
    """What to buy of one item, and what one of it cost last."""

    stock: StockView
    purchase: Purchase
    cost: UnitCost


def purchases(session: Session, today: date) -> list[PurchaseLine]:
    """What to buy, by supplier and then by the day it is to be ordered; in four statements."""
    wanted = wanted_by_open_builds(session)
    surplus: Counter[int] = Counter()
    for item in surplus_of_open_builds(session):
        surplus[item.stock_id] += item.many
    found = []
    for stock in stocks_on_shelf(session):
        counted = Counted(stock.free + surplus[stock.id], stock.least, stock.lead_days)
        purchase = what_to_buy(counted, wanted.get(stock.id, ()), today)
        if purchase is not None:
            found.append((stock, purchase))
    costs = unit_costs(session, [stock for stock, _ in found])
    lines = [PurchaseLine(stock, purchase, costs.get(stock.id, NO_COST)) for stock, purchase in found]
    return sorted(lines, key=_order)


def _order(line: PurchaseLine) -> tuple[bool, str, date, str]:
    """By supplier, those without one last; then what is to be ordered soonest."""
    supplier = line.stock.supplier
    return (not supplier, supplier, line.purchase.order_by or date.max, line.stock.name)
