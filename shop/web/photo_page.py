"""Photos as pages show them: finished values for the templates, and what a stage asks to be photographed."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.outside.photo_process import SIZES
from shop.queries.builds import BuildView
from shop.queries.customers import customer_view
from shop.queries.events import EventView
from shop.queries.photos import PhotoView, SharedPhoto, photographed, photos_of_build
from shop.rules.people import Right
from shop.rules.sequences import RecordKind, Stage
from shop.rules.spec import SIDES
from shop.web.benches import BenchSide
from shop.web.photo_uploads import MOST_PHOTO_BYTES, MOST_PHOTOS
from shop.web.templating import Frame
from shop.web.wording import when

SMALL, LARGE = SIZES
# So many lie on the rod's own page; its page of photos has all.
MOST_ON_ROD = 6
TAKEN = f"JPEG, PNG or WebP, at most {MOST_PHOTOS} at a time and {MOST_PHOTO_BYTES // 1_000_000} MB each."


class Picture(NamedTuple):
    """A small picture that leads to the large one; `width` and `height` in pixels, `alt` in words."""

    href: str
    src: str
    width: int
    height: int
    alt: str


class PhotoCard(NamedTuple):
    """A photo with all that is said of it, and whether its customer sees it."""

    id: int
    picture: Picture
    caption: str
    about: str
    is_shared: bool
    shared: str


class PhotoAsk(NamedTuple):
    """What the next stage asks to be photographed, and whether a photo of that stage is there."""

    name: str
    is_taken: bool


def picture_of(photo: PhotoView) -> Picture:
    """A photo as signed-in people see it."""
    where = f"/photos/{photo.id}"
    return Picture(f"{where}/{LARGE}.jpg", f"{where}/{SMALL}.jpg", *_small(photo), _alt(photo))


def shared_picture(token: str, photo: SharedPhoto) -> Picture:
    """A photo as its customer sees it, by the token of the rod's status link."""
    where = f"/rod/{token}/photos/{photo.id}"
    alt = photo.caption or photo.words or "A photo of your rod"
    return Picture(f"{where}.jpg", f"{where}-{SMALL}.jpg", *_small(photo), alt)


def preview_picture(photo: SharedPhoto) -> Picture:
    """A photo as its customer sees it, for signed-in people: the same words, behind the shop's own door."""
    where = f"/photos/{photo.id}"
    return shared_picture("", photo)._replace(href=f"{where}/{LARGE}.jpg", src=f"{where}/{SMALL}.jpg")


def _small(photo: PhotoView | SharedPhoto) -> tuple[int, int]:
    """The pixels of the small size."""
    shrink = min(1.0, SMALL / max(photo.width, photo.height))
    return max(1, round(photo.width * shrink)), max(1, round(photo.height * shrink))


def _alt(photo: PhotoView) -> str:
    said = photo.caption or (f"Photo at “{photo.stage}”" if photo.stage else "Photo of this rod")
    return f"{said}, {photo.side} side" if photo.side else said


def photos_context(page: Frame, session: Session, bench: BenchSide, build: BuildView) -> dict[str, Any]:
    """Everything that `pages/photos.html` needs but its form."""
    stages = bench.hub.sequences.of_build(session, build.sequence_id).value.stages
    photos = photos_of_build(session, build.id)
    person = page.person
    return {
        "build": build,
        "cards": [_card(photo, bench.now, page.zone) for photo in reversed(photos)],
        "stages": [("", "none"), *((stage.name, stage.name) for stage in stages)],
        "stage_now": build.stage or "",
        "sides": [("", "none"), *((side, side) for side in SIDES)] if build.rod_kind == "repair" else [],
        "taken": TAKEN,
        "consent": _consent(session, build),
        "may_bench": person is not None and person.may(Right.BENCH),
        "may_desk": person is not None and person.may(Right.DESK),
    }


def _consent(session: Session, build: BuildView) -> str:
    """Whether the customer has said yes to showing photos to others than themselves."""
    since = customer_view(session, build.customer_id).photo_consent_on
    if since is None:
        return "Nobody has said yes to showing photos of this rod to others than its customer."
    return f"The customer has said yes, on {since.isoformat()}, to showing photos to others."


def _card(photo: PhotoView, now: datetime, zone: ZoneInfo) -> PhotoCard:
    where = [photo.stage or "", f"{photo.side} side" if photo.side else ""]
    about = [*filter(None, where), f"{when(photo.entered_at, now, zone)}, {photo.by}"]
    shared = ""
    if photo.shared_at is not None:
        shared = f"The customer sees it: {when(photo.shared_at, now, zone)}, {photo.shared_by}."
    return PhotoCard(
        photo.id, picture_of(photo), photo.caption, " · ".join(about), photo.shared_at is not None, shared
    )


def photos_of_rod(
    session: Session, build: BuildView, stage: Stage | None, events: Iterable[EventView]
) -> dict[str, Any]:
    """What the rod's own page shows of its photos, and which of them its next stage asks for."""
    photos = photos_of_build(session, build.id)
    there = photographed(events, photos, build.pass_number)
    records = () if stage is None else stage.records
    return {
        "pictures": [picture_of(photo) for photo in photos[: -MOST_ON_ROD - 1 : -1]],
        "photo_count": len(photos),
        "photo_asks": [
            PhotoAsk(record.name, stage is not None and stage.name in there)
            for record in records
            if record.kind is RecordKind.PHOTO
        ],
        "taken": TAKEN,
    }
