"""The shelf's pages of blanks: a form with as many stations as were measured, and with the joints."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.lengths import LengthError, format_mm, parse_length
from shop.craft.saying import say_fine
from shop.queries.blanks import BlankView, blank_view
from shop.rules.blanks import GROWS, MOST_JOINTS
from shop.rules.masses import MOST_LOAD_MG, MOST_MASS_MG
from shop.rules.people import Right
from shop.services.blanks import add_blank, change_blank
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.drawing import draw_rod
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import both_units, grams, weight

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/blank.html"
SPARE_ROWS = 4

Rows = list[tuple[str, str]]


@router.get("/shelf/blanks/new")
def new_blank(actor: AtDesk, page: Page) -> Response:
    """An empty form for a new blank."""
    return page.show(FORM, here="shelf", form=FormView(), **_context(None, _empty(8), []))


@router.post("/shelf/blanks/new")
def put_blank_on_file(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put a blank on file, or show the form with more rows for stations."""
    page.here = "shelf"
    if posted.get("more"):
        return page.show(FORM, form=FormView(posted), **_typed_context(None, posted))
    with showing_again(page, FORM, posted, lambda: _typed_context(None, posted)):
        blank = add_blank(session, now=now, **_fields(posted))
    return page.go(f"/shelf/blanks/{blank.id}", f"{blank.model} is on file.")


@router.get("/shelf/blanks/{blank_id}")
def show_blank(actor: Looking, page: Page, session: Reading, blank_id: int) -> Response:
    """One blank, to look at and to change."""
    blank = blank_view(session, blank_id)
    rows = _shown_rows(blank.stations) + _empty(SPARE_ROWS)
    context = _context(blank, rows, _shown_rows(blank.joints), may_desk=actor.may(Right.DESK))
    return page.show(FORM, here="shelf", form=FormView(_values(blank)), **context)


@router.post("/shelf/blanks/{blank_id}")
def save_blank(actor: AtDesk, page: Page, session: Writing, blank_id: int, posted: Form) -> Response:
    """Change a blank's facts, or show the form with more rows for stations."""
    page.here = "shelf"
    blank = blank_view(session, blank_id)
    if posted.get("more"):
        return page.show(FORM, form=FormView(posted), **_typed_context(blank, posted))
    with showing_again(page, FORM, posted, lambda: _typed_context(blank, posted)):
        change_blank(session, blank_id, **_fields(posted))
    return page.go(f"/shelf/blanks/{blank_id}", "The blank is saved.")


def _values(blank: BlankView) -> dict[str, Any]:
    """A blank on file as its form shows it, besides stations and joints."""
    return {
        "maker": blank.maker, "model": blank.model, "length": _mm(blank.length_nm), "pieces": blank.pieces,
        "mass_g": grams(blank.mass_mg), "wall_butt": _mm(blank.wall_butt_nm),
        "wall_tip": _mm(blank.wall_tip_nm), "test_load_g": grams(blank.test_load_mg),
        "test_sag": _mm(blank.test_sag_nm), "most_load_g": grams(blank.most_load_mg), "notes": blank.notes,
    }  # fmt: skip


def _mm(nm: int | None) -> str:
    return "" if nm is None else f"{format_mm(nm)} mm"


def _shown_rows(pairs: tuple[tuple[int, int], ...]) -> Rows:
    return [(_mm(first), _mm(second)) for first, second in pairs]


def _typed_context(blank: BlankView | None, posted: Posted) -> dict[str, Any]:
    """The context of a form as it was typed, with further rows for stations."""
    stations = _typed_rows(posted, "from_butt", "od") + _empty(SPARE_ROWS)
    return _context(blank, stations, _typed_rows(posted, "joint_from_butt", "insertion"))


def _context(blank: BlankView | None, rows: Rows, joints: Rows, may_desk: bool = True) -> dict[str, Any]:
    spare = _empty(MOST_JOINTS - len(joints))
    context = {"blank": blank, "rows": rows, "joints": joints + spare, "grows": GROWS, "may_desk": may_desk}
    if blank is None:
        return context
    # A blank is not yet a rod of any kind; every bare one is drawn alike.
    pieces = f" in {blank.pieces} pieces" if blank.pieces > 1 else ""
    drawing = draw_rod("casting", blank.pieces, frozenset(), "#7a1f2b")
    return {
        **context,
        "drawing": drawing._replace(description=f"The bare blank{pieces}, butt at the left."),
        "facts": [(term, detail) for term, detail in _facts(blank) if detail],
        "measured": [[both_units(at), both_units(od)] for at, od in blank.stations],
        "meets": [[both_units(at), both_units(insertion)] for at, insertion in blank.joints],
    }


def _facts(blank: BlankView) -> list[tuple[str, str]]:
    # A wall is too thin to be told in 64ths.
    walls = (blank.wall_butt_nm, blank.wall_tip_nm)
    wall_butt, wall_tip = ("" if nm is None else say_fine(nm) for nm in walls)
    sag = "" if blank.test_sag_nm is None else both_units(blank.test_sag_nm)
    return [
        ("Maker", blank.maker), ("Length", both_units(blank.length_nm)), ("Mass", weight(blank.mass_mg)),
        ("Wall at the butt", wall_butt), ("Wall at the tip", wall_tip),
        ("Test load", weight(blank.test_load_mg)), ("Sag of the tip under it", sag),
        ("Largest load", weight(blank.most_load_mg)), ("Notes", blank.notes),
    ]  # fmt: skip


def _empty(rows: int) -> Rows:
    return [("", "")] * rows


def _typed_rows(posted: Posted, first: str, second: str) -> Rows:
    """The pairs as typed, empty rows left out."""
    pairs = zip(posted.all(first), posted.all(second), strict=False)
    return [pair for pair in pairs if any(pair)]


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "maker": fields.text("maker", "The maker", 120),
        "model": fields.text("model", "The model", 120, required=True),
        "length_nm": fields.required("length", "The length", fields.length_nm("length")),
        "pieces": fields.whole("pieces", "The number of pieces", 1, 8) or 1,
        "mass_mg": fields.grams_mg("mass_g", "The mass in grams", MOST_MASS_MG),
        "stations": _pairs(fields, "stations", "Station", _typed_rows(posted, "from_butt", "od")),
        "joints": _joints(fields, posted),
        "wall_butt_nm": fields.length_nm("wall_butt"),
        "wall_tip_nm": fields.length_nm("wall_tip"),
        "test_load_mg": fields.grams_mg("test_load_g", "The test load in grams", MOST_LOAD_MG),
        "test_sag_nm": fields.length_nm("test_sag"),
        "most_load_mg": fields.grams_mg("most_load_g", "The largest load in grams", MOST_LOAD_MG),
        "notes": fields.text("notes", "The notes", 4000),
        GROWS: bool(posted.get(GROWS)),
    }
    fields.done()
    return values


def _joints(fields: Fields, posted: Posted) -> list[tuple[int, int]]:
    """The joints as typed; where no insertion is, nothing goes in."""
    rows = _typed_rows(posted, "joint_from_butt", "insertion")
    return _pairs(fields, "joints", "Joint", [(at, insertion or "0 mm") for at, insertion in rows])


def _pairs(fields: Fields, name: str, what: str, rows: Rows) -> list[tuple[int, int]]:
    pairs = []
    for number, (first, second) in enumerate(rows, start=1):
        try:
            pairs.append((parse_length(first), parse_length(second)))
        except LengthError as fault:
            fields.errors.setdefault(name, f"{what} {number}: {fault}")
    return pairs
