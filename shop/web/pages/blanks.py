"""The shelf's pages of blanks: a form with as many stations as were measured."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.lengths import LengthError, format_mm, parse_length
from shop.queries.blanks import BlankView, blank_view
from shop.rules.blanks import GROWS, MassError, mg_of_grams
from shop.rules.people import Right
from shop.services.blanks import add_blank, change_blank
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.drawing import draw_rod
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import both_units

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/blank.html"
SPARE_ROWS = 4


@router.get("/shelf/blanks/new")
def new_blank(actor: AtDesk, page: Page) -> Response:
    """An empty form for a new blank."""
    return page.show(FORM, here="shelf", form=FormView(), **_context(None, _empty(8)))


@router.post("/shelf/blanks/new")
def put_blank_on_file(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put a blank on file, or show the form with more rows for stations."""
    page.here = "shelf"
    rows = _typed_rows(posted)
    if posted.get("more"):
        return page.show(FORM, form=FormView(posted), **_context(None, rows + _empty(SPARE_ROWS)))
    with showing_again(page, FORM, posted, lambda: _context(None, rows + _empty(SPARE_ROWS))):
        blank = add_blank(session, now=now, **_fields(posted))
    return page.go(f"/shelf/blanks/{blank.id}", f"{blank.model} is on file.")


@router.get("/shelf/blanks/{blank_id}")
def show_blank(actor: Looking, page: Page, session: Reading, blank_id: int) -> Response:
    """One blank, to look at and to change."""
    blank = blank_view(session, blank_id)
    values = {
        "maker": blank.maker, "model": blank.model, "length": f"{format_mm(blank.length_nm)} mm",
        "pieces": blank.pieces, "mass_g": grams(blank.mass_mg), "notes": blank.notes,
    }  # fmt: skip
    rows = [(f"{format_mm(at)} mm", f"{format_mm(od)} mm") for at, od in blank.stations]
    context = _context(blank, rows + _empty(SPARE_ROWS), may_desk=actor.may(Right.DESK))
    return page.show(FORM, here="shelf", form=FormView(values), **context)


@router.post("/shelf/blanks/{blank_id}")
def save_blank(actor: AtDesk, page: Page, session: Writing, blank_id: int, posted: Form) -> Response:
    """Change a blank's facts, or show the form with more rows for stations."""
    page.here = "shelf"
    blank, rows = blank_view(session, blank_id), _typed_rows(posted)
    if posted.get("more"):
        return page.show(FORM, form=FormView(posted), **_context(blank, rows + _empty(SPARE_ROWS)))
    with showing_again(page, FORM, posted, lambda: _context(blank, rows + _empty(SPARE_ROWS))):
        change_blank(session, blank_id, **_fields(posted))
    return page.go(f"/shelf/blanks/{blank_id}", "The blank is saved.")


def grams(mass_mg: int | None) -> str:
    """A mass as the form shows and takes it: `58.125`; nothing where it was not weighed."""
    return "" if mass_mg is None else f"{mass_mg / 1000:.10g}"


def _context(blank: BlankView | None, rows: list[tuple[str, str]], may_desk: bool = True) -> dict[str, Any]:
    context = {"blank": blank, "rows": rows, "grows": GROWS, "may_desk": may_desk}
    if blank is None:
        return context
    # A blank is not yet a rod of any kind; every bare one is drawn alike.
    pieces = f" in {blank.pieces} pieces" if blank.pieces > 1 else ""
    drawing = draw_rod("casting", blank.pieces, frozenset(), "#7a1f2b")
    facts = [
        ("Maker", blank.maker), ("Length", both_units(blank.length_nm)),
        ("Mass", blank.mass_mg and f"{grams(blank.mass_mg)} g"), ("Notes", blank.notes),
    ]  # fmt: skip
    return {
        **context,
        "drawing": drawing._replace(description=f"The bare blank{pieces}, butt at the left."),
        "facts": [(term, detail) for term, detail in facts if detail],
        "measured": [[both_units(at), both_units(od)] for at, od in blank.stations],
    }


def _empty(rows: int) -> list[tuple[str, str]]:
    return [("", "")] * rows


def _typed_rows(posted: Posted) -> list[tuple[str, str]]:
    """The stations as typed, empty rows left out."""
    pairs = zip(posted.all("from_butt"), posted.all("od"), strict=False)
    return [(at, od) for at, od in pairs if at or od]


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "maker": fields.text("maker", "The maker", 120),
        "model": fields.text("model", "The model", 120, required=True),
        "length_nm": fields.required("length", "The length", fields.length_nm("length")),
        "pieces": fields.whole("pieces", "The number of pieces", 1, 8) or 1,
        "mass_mg": _mass_mg(fields),
        "notes": fields.text("notes", "The notes", 4000),
        "stations": _stations(posted, fields),
        GROWS: bool(posted.get(GROWS)),
    }
    fields.done()
    return values


def _mass_mg(fields: Fields) -> int | None:
    mass_g = fields.number("mass_g", "The mass in grams", 0.001, 5000)
    if mass_g is None:
        return None
    try:
        return mg_of_grams(mass_g)
    except MassError as fault:
        fields.errors["mass_g"] = str(fault)
        return None


def _stations(posted: Posted, fields: Fields) -> list[tuple[int, int]]:
    stations = []
    for number, (at, od) in enumerate(_typed_rows(posted), start=1):
        try:
            stations.append((parse_length(at), parse_length(od)))
        except LengthError as fault:
            fields.errors.setdefault("stations", f"Station {number}: {fault}")
    return stations
