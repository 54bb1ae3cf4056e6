"""What the pages of deliveries show and read: rows with the days left, and the lines of a form."""

from collections.abc import Iterable
from datetime import date
from itertools import zip_longest
from typing import Any, NamedTuple

from shop.queries.deliveries import DeliveryLine, DeliveryView
from shop.queries.purchases import PurchaseLine
from shop.rules.lots import MOST_NUMBER, PARTS
from shop.rules.stock import MOST_COUNT, days_left
from shop.services.deliveries import LineSaid
from shop.web.deps import Posted
from shop.web.forms import Fields
from shop.web.stock_page import many
from shop.web.wording import amount, day

HEAD = ["Came", "From", "Look at it", "Send it back", "What came"]
# The fields of a line, in the order that they stand in a row.
COLUMNS = ("stock_id", "count", "unit_cost_cents", "lot_number", "part", "use_by")
FIRST_LINES, MORE_LINES = 4, 4
# So many days before a delivery has to be looked at, the Desk says so.
SOON_DAYS = 3


class LineRow(NamedTuple):
    """A line of the form as it was typed; `name` is what its fields are called in a refusal."""

    name: str
    values: dict[str, str]


class DueNote(NamedTuple):
    """What is to be seen to on the shelf by now, and the page where that is done with what it is called."""

    text: str
    href: str
    page: str


def due_notes(
    deliveries: Iterable[DeliveryView], lines: Iterable[PurchaseLine], today: date
) -> list[DueNote]:
    """The deliveries that must be looked at soon, and how much is to be ordered by today."""
    notes = []
    for item in deliveries:
        left = days_left(item.inspect_by, today)
        if item.inspected_at is None and left is not None and left <= SOON_DAYS:
            said = f"Delivery {item.id}{f' from {item.supplier}' if item.supplier else ''}"
            until = left_said(item.inspect_by, today, "")
            text = f"{said} is to be looked at by {until}."
            notes.append(DueNote(text, f"/shelf/deliveries/{item.id}", "To the delivery"))
    due = sum(line.purchase.order_by is not None and line.purchase.order_by <= today for line in lines)
    if due:
        verb = "is" if due == 1 else "are"
        text = f"{many(due, 'item')} {verb} to be ordered today at the latest for a rod to keep its day."
        notes.append(DueNote(text, "/shelf/purchases", "What to buy"))
    return notes


def delivery_rows(
    deliveries: Iterable[DeliveryView], lines: dict[int, list[DeliveryLine]], today: date
) -> list[list[Any]]:
    """A row for each delivery."""
    return [
        [
            {"text": day(item.received_on, today), "href": f"/shelf/deliveries/{item.id}"},
            " · ".join(filter(None, (item.supplier, item.reference))) or "not said",
            "done" if item.inspected_at else left_said(item.inspect_by, today, "no day named"),
            left_said(item.return_by, today, "no day named"),
            ", ".join(f"{line.received} × {line.name}" for line in lines.get(item.id, [])),
        ]
        for item in deliveries
    ]  # fmt: skip


def left_said(until: date | None, today: date, unsaid: str) -> str:
    """Until when, and how many days that leaves."""
    left = days_left(until, today)
    if until is None or left is None:
        return unsaid
    words = "today" if left == 0 else f"{many(left, 'day')} left" if left > 0 else f"{many(-left, 'day')} ago"
    return f"{day(until, today)}, {words}"


def line_rows(lines: Iterable[DeliveryLine], may_money: bool) -> list[list[Any]]:
    """A row for each line of one delivery; what it cost only for who may see money."""
    return [
        [
            {"text": line.name, "href": f"/shelf/stock/{line.stock_id}"}, many(line.received, line.unit),
            many(line.returned, line.unit) if line.returned else "none",
            *([amount(line.unit_cost_cents, line.currency)] if may_money else []),
        ]
        for line in lines
    ]  # fmt: skip


def typed_lines(posted: Posted) -> list[LineRow]:
    """The lines that say anything as they were typed, moved up, and then empty ones; more where asked for."""
    columns = [posted.all(name) for name in COLUMNS]
    rows = [dict(zip(COLUMNS, values, strict=True)) for values in zip_longest(*columns, fillvalue="")]
    filled = [row for row in rows if _says_anything(row)]
    many_more = MORE_LINES if posted.get("what") == "more" else 0
    empty = max(FIRST_LINES, len(filled) + many_more) - len(filled)
    return [
        LineRow(f"lines.{number}", row)
        for number, row in enumerate([*filled, *[dict.fromkeys(COLUMNS, "")] * empty], 1)
    ]


def _says_anything(row: dict[str, str]) -> bool:
    """Whether a line was filled in; what part a bottle is, is chosen on every line."""
    return any(value for name, value in row.items() if name != "part")


def lines_said(rows: Iterable[LineRow], fields: Fields) -> list[LineSaid]:
    """The lines that say anything, as the verb takes them; every fault is noted in `fields`."""
    said = []
    for row in rows:
        if _says_anything(row.values):
            line = Fields({f"{row.name}.{name}": value for name, value in row.values.items()})
            said.append(_line(row.name, line))
            fields.errors.update(line.errors)
    return said


def _line(name: str, line: Fields) -> LineSaid:
    number = name.partition(".")[2]
    count = line.whole(f"{name}.count", f"The count in line {number}", 1, MOST_COUNT)
    line.required(f"{name}.count", f"The count in line {number}", count)
    return LineSaid(
        stock_id=line.chosen(f"{name}.stock_id", f"The item in line {number}"),
        count=count or 0,
        unit_cost_cents=line.cents(f"{name}.unit_cost_cents", f"The cost in line {number}"),
        lot_number=line.text(f"{name}.lot_number", f"The lot number in line {number}", MOST_NUMBER),
        part=line.choice(f"{name}.part", f"The part in line {number}", PARTS),
        use_by=line.day(f"{name}.use_by", f"The use-by date in line {number}"),
    )
