"""The pictures themselves, as answers: for signed-in people, for programs, and for the customer of a rod."""

import re

from starlette.responses import Response

from shop.outside.photo_files import PhotoFolder
from shop.outside.photo_process import SIZES
from shop.queries.photos import PhotoView
from shop.rules.refusals import NotOnFile

MEDIA_TYPE = "image/jpeg"
# What lies under an address never changes; only its own browser may keep it, and nothing runs in it.
HEADERS = {
    "cache-control": "private, max-age=31536000, immutable",
    "content-security-policy": "default-src 'none'; sandbox",
    "cross-origin-resource-policy": "same-origin",
    "x-content-type-options": "nosniff",
}
MISSING = "The picture of this photo is missing from the shop's data folder; take the photo away or anew."
_NAMED = re.compile(r"(\d{1,4})\.jpg", re.ASCII)


def picture_response(folder: PhotoFolder, photo: PhotoView, picture: str) -> Response:
    """One size of a photo, named as in `1280.jpg`. Raises `NotOnFile`, also where its file is missing."""
    named = _NAMED.fullmatch(picture)
    size = int(named[1]) if named else 0
    if size not in SIZES or photo.removed_at is not None:
        raise NotOnFile("There is no such picture.")
    body = folder.read(photo.name, size)
    if body is None:
        raise NotOnFile(MISSING)
    return Response(body, media_type=MEDIA_TYPE, headers=HEADERS)
