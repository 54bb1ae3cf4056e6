"""The shelf's pages of adhesives. Those begun as a ready-made class are confirmed in `ready_made_sheets`."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.cure import DEFAULT_COLDEST_C, DEFAULT_DOUBLING_C
from shop.db.sessions import Session
from shop.queries.adhesives import AdhesiveView, adhesive_view, last_changes
from shop.rules.adhesives import LABELS, MOST_MINUTES, NEEDED, OPENED_LIFE, USES
from shop.rules.lots import MOST_LIFE_DAYS
from shop.rules.people import Right
from shop.services.adhesives import add_adhesive, change_adhesive
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.sheets import CHANGES_HEAD, MOST_CHANGES, change_rows, warning_of_sheet
from shop.web.templating import Frame, Page
from shop.web.wording import minutes

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/adhesive.html"
NO_ITEM: dict[str, Any] = {"item": None, "may_desk": True}
TEMPERATURES = ("reference_c", "coldest_c")
SILENT = "the sheet is silent"
USE_WORDS = {"bond": "bonding epoxy", "finish": "wrap finish"}


@router.get("/shelf/adhesives/new")
def new_adhesive(actor: AtDesk, page: Page) -> Response:
    """An empty form for a new adhesive."""
    form = FormView({"parts_a": "1", "parts_b": "1", "use": "bond"})
    return page.show(FORM, here="shelf", form=form, **NO_ITEM)


@router.post("/shelf/adhesives/new")
def put_adhesive_on_file(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put an adhesive on file."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: NO_ITEM):
        adhesive = add_adhesive(session, now=now, by=actor.name, **_fields(posted))
    return page.go(f"/shelf/adhesives/{adhesive.id}", f"{adhesive.name} is on file.")


@router.get("/shelf/adhesives/{adhesive_id}")
def show_adhesive(actor: Looking, page: Page, session: Reading, now: Now, adhesive_id: int) -> Response:
    """One adhesive, to look at and to change."""
    item = adhesive_view(session, adhesive_id)
    values = {name: _typed(value) for name, value in item._asdict().items()}
    context = _context(page, session, now, item, may_desk=actor.may(Right.DESK))
    return page.show(FORM, here="shelf", form=FormView(values), **context)


@router.post("/shelf/adhesives/{adhesive_id}")
def save_adhesive(
    actor: AtDesk, page: Page, session: Writing, now: Now, adhesive_id: int, posted: Form
) -> Response:
    """Change an adhesive's figures."""
    page.here = "shelf"
    item = adhesive_view(session, adhesive_id)
    with showing_again(page, FORM, posted, lambda: _context(page, session, now, item)):
        version = Fields(posted).whole("version", "The version", 1, 10**9)
        figures = _fields(posted)
        change_adhesive(session, adhesive_id, now=now, by=actor.name, version=version, **figures)
    return page.go(
        f"/shelf/adhesives/{adhesive_id}", "Saved; cures under way keep the figures they began with."
    )


def _typed(value: Any) -> str:
    """A figure as somebody would type it; nothing where the sheet is silent."""
    return "" if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)


def coldest_said(item: AdhesiveView) -> str:
    """The coldest temperature it cures at, and whether the sheet says so."""
    if item.coldest_c is not None:
        return f"{item.coldest_c:g} °C"
    return f"{min(DEFAULT_COLDEST_C, item.reference_c):g} °C (sheet silent)"


def sheet_date_said(item: AdhesiveView) -> str:
    """What the figures stand on, in a few words: what they lack, or the date of the sheet."""
    return item.sheet_mark or f"sheet of {item.sheet_date}"


def _context(
    page: Frame, session: Session, now: datetime, item: AdhesiveView, may_desk: bool = True
) -> dict[str, Any]:
    changes = last_changes(session, item.id, MOST_CHANGES)
    return {
        "item": item, "may_desk": may_desk, "facts": facts_of_sheet(item), "warns": warning_of_sheet(item),
        "changes_head": CHANGES_HEAD, "changes": change_rows(changes, now, page.zone),
    }  # fmt: skip


def facts_of_sheet(item: AdhesiveView) -> list[tuple[str, str]]:
    """The figures of an adhesive as people read them, and what they stand on."""
    doubling, life = item.doubling_c, item.opened_life_days
    facts = [
        ("Use", USE_WORDS[item.use]),
        ("A to B, by volume", f"{item.parts_a:g} : {item.parts_b:g}"),
        ("Figures hold at", f"{item.reference_c:g} °C"),
        ("Pot life", minutes(item.pot_life_minutes)),
        ("Sets", minutes(item.set_minutes)),
        ("Full cure", minutes(item.full_cure_minutes)),
        ("Next coat", _window_said(item)),
        ("Kept turning", SILENT if item.turn_minutes is None else minutes(item.turn_minutes)),
        ("Coldest", coldest_said(item)),
        (
            "Rate doubles with",
            f"{DEFAULT_DOUBLING_C:g} °C (sheet silent)" if doubling is None else f"{doubling:g} °C",
        ),
        ("Keeps once opened", SILENT if life is None else f"{life} days"),
        ("Source", item.source or "not said"),
        ("Sheet", sheet_date_said(item)),
    ]
    also = (("Confirmed by", item.confirmed_by), ("Began as", item.ready_made))
    return [*facts, *((label, said) for label, said in also if said)]


def _window_said(item: AdhesiveView) -> str:
    if item.recoat_from_minutes is None:
        return SILENT
    begins = f"from {minutes(item.recoat_from_minutes)}"
    until = item.recoat_until_minutes
    return begins if until is None else f"{begins} to {minutes(until)}, unsanded"


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values: dict[str, Any] = {
        "name": fields.text("name", "The name", 120, required=True),
        "use": fields.choice("use", "The use", USES),
        "source": fields.text("source", "The source", 300),
        "sheet_date": fields.day("sheet_date", "The date of the sheet"),
        "opened_life_days": fields.whole("opened_life_days", OPENED_LIFE, 1, MOST_LIFE_DAYS),
    }
    for name, label in LABELS.items():
        if name in TEMPERATURES:
            values[name] = fields.celsius(name)
        else:
            values[name] = fields.number(name, label, 0, MOST_MINUTES)
        if name in (*NEEDED, "parts_a", "parts_b"):
            fields.required(name, label, values[name])
    fields.done()
    return values
