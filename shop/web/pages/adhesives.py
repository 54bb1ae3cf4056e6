"""The shelf's pages of adhesives."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.adhesives import adhesive_view
from shop.rules.adhesives import LABELS, MOST_MINUTES, NEEDED, USES
from shop.services.adhesives import add_adhesive, change_adhesive
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/adhesive.html"
TEMPERATURES = ("reference_c", "coldest_c")


@router.get("/shelf/adhesives/new")
def new_adhesive(actor: AtDesk, page: Page) -> Response:
    """An empty form for a new adhesive."""
    form = FormView({"parts_a": "1", "parts_b": "1", "use": "bond"})
    return page.show(FORM, here="shelf", form=form, adhesive_id=None)


@router.post("/shelf/adhesives/new")
def put_adhesive_on_file(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put an adhesive on file."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: {"adhesive_id": None}):
        adhesive = add_adhesive(session, now=now, **_fields(posted))
    return page.go(f"/shelf/adhesives/{adhesive.id}", f"{adhesive.name} is on file.")


@router.get("/shelf/adhesives/{adhesive_id}")
def show_adhesive(actor: Looking, page: Page, session: Reading, adhesive_id: int) -> Response:
    """One adhesive, to look at and to change."""
    facts = adhesive_view(session, adhesive_id)._asdict()
    values = {name: _typed(value) for name, value in facts.items()}
    return page.show(FORM, here="shelf", form=FormView(values), adhesive_id=adhesive_id)


@router.post("/shelf/adhesives/{adhesive_id}")
def save_adhesive(actor: AtDesk, page: Page, session: Writing, adhesive_id: int, posted: Form) -> Response:
    """Change an adhesive's figures."""
    page.here = "shelf"
    with showing_again(page, FORM, posted, lambda: {"adhesive_id": adhesive_id}):
        change_adhesive(session, adhesive_id, **_fields(posted))
    return page.go(
        f"/shelf/adhesives/{adhesive_id}", "Saved; cures under way keep the figures they began with."
    )


def _typed(value: Any) -> str:
    """A figure as somebody would type it; nothing where the sheet is silent."""
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values: dict[str, Any] = {
        "name": fields.text("name", "The name", 120, required=True),
        "use": fields.choice("use", "The use", USES),
        "source": fields.text("source", "The source", 300),
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
