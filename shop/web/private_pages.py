"""What pages behind a customer's own private address share: their headers, one answer to a wrong address."""

from collections.abc import Iterator
from contextlib import contextmanager

from starlette.responses import HTMLResponse

from shop.rules.refusals import NotOnFile
from shop.web.forms import ShowAgain
from shop.web.templating import Frame

HEADERS = {
    "cache-control": "no-store, private",
    "referrer-policy": "no-referrer",
    "x-robots-tag": "noindex, nofollow",
}
GONE = "This link is not in use."


@contextmanager
def privately(page: Frame, none: str) -> Iterator[None]:
    """Give every answer of the block the headers of a private page.

    `NotOnFile` becomes status 404 and the page `none`: the same for a link that is unknown or was ended.
    """
    # The page is the customer's, whoever looks at it.
    page.person, page.notice = None, None
    try:
        yield
    except ShowAgain as again:
        again.response.headers.update(HEADERS)
        raise
    except NotOnFile as gone:
        response: HTMLResponse = page.show(none, status=404)
        response.headers.update(HEADERS)
        raise ShowAgain(response) from gone
