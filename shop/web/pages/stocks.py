"""The shelf's pages of stock: what is counted, beginning to count, stock-takes, and the labels of bins."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.codes import qr_code
from shop.queries.lots import lots_on_file
from shop.queries.stocks import (
    ITEMS,
    StockView,
    moves_of_stock,
    stock_id_of,
    stock_view,
    stocks_on_shelf,
    unit_costs,
)
from shop.queries.suppliers import suppliers_by_name
from shop.rules.people import Right
from shop.rules.refusals import NotOnFile
from shop.rules.stock import (
    MOST_BIN,
    MOST_CODE,
    MOST_COUNT,
    MOST_LEAD_DAYS,
    MOST_REASON,
    MOST_SUPPLIER_CODE,
    MOST_UNIT,
)
from shop.services.stocks import ADHESIVE, change_stock, count_stock, item_of, start_counting
from shop.web.addresses import MOST_WHOLE
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Asked, Form, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.labels import PAPERS, Label, sheets_of
from shop.web.pages.lots import today_of
from shop.web.running import ReadingRoute
from shop.web.stock_page import HEAD, NUMERIC, facts_of_stock, move_lines, stock_rows
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, ONE, FORM = "pages/stocks.html", "pages/stock.html", "pages/stock_form.html"
LABELS = "pages/stock_labels.html"
MOST_MOVES = 100


@router.get("/shelf/stock")
def show_stocks(actor: Looking, page: Page, session: Reading) -> Response:
    """What lies on the shelf, what is below its least first."""
    found = stocks_on_shelf(session)
    below = [item for item in found if item.is_below_least]
    return page.show(
        LIST, here="shelf", head=HEAD, numeric=NUMERIC, below=stock_rows(below),
        rows=stock_rows(item for item in found if not item.is_below_least), may_desk=actor.may(Right.DESK),
    )  # fmt: skip


@router.get("/shelf/stock/labels")
def show_bin_labels(actor: Looking, page: Page, session: Reading, paper: str = "a4") -> Response:
    """A sheet of labels for every bin, each with the code that a scanner reads."""
    size = paper if paper in PAPERS else "a4"
    labels = [
        Label(item.code, item.name, item.bin, qr_code(item.code))
        for item in sorted(stocks_on_shelf(session), key=lambda item: (item.bin, item.name))
    ]
    others = [(key, other.says) for key, other in PAPERS.items() if key != size]
    return page.show(
        LABELS, here="shelf", paper=size, says=PAPERS[size].says, others=others,
        sheets=sheets_of(labels, size, 1),
    )  # fmt: skip


@router.get("/shelf/stock/of/{what}/{item_id}")
def find_stock(actor: AtDesk, page: Page, session: Reading, what: str, item_id: int) -> Response:
    """The stock of a blank, a component or an adhesive; the form to begin counting where there is none."""
    if what not in ITEMS:
        raise NotOnFile("There is nothing on file at this address.")
    stock_id = stock_id_of(session, what, item_id)
    return page.go(
        f"/shelf/stock/new?what={what}&item={item_id}" if stock_id is None else f"/shelf/stock/{stock_id}"
    )


@router.get("/shelf/stock/new")
def new_stock(
    actor: AtDesk, page: Page, session: Reading, bench: TheBench, what: str = "", item: Asked = 0
) -> Response:
    """The form with which an item begins to be counted."""
    on_shelf = _bottles(page, session, bench, item) if what == ADHESIVE else ""
    form = FormView({"what": what, "item_id": item, "on_shelf": on_shelf, "least": "0"})
    return page.show(FORM, here="shelf", form=form, **_new(session, what, item))


def _bottles(page: Frame, session: Session, bench: BenchSide, adhesive_id: int) -> int:
    """How many bottles of an adhesive have lots on file that are not used up."""
    lots = lots_on_file(session, today_of(page, bench))
    return sum(lot.adhesive_id == adhesive_id and lot.emptied_on is None for lot in lots)


def _new(session: Session, what: str, item_id: int) -> dict[str, Any]:
    name, kind = item_of(session, what, item_id)
    return {"item": None, "name": name, "kind": kind, **_suppliers(session)}


def _suppliers(session: Session) -> dict[str, Any]:
    return {"suppliers": [("", "not said"), *((item.id, item.name) for item in suppliers_by_name(session))]}


@router.post("/shelf/stock/new")
def begin_counting(actor: AtDesk, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Begin to count an item."""
    page.here = "shelf"
    what, item_id = posted.get("what", ""), Fields(posted).chosen("item_id", "The item")
    name, _kind = item_of(session, what, item_id)
    with showing_again(page, FORM, posted, lambda: _new(session, what, item_id)):
        fields = Fields(posted)
        on_shelf = fields.whole("on_shelf", "How many there are", 0, MOST_COUNT)
        fields.required("on_shelf", "How many there are", on_shelf)
        said = _said(fields)
        fields.done()
        stock = start_counting(
            session, bench.bench(session, actor), what=what, item_id=item_id, on_shelf=on_shelf or 0, **said
        )
    return page.go(f"/shelf/stock/{stock.id}", f"{name} is counted from now on.")


