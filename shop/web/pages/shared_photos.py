"""The pictures that the customer of a rod may see, behind the rod's own private address.

Stands before `news`, whose address takes all that begins with a token.
"""

import re

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.photo_files import PhotoFolder
from shop.outside.photo_process import SIZES
from shop.queries.photos import shared_name
from shop.queries.status_links import build_of_token
from shop.services.tokens import hash_of
from shop.web.addresses import MOST_WHOLE
from shop.web.deps import Reading, TheHub
from shop.web.photo_pictures import HEADERS as PICTURE_HEADERS
from shop.web.photo_pictures import MEDIA_TYPE
from shop.web.private_pages import HEADERS
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
SMALL, LARGE = SIZES
_NAMED = re.compile(rf"(?P<id>\d{{1,10}})(?P<small>-{SMALL})?\.jpg", re.ASCII)


@router.get("/rod/{token}/photos/{picture}")
def show_shared_picture(page: Page, session: Reading, hub: TheHub, token: str, picture: str) -> Response:
    """A shared photo as `7.jpg`, or small as `7-320.jpg`.

    Whatever else is asked for answers as a link that is unknown: a photo of another rod, one that is not
    shared or no longer, one whose file is missing.
    """
    body = _shared_body(session, hub.photos, token, picture)
    if body is not None:
        return Response(body, media_type=MEDIA_TYPE, headers=PICTURE_HEADERS | HEADERS)
    page.person, page.notice = None, None
    response = page.show("pages/news_none.html", status=404)
    response.headers.update(HEADERS)
    return response


def _shared_body(session: Session, folder: PhotoFolder, token: str, picture: str) -> bytes | None:
    build_id = build_of_token(session, hash_of(token))
    named = _NAMED.fullmatch(picture)
    if build_id is None or named is None or int(named["id"]) > MOST_WHOLE:
        return None
    name = shared_name(session, build_id, int(named["id"]))
    return None if name is None else folder.read(name, SMALL if named["small"] else LARGE)
