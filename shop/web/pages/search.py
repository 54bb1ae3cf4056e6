"""Search, from the box in the head of every page: a page of its own, and its list alone while one types."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.search import search
from shop.rules.people import Right
from shop.rules.search import MOST_ASKED, read_asked
from shop.web.deps import Now, Reading
from shop.web.doors import Looking
from shop.web.running import ReadingRoute
from shop.web.search_page import groups_of
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
WHOLE, LIST = "pages/search.html", "fragments/search_found.html"
MOST_EACH = 8
HINT = "Type a name, a build's number, a part, or a word of a note; the beginning of a word is enough."


@router.get("/search")
def show_found(actor: Looking, page: Page, session: Reading, now: Now, q: str = "") -> Response:
    """What is on file with words that begin like those typed."""
    asked, may_desk = read_asked(q), actor.may(Right.DESK)
    found = search(session, asked, MOST_EACH + 1, private=may_desk)
    groups = groups_of(found, asked, MOST_EACH, may_desk, now, page.zone)
    return page.show(
        LIST if page.wants_fragment else WHOLE, here="search", groups=groups, search_text=q[:MOST_ASKED],
        asked_words=bool(asked), one_word=len(asked.words) == 1, hint="" if page.wants_fragment else HINT,
    )  # fmt: skip
