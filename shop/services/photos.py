"""Photos of builds: added, captioned, shown to the customer or no longer, taken away.

Only what is on record is written here. The files lie there before (`shop.outside.photo_files`), and go after
the commit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.photos import Photo
from shop.queries.builds import build_by_id, build_record
from shop.queries.photos import photo_count, photo_record
from shop.rules.photos import MOST_OF_BUILD, fault_of_reason, faults_of_photo, said_of_photos
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Bench
from shop.services.events import add_event


@dataclass(frozen=True)
class StoredPhoto:
    """A photo whose files lie in the folder under `name`: the pixels of the largest, the bytes of all."""

    name: str
    width: int
    height: int
    size_bytes: int


def add_photos(
    session: Session,
    number: str,
    bench: Bench,
    stored: Sequence[StoredPhoto],
    *,
    stage: str = "",
    side: str = "",
    caption: str = "",
) -> list[int]:
    """Put photos on file for a build, and for one of its stages where one is named; gives their ids.

    Raises `BadInput` for a stage the build does not have, for what is said of them, or for too many;
    `NotOnFile` for the build.
    """
    build = build_record(session, number)
    kept = bench.sequences.of_build(session, build.sequence_id)
    caption = caption.strip()
    errors = faults_of_photo(caption, side)
    if stage and stage not in kept.stage_ids:
        errors["stage"] = f"“{stage}” is not a stage of the sequence “{kept.value.name}”."
    if errors := errors | _fault_of_count(session, build, len(stored)):
        raise BadInput(errors)
    photos = [
        Photo(
            build_id=build.id, stage_id=kept.stage_ids.get(stage), name=item.name, side=side, caption=caption,
            width=item.width, height=item.height, size_bytes=item.size_bytes, entered_at=bench.now,
            by=bench.actor.name,
        )
        for item in stored
    ]  # fmt: skip
    session.add_all(photos)
    session.flush()
    ids = [photo.id for photo in photos]
    add_event(
        session, build, bench, EventKind.PHOTO, bench.now, note=said_of_photos(len(ids), "taken"),
        details={"taken": ids}, kept=kept, stage=stage or None,
    )  # fmt: skip
    session.flush()
    return ids


def _fault_of_count(session: Session, build: Build, further: int) -> dict[str, str]:
    if photo_count(session, build.id) + further <= MOST_OF_BUILD:
        return {}
    return {"file": f"A rod has at most {MOST_OF_BUILD} photos; take some away first."}


def change_caption(session: Session, photo_id: int, *, caption: str) -> Photo:
    """Change what a photo is said to show. Raises `BadInput`, `NotOnFile` or `Overtaken`."""
    photo = _standing(session, photo_id)
    caption = caption.strip()
    if errors := faults_of_photo(caption):
        raise BadInput(errors)
    photo.caption = caption
    session.flush()
    return photo


def share_photo(session: Session, photo_id: int, bench: Bench, *, shared: bool) -> Photo:
    """Show a photo to the customer of its rod, or no longer; nothing happens where it is so already.

    Raises `NotOnFile` or `Overtaken`.
    """
    photo = _standing(session, photo_id)
    if shared == (photo.shared_at is not None):
        return photo
    photo.shared_at = bench.now if shared else None
    photo.shared_by = bench.actor.name if shared else ""
    what = "shown to the customer" if shared else "hidden from the customer again"
    _note(session, bench, photo, said_of_photos(1, what), "shared" if shared else "unshared")
    return photo


def remove_photo(session: Session, photo_id: int, bench: Bench, *, reason: str) -> Photo:
    """Take a photo away; its row stays, and its files are to be deleted once that is committed.

    Raises `BadInput` for the reason, `NotOnFile`, or `Overtaken` where it was taken away already.
    """
    photo = _standing(session, photo_id)
    reason = reason.strip()
    if fault := fault_of_reason(reason):
        raise BadInput({"reason": fault})
    photo.removed_at, photo.removed_by = bench.now, bench.actor.name
    photo.shared_at, photo.shared_by = None, ""
    _note(session, bench, photo, f"{said_of_photos(1, 'taken away')} {reason}", "removed")
    return photo


def _standing(session: Session, photo_id: int) -> Photo:
    photo = photo_record(session, photo_id)
    if photo.removed_at is not None:
        raise Overtaken("This photo was taken away already.")
    return photo


def _note(session: Session, bench: Bench, photo: Photo, note: str, what: str) -> None:
    """Put on the build's record what became of a photo."""
    build = build_by_id(session, photo.build_id)
    add_event(
        session, build, bench, EventKind.PHOTO, bench.now, note=note, details={what: [photo.id]}
    )  # fmt: skip
    session.flush()
