"""The API of photos: of a build, added one at a time, captioned, shared with the customer, taken away."""

from typing import Annotated, Any, Literal

from fastapi import Query
from pydantic import BaseModel, Field
from starlette.responses import Response

from shop.outside.photo_process import SIZES
from shop.queries.builds import build_view
from shop.queries.photos import PhotoView, photo_view, photos_after
from shop.rules.photos import MOST_CAPTION, MOST_REASON
from shop.rules.refusals import BadInput
from shop.rules.sequences import MOST_NAME
from shop.rules.spec import SIDES
from shop.services.photos import add_photos, change_caption, remove_photo, share_photo
from shop.web.api.base import After, Body, Limit, Once, Page, Truth, api_router, changes_of, page_of
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, TheHub, Writing
from shop.web.doors import KeyForBench, KeyForDesk, KeyForLooking
from shop.web.photo_pictures import MEDIA_TYPE, picture_response
from shop.web.photo_uploads import MOST_PHOTO_BYTES, MULTIPART, GonePhotos, SentPhoto
from shop.web.uploads import FIELD, MOST_PHOTOS_BYTES

router = api_router("photos")

STAGE = "A stage of the build's sequence which the photo is of, by its name."
SIDE = "Which side of a repair it shows, as seen from the butt, with the rod held to fish."
CAPTION = "What it shows; the customer reads it where the photo is shared."
REASON = "Why it is taken away; that stays on the record."
SAID = ("stage", "side", "caption")
FORM_BODY = {
    "requestBody": {
        "required": True,
        "content": {
            MULTIPART: {
                "schema": {
                    "type": "object",
                    "required": [FIELD],
                    "additionalProperties": False,
                    "properties": {
                        FIELD: {
                            "type": "string", "format": "binary", "maxLength": MOST_PHOTO_BYTES,
                            "description": "A JPEG, PNG or WebP. It is made anew; metadata and position go.",
                        },
                        "stage": {"type": "string", "maxLength": MOST_NAME, "description": STAGE},
                        "side": {"type": "string", "enum": ["", *SIDES], "description": SIDE},
                        "caption": {"type": "string", "maxLength": MOST_CAPTION, "description": CAPTION},
                    },
                },
                "example": {FIELD: "@photo.jpg", "caption": "dry fit"},
            }
        },
    }
}  # fmt: skip
PICTURE: dict[int | str, dict[str, Any]] = {
    200: {"content": {MEDIA_TYPE: {"schema": {"type": "string", "contentMediaType": MEDIA_TYPE}}}}
}
Size = Literal["320", "1280"]
Reason = Annotated[str, Query(min_length=1, max_length=MOST_REASON, description=REASON)]


class PhotoChanges(Body):
    """What changes of a photo."""

    caption: Annotated[str, Field(max_length=MOST_CAPTION, description=CAPTION)] | None = None
    shared: Annotated[Truth, Field(description="Whether the customer may see it.")] | None = None


class PhotoOut(BaseModel):
    """A photo on file. `pictures` are the addresses of its sizes, by the pixels of their longer side."""

    id: int
    build: str
    stage: str | None
    side: str
    caption: str
    width: Annotated[int, Field(description="Pixels of the largest size.")]
    height: Annotated[int, Field(description="Pixels of the largest size.")]
    size_bytes: Annotated[int, Field(description="Bytes of all sizes together.")]
    entered_at: InstantOut
    by: str
    shared: bool
    shared_at: InstantOut | None
    removed_at: InstantOut | None
    pictures: dict[str, str]


def photo_out(photo: PhotoView) -> dict[str, Any]:
    """A photo, for `PhotoOut`."""
    pictures = {str(size): f"/api/v1/photos/{photo.id}/{size}.jpg" for size in SIZES}
    return {**photo._asdict(), "shared": photo.shared_at is not None, "pictures": pictures}


@router.get("/builds/{number}/photos", response_model=Page[PhotoOut])
def list_photos(
    actor: KeyForLooking, session: Reading, number: str, after: After = 0, limit: Limit = 50
) -> Any:
    """The photos of a build by id; those taken away are left out."""
    found = photos_after(session, build_view(session, number).id, after, limit + 1)
    return page_of([photo_out(photo) for photo in found], limit, lambda item: item["id"])


@router.post(
    "/builds/{number}/photos", status_code=201, response_model=PhotoOut, max_body_size=MOST_PHOTOS_BYTES,
    openapi_extra=FORM_BODY,
)  # fmt: skip
def post_photo(
    actor: KeyForBench, sent: SentPhoto, session: Writing, _once: Once, bench: TheBench, number: str
) -> Any:
    """Add a photo; the customer does not see it until it is shared."""
    said = dict(sent.posted)
    if unknown := [name for name in said if name not in SAID]:
        raise BadInput(dict.fromkeys(unknown, "There is no such field in this call."))
    (photo_id,) = add_photos(session, number, bench.bench(session, actor), sent.taken(), **said)
    return photo_out(photo_view(session, photo_id))


@router.patch("/photos/{photo_id}", response_model=PhotoOut)
def patch_photo(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, photo_id: int, body: PhotoChanges
) -> Any:
    """Change what a photo is said to show, or whether the customer may see it."""
    changes = changes_of(body)
    if "caption" in changes:
        change_caption(session, photo_id, caption=changes["caption"])
    if "shared" in changes:
        share_photo(session, photo_id, bench.bench(session, actor), shared=changes["shared"])
    return photo_out(photo_view(session, photo_id))


@router.delete("/photos/{photo_id}", response_model=PhotoOut)
def delete_photo(
    actor: KeyForDesk, gone: GonePhotos, session: Writing, _once: Once, bench: TheBench, photo_id: int,
    reason: Reason,
) -> Any:  # fmt: skip
    """Take a photo away: its files are deleted, its record stays."""
    photo = remove_photo(session, photo_id, bench.bench(session, actor), reason=reason)
    gone.append(photo.name)
    return photo_out(photo_view(session, photo_id))


@router.get("/photos/{photo_id}/{size}.jpg", response_class=Response, responses=PICTURE)
def get_picture(actor: KeyForLooking, session: Reading, hub: TheHub, photo_id: int, size: Size) -> Response:
    """One size of a photo, as a JPEG."""
    return picture_response(hub.photos, photo_view(session, photo_id), f"{size}.jpg")
