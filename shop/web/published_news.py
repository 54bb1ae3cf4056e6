"""The pages behind all live status links as plain files, with the pictures and style sheets that they need.

The files stand at the addresses that the server gives them: `rod/TOKEN/index.html` is what `/rod/TOKEN`
shows. No page lists the others; what writes the files is `shop.outside.publishing`.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from shop.db.sessions import Session
from shop.outside.photo_process import SIZES
from shop.paths import STATIC
from shop.queries.builds import build_view_by_id
from shop.queries.mail_settings import read_mail_settings
from shop.queries.photos import SharedPhoto, shared_photos
from shop.queries.shop import read_shop
from shop.queries.status_links import live_nonces
from shop.services.tokens import token_from
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from shop.web.forms import FormView
from shop.web.news_page import news_of, shown_as
from shop.web.photo_page import shared_picture
from shop.web.templating import ENVIRONMENT, asset

Files = dict[str, Callable[[], bytes]]
_ASSET = re.compile(r'"/static/([^"?]+)')
# Where a host would list a folder by itself, it shows this instead; it leads nowhere.
BLANK_PAGE = b"<!doctype html>\n<title>Nothing to see here</title>\n<p>Nothing to see here.</p>\n"
ROBOTS = b"User-agent: *\nDisallow: /\n"
SMALL, LARGE = SIZES


@dataclass(frozen=True)
class PaperFrame:
    """What the layout of a page needs where nobody asks for it: no person, and nothing to say once."""

    shop_name: str
    notice: None = None

    asset = staticmethod(asset)


def published_files(hub: Hub, session: Session, now: datetime) -> Files:
    """Every file to be published, by relative path, with what gives its content. Nothing is written."""
    shop, bench = read_shop(session), BenchSide(hub, now)
    frame = PaperFrame(shop.name)
    shown = shown_as(contact=read_mail_settings(session).from_address)
    template = ENVIRONMENT.get_template("pages/news.html")
    files: Files = {
        "robots.txt": lambda: ROBOTS, "index.html": lambda: BLANK_PAGE, "rod/index.html": lambda: BLANK_PAGE,
    }  # fmt: skip
    for link in live_nonces(session):
        token = token_from(hub.secret, link.nonce)
        photos = [photo for photo in shared_photos(session, link.build_id) if _is_there(hub, photo)]
        row = bench.row_of(session, build_view_by_id(session, link.build_id))
        told = news_of(session, row, shop, now, [shared_picture(token, photo) for photo in photos])
        html = template.render(page=frame, form=FormView(), **told, **shown)
        files[f"rod/{token}/index.html"] = html.encode
        for photo in photos:
            for size, name in ((LARGE, f"{photo.id}.jpg"), (SMALL, f"{photo.id}-{SMALL}.jpg")):
                file = hub.photos.path_of(photo.name, size)
                files[f"rod/{token}/photos/{name}"] = file.read_bytes
        for path in _ASSET.findall(html):
            files[f"static/{path}"] = (STATIC / path).read_bytes
    return files


def _is_there(hub: Hub, photo: SharedPhoto) -> bool:
    """Whether every size of a photo has its file; the server answers a missing one as an unknown address."""
    return all(hub.photos.path_of(photo.name, size).is_file() for size in SIZES)
