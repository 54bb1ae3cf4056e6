"""Setting: every joint and coat that is not hard yet, on one ruler of time or as a table."""

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.running import ReadingRoute
from shop.web.setting_page import TABLE, View, setting_context
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.get("/setting")
def show_setting(
    actor: Looking,
    page: Page,
    session: Reading,
    bench: TheBench,
    shown_as: Annotated[str, Query(alias="as")] = "",
    zone: int | None = None,
) -> Response:
    """All that is soft, window-closing ones first; asked for again by the page itself every minute."""
    context = setting_context(page, session, bench, View(shown_as == TABLE, zone))
    template = "fragments/setting.html" if page.wants_fragment else "pages/setting.html"
    return page.show(template, here="setting", **context)
