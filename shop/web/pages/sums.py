"""Sums: every bench calculator, and the page of one, whose form is a plain address that can be kept."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from shop.craft.sums.base import Sum
from shop.rules.refusals import BadInput
from shop.web.curves import CurvesDrawing, draw_curves
from shop.web.deps import Now
from shop.web.doors import Looking
from shop.web.forms import FormView
from shop.web.running import ReadingRoute
from shop.web.sums import (
    MORE,
    AnswerView,
    Pairs,
    answer_view,
    calculator_of,
    cautions_of,
    given_of,
    grouped,
    input_views,
    work_out,
)
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/sum.html"
NO_FAULTS: Mapping[str, str] = MappingProxyType({})


@router.get("/sums")
def show_sums(actor: Looking, page: Page) -> Response:
    """Every calculator, by what it is about."""
    return page.show("pages/sums.html", here="sums", groups=grouped())


# Some sums take longer than a read: in the pool, so that nobody else waits for them.
@router.get("/sums/{name}")
async def show_sum(actor: Looking, page: Page, now: Now, request: Request, name: str) -> Response:
    """One calculator: its form, and its answer as soon as the address says what it is given."""
    calculator = calculator_of(name)
    pairs = request.query_params.multi_items()
    if not pairs or any(key == MORE for key, _ in pairs):
        return _show(page, now, calculator, pairs, 200)
    try:
        outcome = await run_in_threadpool(work_out, calculator, given_of(calculator, pairs))
    except BadInput as bad:
        return _show(page, now, calculator, pairs, 422, errors=bad.errors)
    answer = answer_view(outcome, page.shop.currency)
    return _show(page, now, calculator, pairs, 200, answer=answer, drawing=draw_curves(outcome))


def _show(
    page: Frame,
    now: datetime,
    calculator: Sum,
    pairs: Pairs,
    status: int,
    errors: Mapping[str, str] = NO_FAULTS,
    answer: AnswerView | None = None,
    drawing: CurvesDrawing | None = None,
) -> Response:
    today = now.astimezone(page.zone).date()
    inputs = input_views(calculator, pairs, page.shop.currency, today)
    form = FormView({item.name: item.value for item in inputs}, errors)
    return page.show(
        FORM, status, "sums", calculator=calculator, inputs=inputs, form=form, answer=answer,
        drawing=drawing, cautions=cautions_of(calculator),
        has_rows=any(item.rows for item in inputs),
    )  # fmt: skip
