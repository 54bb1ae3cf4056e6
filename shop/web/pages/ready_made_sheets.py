"""Ready-made classes of adhesives: starting from one; and confirming figures against their data sheet."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.adhesives import AdhesiveView, adhesive_view
from shop.rules.adhesives import MARKS, SheetState, names_a_sheet
from shop.rules.ready_made_sheets import CLASSES, NAMES, REFERENCE_C, SheetClass
from shop.services.adhesives import confirm_adhesive, start_from_class
from shop.web.benches import TheBench
from shop.web.deps import Form, Now, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.pages.adhesives import USE_WORDS, facts_of_sheet
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import minutes

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
START = "pages/ready_made_sheets.html"
CONFIRM = "pages/adhesive_confirm.html"
HEAD = ["Class", "Use", "A : B", "Pot life", "Sets", "Full cure", "Next coat", "Kept turning", "Coldest"]
MARK = MARKS[SheetState.READY_MADE]
NOT_TICKED = "Tick this once you have held every figure against the sheet; change first what differs."


def _class_row(kind: SheetClass) -> list[str]:
    window = "–"
    if kind.recoat_from_minutes is not None and kind.recoat_until_minutes is not None:
        window = f"{minutes(kind.recoat_from_minutes)} to {minutes(kind.recoat_until_minutes)}"
    return [
        kind.name, USE_WORDS[kind.use], f"{kind.parts[0]:g} : {kind.parts[1]:g}",
        minutes(kind.pot_life_minutes), minutes(kind.set_minutes), minutes(kind.full_cure_minutes), window,
        "–" if kind.turn_minutes is None else minutes(kind.turn_minutes), f"{kind.coldest_c:g} °C",
    ]  # fmt: skip


def _classes() -> dict[str, Any]:
    return {
        "head": HEAD, "rows": [_class_row(kind) for kind in CLASSES], "mark": MARK,
        "choices": [("", "choose one"), *((name, name) for name in NAMES)],
        "caption": f"Placeholders, all at {REFERENCE_C:g} °C",
    }  # fmt: skip


@router.get("/shelf/ready-made")
def show_classes(actor: AtDesk, page: Page) -> Response:
    """The classes with their figures, and a form that starts from one."""
    return page.show(START, here="shelf", form=FormView(), **_classes())


@router.post("/shelf/ready-made")
def start_adhesive(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put an adhesive on file with the figures of a class."""
    page.here = "shelf"
    with showing_again(page, START, posted, _classes):
        fields = Fields(posted)
        name = fields.text("name", "The name", 120, required=True)
        ready_made = fields.choice("ready_made", "The class", NAMES)
        fields.done()
        adhesive = start_from_class(session, now=now, by=actor.name, name=name, ready_made=ready_made)
    return page.go(f"/shelf/adhesives/{adhesive.id}", f"{adhesive.name} is on file, {MARK}.")


@router.get("/shelf/adhesives/{adhesive_id}/confirm")
def show_figures_to_confirm(actor: AtDesk, page: Page, session: Reading, adhesive_id: int) -> Response:
    """The figures as they are, to be held against the sheet."""
    context = _figures(session, adhesive_id)
    return page.show(CONFIRM, here="shelf", form=FormView(_named(context["item"])), **context)


def _figures(session: Session, adhesive_id: int) -> dict[str, Any]:
    item = adhesive_view(session, adhesive_id)
    return {"item": item, "facts": facts_of_sheet(item)}


def _named(item: AdhesiveView) -> dict[str, str]:
    """What is known of the sheet already, to begin the form with."""
    source = item.source if names_a_sheet(item.source) else ""
    return {"source": source, "sheet_date": "" if item.sheet_date is None else item.sheet_date.isoformat()}


@router.post("/shelf/adhesives/{adhesive_id}/confirm")
def confirm_figures(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, adhesive_id: int, posted: Form
) -> Response:
    """Somebody stands by the figures: they are the sheet's."""
    page.here = "shelf"
    with showing_again(page, CONFIRM, posted, lambda: _figures(session, adhesive_id)):
        fields = Fields(posted)
        source = fields.text("source", "The data sheet", 300, required=True)
        sheet_date = fields.required(
            "sheet_date", "The date of the sheet", fields.day("sheet_date", "The date")
        )
        version = fields.required("version", "The version", fields.whole("version", "The version", 1, 10**9))
        if posted.get("stands") != "on":
            fields.errors["stands"] = NOT_TICKED
        fields.done()
        at_bench = bench.bench(session, actor)
        confirm_adhesive(
            session, at_bench, adhesive_id, source=source, sheet_date=sheet_date, version=version
        )
    return page.go(f"/shelf/adhesives/{adhesive_id}", "Confirmed: these figures are the data sheet's.")
