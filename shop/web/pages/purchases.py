"""The shelf's page of what to buy, by supplier, fit to print, and the same as a spreadsheet."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.outside.spreadsheets import MEDIA_TYPE, csv_text
from shop.queries.build_parts import surplus_of_open_builds
from shop.queries.purchases import purchases
from shop.rules.people import Right
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.pages.lots import today_of
from shop.web.running import ReadingRoute
from shop.web.stock_page import BUY_HEAD, CSV_HEAD, purchase_cells, shops_to_buy_from
from shop.web.templating import Page
from shop.web.wording import day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.get("/shelf/purchases")
def show_purchases(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """What to buy, for open builds and up to each item's least."""
    today = today_of(page, bench)
    shops = shops_to_buy_from(purchases(session, today), today, actor.may(Right.DESK))
    return page.show(
        "pages/purchases.html", here="shelf", shops=shops, head=BUY_HEAD, printed=day(today, today),
        surplus=surplus_of_open_builds(session),
    )  # fmt: skip


@router.get("/shelf/purchases.csv")
def download_purchases(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """The same as a spreadsheet."""
    today = today_of(page, bench)
    text = csv_text(CSV_HEAD, purchase_cells(purchases(session, today)))
    name = f"to-buy-{today.isoformat()}.csv"
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "private, no-store"}
    return Response(text, media_type=MEDIA_TYPE, headers=headers)
