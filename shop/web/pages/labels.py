"""Labels: choosing open builds, and the sheet of sticky labels for them. Both are plain addresses."""

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.codes import qr_code
from shop.queries.builds import BuildView, open_builds
from shop.rules.customers import short_name
from shop.web.deps import Posted, Reading
from shop.web.doors import Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.labels import MOST_LABELS, PAPERS, Label, sheets_of
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
CHOOSE, SHEET = "pages/labels.html", "pages/label_sheet.html"


@router.get("/labels")
def choose_labels(actor: Looking, page: Page, session: Reading, request: Request) -> Response:
    """The open builds to choose from; those that the address names are chosen already."""
    typed = Posted([("paper", "a4"), ("start", "1"), *request.query_params.multi_items()])
    return page.show(CHOOSE, here="desk", form=FormView(typed), **_context(session))


@router.get("/labels/sheet")
def show_labels(actor: Looking, page: Page, session: Reading, request: Request) -> Response:
    """The sheet to print, one label for each build chosen."""
    page.here = "desk"
    typed = Posted([(name, value.strip()) for name, value in request.query_params.multi_items()])
    with showing_again(page, CHOOSE, typed, lambda: _context(session)):
        chosen, paper, start = _asked(session, typed)
    sheets = sheets_of([_label(page, build) for build in chosen], paper, start)
    return page.show(SHEET, paper=paper, sheets=sheets, says=PAPERS[paper].says)


def _context(session: Session) -> dict[str, Any]:
    builds = [(build.number, short_name(build.customer), build.title) for build in open_builds(session)]
    return {"builds": builds, "papers": [(key, paper.says) for key, paper in PAPERS.items()]}


def _asked(session: Session, typed: Posted) -> tuple[list[BuildView], str, int]:
    """The builds, the paper and the first free label as typed. Raises `BadInput` with every fault."""
    fields = Fields(typed)
    numbers = dict.fromkeys(typed.all("numbers"))
    found = [build for build in open_builds(session) if build.number in numbers]
    missing = sorted(set(numbers) - {build.number for build in found})
    if not numbers:
        fields.errors["numbers"] = "Choose at least one build."
    elif missing:
        fields.errors["numbers"] = f"There is no open build {missing[0]}; labels are for open builds."
    elif len(numbers) > MOST_LABELS:
        fields.errors["numbers"] = f"At most {MOST_LABELS} labels are printed at once."
    paper = fields.choice("paper", "The paper", tuple(PAPERS))
    most = PAPERS[paper].labels if paper in PAPERS else MOST_LABELS
    start = fields.whole("start", "The first free label", 1, most)
    fields.done()
    return found, paper, start or 1


def _label(page: Frame, build: BuildView) -> Label:
    code = qr_code(f"{page.base_url}/builds/{build.number}")
    return Label(build.number, short_name(build.customer), build.title, code)