def _said(fields: Fields) -> dict[str, Any]:
    """What a form says of a counted item; every fault is noted in `fields`."""
    return {
        "code": fields.text("code", "The code", MOST_CODE),
        "unit": fields.text("unit", "What is counted", MOST_UNIT),
        "bin": fields.text("bin", "Where it lies", MOST_BIN),
        "least": fields.whole("least", "The least", 0, MOST_COUNT) or 0,
        "lead_days": fields.whole("lead_days", "How long an order takes", 0, MOST_LEAD_DAYS),
        "supplier_id": fields.whole("supplier_id", "The supplier", 1, MOST_WHOLE),
        "supplier_code": fields.text("supplier_code", "The supplier's code", MOST_SUPPLIER_CODE),
    }


@router.get("/shelf/stock/{stock_id}")
def show_stock(actor: Looking, page: Page, session: Reading, bench: TheBench, stock_id: int) -> Response:
    """One item: how many there are, a stock-take, and what became of it."""
    return page.show(ONE, here="shelf", form=FormView(), **_one(page, session, bench, stock_id))


def _one(page: Frame, session: Session, bench: BenchSide, stock_id: int) -> dict[str, Any]:
    item = stock_view(session, stock_id)
    may_desk = page.person is not None and page.person.may(Right.DESK)
    moves = moves_of_stock(session, stock_id, MOST_WHOLE, MOST_MOVES)
    cost = unit_costs(session, [item])[stock_id] if may_desk else None
    return {
        "item": item,
        "free": item.free,
        "is_below_least": item.is_below_least,
        "item_href": _href(item),
        "facts": facts_of_stock(item, cost),
        "moves": move_lines(moves, bench.now, page.zone, may_desk),
        "may_desk": may_desk,
        "code": qr_code(item.code),
    }


def _href(item: StockView) -> str:
    for shelf, item_id in (("blanks", item.blank_id), ("components", item.component_id)):
        if item_id is not None:
            return f"/shelf/{shelf}/{item_id}"
    return f"/shelf/adhesives/{item.adhesive_id}"


@router.post("/shelf/stock/{stock_id}/count")
def take_stock(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, stock_id: int, posted: Form
) -> Response:
    """Write a stock-take down."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, stock_id)):
        fields = Fields(posted)
        counted = fields.whole("counted", "How many there are", 0, MOST_COUNT)
        fields.required("counted", "How many there are", counted)
        reason = fields.text("reason", "The reason", MOST_REASON)
        fields.done()
        difference = count_stock(
            session, bench.bench(session, actor), stock_id, counted=counted or 0, reason=reason
        )
    said = f"Counted: {difference:+d}." if difference else "Counted, and it was right."
    return page.go(f"/shelf/stock/{stock_id}", said)


@router.get("/shelf/stock/{stock_id}/edit")
def edit_stock(actor: AtDesk, page: Page, session: Reading, stock_id: int) -> Response:
    """The form that changes what is said of an item."""
    item = stock_view(session, stock_id)
    names = ("code", "unit", "bin", "least", "supplier_code", "version")
    values = {name: getattr(item, name) for name in names}
    values |= {"supplier_id": item.supplier_id or "", "lead_days": _typed(item.own_lead_days)}
    return page.show(FORM, here="shelf", form=FormView(values), **_edited(session, stock_id))


def _edited(session: Session, stock_id: int) -> dict[str, Any]:
    item = stock_view(session, stock_id)
    return {"item": item, "name": item.name, "kind": item.kind, **_suppliers(session)}


def _typed(number: int | None) -> str:
    return "" if number is None else str(number)


@router.post("/shelf/stock/{stock_id}/edit")
def save_stock(actor: AtDesk, page: Page, session: Writing, stock_id: int, posted: Form) -> Response:
    """Change what is said of an item."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: _edited(session, stock_id)):
        version, said = _changes(posted)
        change_stock(session, stock_id, version=version, **said)
    return page.go(f"/shelf/stock/{stock_id}", "Saved.")


def _changes(posted: Posted) -> tuple[int | None, dict[str, Any]]:
    fields = Fields(posted)
    version = fields.required("version", "The version", fields.whole("version", "The version", 1, 10**9))
    said = _said(fields)
    fields.done()
    return version, said
