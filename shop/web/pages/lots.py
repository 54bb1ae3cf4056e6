"""The shelf's pages of lots: every bottle by its state, one with its history, and what becomes of it."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.adhesives import adhesive_view, adhesives_by_name
from shop.queries.lots import (
    LotView,
    builds_of_lot,
    lot_history,
    lot_view,
    lots_alike,
    lots_on_file,
    mixes_of_lot,
)
from shop.rules.cautions import CLOUDY, EPOXY, STORAGE, WASTE
from shop.rules.lots import MOST_AMOUNT_ML, MOST_LIFE_DAYS, MOST_NUMBER, MOST_POSITION, PARTS
from shop.rules.people import Right
from shop.services.lots import (
    MOST_REASON,
    add_lot,
    change_lot,
    empty_lot,
    open_lot,
    quarantine_lot,
    release_lot,
    suspect_mixes_of_lot,
)
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtBench, AtDesk, Looking, Releasing
from shop.web.forms import Fields, FormView, showing_again
from shop.web.lot_page import (
    MIX_HEAD,
    ROD_HEAD,
    facts_of,
    history_lines,
    mix_rows,
    rod_rows,
    shelves,
    state_of,
)
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/lots.html"
ONE = "pages/lot.html"
FORM = "pages/lot_form.html"
PART_CHOICES = (("A", "Part A"), ("B", "Part B"), ("kit", "A kit of both"))


def today_of(page: Frame, bench: BenchSide) -> date:
    """The shop's own calendar day."""
    return bench.now.astimezone(page.zone).date()


