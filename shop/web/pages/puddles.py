"""How the puddle of a mix was found: one tap, wherever it is asked for; on the mix's page later too."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.services.mixes import PUDDLE_STATES, touch_puddle
from shop.web.benches import TheBench
from shop.web.deps import Form, Writing
from shop.web.doors import AtBench
from shop.web.forms import Fields, showing_again
from shop.web.mix_page import mix_context
from shop.web.puddles import BACK
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.post("/mixes/{mix_id}/puddle")
def note_puddle(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Say how the puddle was found, and go on where it was asked."""
    page.here = "cup"
    with showing_again(page, "pages/mix.html", posted, lambda: mix_context(page, session, bench, mix_id)):
        fields = Fields(posted)
        state = fields.choice("state", "The puddle", PUDDLE_STATES)
        at = fields.instant("at", "The time it was touched", page.zone)
        fields.done()
        touch_puddle(session, bench.bench(session, actor), mix_id, state=state, at=at)
    return page.go(BACK.get(posted.get("back", ""), f"/mixes/{mix_id}"), f"The puddle is {state}.")
