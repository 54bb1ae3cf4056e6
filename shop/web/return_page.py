"""Rods that came back, as pages show them: the list of a period with its counts, and the form of one."""

from datetime import date
from typing import Any

from shop.craft.saying import say_money
from shop.db.sessions import Session
from shop.outside.spreadsheets import amount_of, csv_text
from shop.queries.builds import build_view
from shop.queries.lots import lots_of_build
from shop.queries.returns import ReturnView, returns_of_build
from shop.queries.users import list_users
from shop.rules.returns import CAUSES, Count, counted
from shop.services.repair_works import works_on_offer
from shop.web.benches import BenchSide
from shop.web.templating import Frame
from shop.web.wording import day, warranty_words

HEAD = ("Rod", "Came back", "Cause", "Step", "Lot", "Person", "Warranty", "Cost", "Repair")
COUNT_HEAD = ("What", "Came back", "Under warranty", "Cost")
OF_LOT_HEAD = ("Rod", "Came back", "Cause", "Step")
CSV_HEAD = (
    "no", "build", "title", "returned_on", "cause", "step", "adhesive", "lot", "person", "under_warranty",
    "currency", "cost", "repair", "note", "by",
)  # fmt: skip
TITLES = {"cause": "By cause", "step": "By step", "lot": "By lot", "person": "By person"}


def list_context(lines: list[ReturnView], today: date, currency: str) -> dict[str, Any]:
    """The returns of a period and how many there are for what."""
    return {
        "head": HEAD,
        "rows": [_row(line, today) for line in reversed(lines)],
        "counts": [
            (TITLES[by], COUNT_HEAD, [_count_row(count) for count in counts])
            for by, counts in counted(lines).items()
        ],
        "how_many": len(lines),
        "currency": currency,
    }


def _row(line: ReturnView, today: date) -> list[Any]:
    lot: Any = "–"
    if line.lot_id is not None:
        lot = {"text": line.lot, "href": f"/shelf/lots/{line.lot_id}/recall"}
    repair: Any = "–"
    if line.repair is not None:
        repair = {"text": line.repair, "href": f"/builds/{line.repair}"}
    return [
        {"text": f"{line.build} {line.title}", "href": f"/builds/{line.build}"},
        day(line.returned_on, today), line.cause, line.stage_name or "–", lot, line.person or "–",
        "yes" if line.under_warranty else "no", _money(line.cost_cents), repair,
    ]  # fmt: skip


def _count_row(count: Count) -> list[Any]:
    return [count.what, str(count.returns), str(count.under_warranty), say_money(count.cost_cents)]


def _money(cents: int | None) -> str:
    return "–" if cents is None else say_money(cents)


def of_lot_row(line: ReturnView) -> list[Any]:
    """A return as the recall list of a lot shows it, which may be printed: the day is written in full."""
    rod = {"text": f"{line.build} {line.title}", "href": f"/builds/{line.build}"}
    return [rod, line.returned_on.isoformat(), line.cause, line.stage_name or "–"]


def returns_csv(lines: list[ReturnView], currency: str) -> str:
    """Returns as CSV, one a line."""
    rows = [
        [
            line.id, line.build, line.title, line.returned_on, line.cause, line.stage_name, line.adhesive,
            line.lot_number, line.person, "yes" if line.under_warranty else "no", currency,
            amount_of(line.cost_cents), line.repair, line.note, line.by,
        ]
        for line in lines
    ]  # fmt: skip
    return csv_text(CSV_HEAD, rows)


def form_context(page: Frame, session: Session, bench: BenchSide, number: str) -> dict[str, Any]:
    """Everything that `pages/came_back.html` needs but the form."""
    build = build_view(session, number)
    today = bench.now.astimezone(page.zone).date()
    stages = bench.hub.sequences.of_build(session, build.sequence_id).value.stages
    lots = {use.lot_id: f"{use.adhesive}, lot {use.lot}" for use in lots_of_build(session, build.id).uses}
    return {
        "build": build,
        "warranty": warranty_words(build.warranty_until, today),
        "earlier": [_row(line, today) for line in returns_of_build(session, build.id)],
        "head": HEAD,
        "causes": [("", "choose a cause"), *((cause, cause) for cause in CAUSES)],
        "stages": [("", "not known"), *((stage.name, stage.name) for stage in stages)],
        "lots": [("", "not known"), *((str(lot_id), words) for lot_id, words in lots.items())],
        "people": [user.name for user in list_users(session)],
        "works": works_on_offer(session),
        "currency": page.shop.currency,
        "today": today.isoformat(),
    }
