"""Photos: those of a build for its page, those that its customer may see, one record for a verb."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.photos import Photo
from shop.db.sequences import Stage
from shop.queries.events import EventView
from shop.rules.record import EventKind
from shop.rules.refusals import NotOnFile


class PhotoView(NamedTuple):
    """A photo as pages and API show it; `name` is that of its files, and goes to nobody.

    `shared_at` is null while the customer does not see it, `removed_at` until it is taken away.
    """

    id: int
    build_id: int
    build: str
    stage: str | None
    name: str
    side: str
    caption: str
    width: int
    height: int
    size_bytes: int
    entered_at: datetime
    by: str
    shared_at: datetime | None
    shared_by: str
    removed_at: datetime | None


class SharedPhoto(NamedTuple):
    """A photo as its customer sees it: `words` are the customer's words for the stage, or empty."""

    id: int
    name: str
    caption: str
    words: str
    width: int
    height: int
    taken_at: datetime


_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Photo.id, Photo.build_id, Build.number, Stage.name, Photo.name, Photo.side, Photo.caption,
        Photo.width, Photo.height, Photo.size_bytes, Photo.entered_at, Photo.by, Photo.shared_at,
        Photo.shared_by, Photo.removed_at,
    )
    .join(Build, Build.id == Photo.build_id)
    .join(Stage, Stage.id == Photo.stage_id, isouter=True)
)  # fmt: skip
_ONE = _VIEW.where(Photo.id == bindparam("id"))
_OF_BUILD = _VIEW.where(Photo.build_id == bindparam("build_id"), Photo.removed_at.is_(None)).order_by(
    Photo.id
)
_PAGE = _OF_BUILD.where(Photo.id > bindparam("after")).limit(bindparam("most"))
_SHARED = (
    select(
        Photo.id, Photo.name, Photo.caption, func.coalesce(Stage.customer_words, ""), Photo.width,
        Photo.height, Photo.entered_at,
    )
    .join(Stage, Stage.id == Photo.stage_id, isouter=True)
    .where(
        Photo.build_id == bindparam("build_id"), Photo.shared_at.is_not(None), Photo.removed_at.is_(None)
    )
    .order_by(Photo.id)
)  # fmt: skip
_SHARED_NAME = select(Photo.name).where(
    Photo.id == bindparam("id"), Photo.build_id == bindparam("build_id"), Photo.shared_at.is_not(None),
    Photo.removed_at.is_(None),
)  # fmt: skip
_NAMES = select(Photo.name).where(Photo.removed_at.is_(None))
_COUNT = select(func.count(Photo.id)).where(
    Photo.build_id == bindparam("build_id"), Photo.removed_at.is_(None)
)


def photo_view(session: Session, photo_id: int) -> PhotoView:
    """One photo, one that was taken away too. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": photo_id}).first()
    if row is None:
        raise NotOnFile(f"There is no photo {photo_id} on file.")
    return PhotoView(*row)


def photos_of_build(session: Session, build_id: int) -> list[PhotoView]:
    """Every photo of a build in the order they were added; those taken away are left out."""
    return [PhotoView(*row) for row in session.execute(_OF_BUILD, {"build_id": build_id})]


def photos_after(session: Session, build_id: int, after: int, most: int) -> list[PhotoView]:
    """At most `most` photos of a build whose id is above `after`, by id."""
    rows = session.execute(_PAGE, {"build_id": build_id, "after": after, "most": most})
    return [PhotoView(*row) for row in rows]


def shared_photos(session: Session, build_id: int) -> list[SharedPhoto]:
    """The photos of a build that its customer may see, in the order they were added."""
    return [SharedPhoto(*row) for row in session.execute(_SHARED, {"build_id": build_id})]


def shared_name(session: Session, build_id: int, photo_id: int) -> str | None:
    """The name of a photo's files, if it is one of this build that its customer may see."""
    return session.scalar(_SHARED_NAME, {"build_id": build_id, "id": photo_id})


def photo_count(session: Session, build_id: int) -> int:
    """How many photos a build has."""
    return session.scalar(_COUNT, {"build_id": build_id}) or 0


def photo_names(session: Session) -> set[str]:
    """The names of all photos whose files are to be there."""
    return set(session.scalars(_NAMES))


def photo_record(session: Session, photo_id: int) -> Photo:
    """The record of one photo, for a verb to change. Raises `NotOnFile`."""
    photo = session.get(Photo, photo_id)
    if photo is None:
        raise NotOnFile(f"There is no photo {photo_id} on file.")
    return photo


def photographed(
    events: Iterable[EventView], photos: Iterable[PhotoView], pass_number: int
) -> frozenset[str]:
    """The stages that have a photo of this pass: one of an earlier pass shows work that was done again."""
    there = {photo.id for photo in photos}
    return frozenset(
        event.stage
        for event in events
        if event.kind == EventKind.PHOTO
        and event.pass_number == pass_number
        and event.stage is not None
        and there.intersection(event.details.get("taken", ()))
    )