@router.get("/shelf/lots")
def show_lots(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """Every lot, by its state."""
    today = today_of(page, bench)
    found = shelves(lots_on_file(session, today), today)
    return page.show(LIST, here="shelf", shelves=found, may_desk=actor.may(Right.DESK))


@router.get("/shelf/lots/new")
def new_lot(actor: AtDesk, page: Page, session: Reading, bench: TheBench, adhesive: str = "") -> Response:
    """An empty form for a lot that has come."""
    form = FormView({"adhesive_id": adhesive, "received_on": today_of(page, bench).isoformat()})
    return page.show(FORM, here="shelf", form=form, **_new(session))


def _new(session: Session) -> dict[str, Any]:
    adhesives = [("", "choose one"), *((item.id, item.name) for item in adhesives_by_name(session))]
    return {"lot": None, "adhesives": adhesives, "parts": PART_CHOICES}


@router.post("/shelf/lots/new")
def put_lot_on_shelf(actor: AtDesk, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Put a lot on the shelf."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: _new(session)):
        fields = Fields(posted)
        adhesive_id = fields.chosen("adhesive_id", "The adhesive")
        said = _said(fields)
        fields.done()
        lot = add_lot(session, bench.bench(session, actor), adhesive_id=adhesive_id, **said)
    return page.go(f"/shelf/lots/{lot.id}", f"Lot {lot.number} is on the shelf.")


def _said(fields: Fields) -> dict[str, Any]:
    """What a form says of a lot; every fault is noted in `fields`."""
    received_on = fields.day("received_on", "The day it came")
    return {
        "part": fields.choice("part", "The part", PARTS),
        "number": fields.text("number", "The maker's lot number", MOST_NUMBER, required=True),
        "received_on": fields.required("received_on", "The day it came", received_on),
        "opened_on": fields.day("opened_on", "The day it was opened"),
        "use_by": fields.day("use_by", "The use-by date"),
        "opened_life_days": fields.whole("opened_life_days", "The life once opened", 1, MOST_LIFE_DAYS),
        "position": fields.text("position", "Where it stands", MOST_POSITION),
        "amount_ml": fields.number("amount_ml", "The amount", 0.1, MOST_AMOUNT_ML),
    }


@router.get("/shelf/lots/{lot_id}")
def show_lot(actor: Looking, page: Page, session: Reading, bench: TheBench, lot_id: int) -> Response:
    """One lot: its facts, what may become of it, its history, and which rods had it."""
    return page.show(ONE, here="shelf", form=FormView(), **_one(page, session, bench, lot_id))


def _one(page: Frame, session: Session, bench: BenchSide, lot_id: int) -> dict[str, Any]:
    today = today_of(page, bench)
    lot = lot_view(session, lot_id, today)
    person = page.person
    rights = {} if person is None else {right: person.may(right) for right in Right}
    return {
        "lot": lot,
        "facts": _facts(session, lot, today),
        "alike": [
            {"href": f"/shelf/lots/{other.id}", "says": state_of(other, today)}
            for other in lots_alike(session, lot, today)
        ],
        "history": history_lines(lot_history(session, lot_id), bench.now, page.zone),
        "mixes": mix_rows(mixes_of_lot(session, lot_id), page.zone),
        "rods": rod_rows(builds_of_lot(session, lot_id)),
        "rod_head": ROD_HEAD,
        "mix_head": MIX_HEAD,
        "may_bench": rights.get(Right.BENCH, False),
        "may_desk": rights.get(Right.DESK, False),
        "may_release": rights.get(Right.RELEASE, False),
        "cautions": (EPOXY, CLOUDY, STORAGE),
        "waste": WASTE,
    }


@router.get("/shelf/lots/{lot_id}/edit")
def edit_lot(actor: AtDesk, page: Page, session: Reading, bench: TheBench, lot_id: int) -> Response:
    """The form that puts right what is written down of a lot."""
    context = _edited(page, session, bench, lot_id)
    lot = context["lot"]
    values = {name: _typed(getattr(lot, name)) for name in lot._fields}
    return page.show(FORM, here="shelf", form=FormView(values), **context)


def _edited(page: Frame, session: Session, bench: BenchSide, lot_id: int) -> dict[str, Any]:
    today = today_of(page, bench)
    lot = lot_view(session, lot_id, today)
    return {"lot": lot, "parts": PART_CHOICES, "facts": _facts(session, lot, today)}


def _facts(session: Session, lot: LotView, today: date) -> list[tuple[str, str]]:
    return facts_of(lot, today, adhesive_view(session, lot.adhesive_id).opened_life_days)


def _typed(value: Any) -> str:
    """What is on file as somebody would type it."""
    return "" if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)


@router.post("/shelf/lots/{lot_id}/edit")
def save_lot(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, lot_id: int, posted: Form
) -> Response:
    """Put right what is written down of a lot."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: _edited(page, session, bench, lot_id)):
        fields = Fields(posted)
        version = fields.whole("version", "The version", 1, 10**9)
        fields.required("version", "The version", version)
        said = _said(fields)
        fields.done()
        change_lot(
            session, bench.bench(session, actor), lot_id, version=version,
            not_used_up="not_used_up" in posted, **said,
        )  # fmt: skip
    return page.go(f"/shelf/lots/{lot_id}", "Saved; what it was before stays in its history.")


@router.post("/shelf/lots/{lot_id}/open")
def note_opening(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, lot_id: int, posted: Form
) -> Response:
    """Write down that a lot was opened."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, lot_id)):
        on = _day(posted, "opened_on", "The day it was opened")
        lot = open_lot(session, bench.bench(session, actor), lot_id, on=on)
    return page.go(f"/shelf/lots/{lot_id}", f"Lot {lot.number} is open; write the day on the bottle too.")


@router.post("/shelf/lots/{lot_id}/empty")
def note_emptying(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, lot_id: int, posted: Form
) -> Response:
    """Write down that a lot is used up."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, lot_id)):
        on = _day(posted, "emptied_on", "The day it was used up")
        lot = empty_lot(session, bench.bench(session, actor), lot_id, on=on)
    return page.go(f"/shelf/lots/{lot_id}", f"Lot {lot.number} is used up. {WASTE.text}")


def _day(posted: Posted, name: str, label: str) -> date | None:
    fields = Fields(posted)
    on = fields.day(name, label)
    fields.done()
    return on


@router.post("/shelf/lots/{lot_id}/quarantine")
def put_in_quarantine(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, lot_id: int, posted: Form
) -> Response:
    """Take a lot out of use, and with it, if asked, every mix of it that a rod in hand carries."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, lot_id)):
        reason = _reason(posted)
        doubted = quarantine_lot(
            session, bench.bench(session, actor), lot_id, reason=reason,
            suspect_mixes=posted.get("suspect_mixes") == "on",
        )  # fmt: skip
    said = f" Mixes put under suspicion: {len(doubted)}." if "suspect_mixes" in posted else ""
    return page.go(f"/shelf/lots/{lot_id}/recall", f"Quarantined.{said} These rods had it.")


@router.post("/shelf/lots/{lot_id}/suspect-mixes")
def doubt_its_mixes(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, lot_id: int, posted: Form
) -> Response:
    """Put the mixes of a quarantined lot under suspicion."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, lot_id)):
        doubted = suspect_mixes_of_lot(session, bench.bench(session, actor), lot_id)
    return page.go(f"/shelf/lots/{lot_id}/recall", f"Mixes put under suspicion: {len(doubted)}.")


@router.post("/shelf/lots/{lot_id}/release")
def let_out_of_quarantine(
    actor: Releasing, page: Page, session: Writing, bench: TheBench, lot_id: int, posted: Form
) -> Response:
    """Let a quarantined lot be used again."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, lot_id)):
        release_lot(session, bench.bench(session, actor), lot_id, reason=_reason(posted))
    return page.go(f"/shelf/lots/{lot_id}", "Released; its suspect mixes still await their verdicts.")


def _reason(posted: Posted) -> str:
    fields = Fields(posted)
    reason = fields.text("reason", "The reason", MOST_REASON, required=True)
    fields.done()
    return reason
