"""Photos that somebody sends: laid on the disk as they come, made anew one at a time, and stored.

All that happens before anybody waits to write. A handler names `SentPhotos` (or `SentPhoto`, in the API)
after its actor and before its session: so a stranger's files are not even read, and what was stored is
deleted again where the row is not committed. `GonePhotos` is the reverse: files to delete once it is.
"""

import hashlib
import json
import logging
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException

from shop.outside.photo_files import PhotoFolder, PhotoFolderFault, fault_of
from shop.outside.photo_process import MadePhoto, PhotoRefused, make_photo_apart
from shop.rules.refusals import BadInput
from shop.services.photos import StoredPhoto
from shop.web.api.base import KEY_HEADER
from shop.web.deps import Hub, Posted, TheHub
from shop.web.uploads import FIELD

LOG = logging.getLogger("tackfree")
MOST_PHOTO_BYTES = 25_000_000
MOST_PHOTOS = 8
# More files than are taken are told so beside the field; far more are not even read.
MOST_FORM_FILES = 40
MOST_FIELD_BYTES = 20_000
# What the framework answers a form with that is cut short, or has far too many parts.
UNREADABLE = 400
CHUNK_BYTES = 1_000_000
MULTIPART = "multipart/form-data"
NONE_CAME = "No photo came; please choose one."
TOO_LARGE = f"The photo has more than {MOST_PHOTO_BYTES // 1_000_000} MB; please send a smaller one."
TOO_MANY = f"At most {MOST_PHOTOS} photos are taken at a time; please send the others afterwards."
NONE_KEPT = "None of these photos was kept; please choose the others again."
GARBLED = "The form with the photo could not be read; please send it again, with fewer photos."
ONE_FILE = f"Send one photo as the field “{FIELD}”."
NOT_A_FORM = f"Send the photo as a form, with Content-Type: {MULTIPART}."


@dataclass
class Sent:
    """A form with photos: what was typed, and either the photos, stored already, or what keeps them out."""

    posted: Posted
    stored: list[StoredPhoto] = field(default_factory=list)
    refused: str = ""
    no_room: PhotoFolderFault | None = None

    def taken(self) -> list[StoredPhoto]:
        """The photos. Raises `BadInput` for what is wrong with them, `PhotoFolderFault` for the disk."""
        if self.no_room is not None:
            raise self.no_room
        if self.refused:
            raise BadInput({FIELD: self.refused})
        return self.stored


async def sent_photos(request: Request, hub: TheHub) -> AsyncIterator[Sent]:
    """The fields and the photos of a form; what was stored of it goes again if the request fails."""
    sent = Sent(Posted([]))
    try:
        try:
            async with request.form(
                max_files=MOST_FORM_FILES, max_fields=20, max_part_size=MOST_FIELD_BYTES
            ) as form:
                sent.posted = Posted(_fields(form))
                await _store(hub, sent, _files(form))
                if KEY_HEADER in request.headers:
                    request.state.said = await run_in_threadpool(_print_of, form)
        except HTTPException as fault:
            if fault.status_code != UNREADABLE:
                raise
            LOG.info("a form with photos could not be read: %s", fault.detail)
            sent.refused = GARBLED
        except OSError as fault:  # of the folder, or of the disk that files are laid on while they come
            LOG.error("a photo could not be stored: %s", fault.__cause__ or fault)
            sent.no_room = fault if isinstance(fault, PhotoFolderFault) else fault_of(fault)
        yield sent
    except BaseException:
        await run_in_threadpool(_delete, hub.photos, [photo.name for photo in sent.stored])
        raise


async def sent_photo(request: Request, sent: Annotated[Sent, Depends(sent_photos, scope="function")]) -> Sent:
    """The one photo that a program sends, and its fields. Raises `BadInput` or `PhotoFolderFault`."""
    if request.headers.get("content-type", "").split(";")[0].strip().lower() != MULTIPART:
        raise BadInput({"body": NOT_A_FORM})
    if twice := [name for name in sent.posted if len(sent.posted.all(name)) > 1]:
        raise BadInput({name: f"“{name}” is given more than once; give it once." for name in twice})
    if len(sent.taken()) != 1:
        raise BadInput({FIELD: ONE_FILE})
    return sent


async def gone_photos(hub: TheHub) -> AsyncIterator[list[str]]:
    """A list for the names of photos whose files are deleted once everything is committed."""
    names: list[str] = []
    yield names
    await run_in_threadpool(_delete, hub.photos, names)


SentPhotos = Annotated[Sent, Depends(sent_photos, scope="function")]
SentPhoto = Annotated[Sent, Depends(sent_photo)]
GonePhotos = Annotated[list[str], Depends(gone_photos, scope="function")]


async def _store(hub: Hub, sent: Sent, files: list[UploadFile]) -> None:
    """Make all photos anew, and store them if every one of them can be taken."""
    if not files or len(files) > MOST_PHOTOS:
        sent.refused = TOO_MANY if files else NONE_CAME
        return
    made: list[MadePhoto] = []
    refused = []
    for file in files:
        try:
            made.append(await _made(hub, file))
        except PhotoRefused as fault:
            refused.append(str(fault) if len(files) == 1 else f"{_shown(file)}: {fault}")
    if refused:
        sent.refused = " ".join([*refused, *([NONE_KEPT] if len(files) > 1 else [])])
        return
    for photo in made:
        name = await run_in_threadpool(hub.photos.put, photo.jpegs)
        sent.stored.append(StoredPhoto(name, photo.width, photo.height, photo.size_bytes))


async def _made(hub: Hub, file: UploadFile) -> MadePhoto:
    if (file.size or 0) > MOST_PHOTO_BYTES:
        raise PhotoRefused(TOO_LARGE)
    return await hub.running.heavily(make_photo_apart, file.file)


def _fields(form: FormData) -> list[tuple[str, str]]:
    return [(key, value.strip()) for key, value in form.multi_items() if isinstance(value, str)]


def _files(form: FormData) -> list[UploadFile]:
    """The files that were chosen; a browser sends an empty one without a name where none was."""
    files = [value for value in form.getlist(FIELD) if isinstance(value, UploadFile)]
    return [file for file in files if file.filename or file.size]


def _shown(file: UploadFile) -> str:
    """The name of a file as it is said back; a name as long as a book is not."""
    return (file.filename or "a photo without a name")[:60]


def _print_of(form: FormData) -> bytes:
    """What a form said, its files by what is in them: the same for a retry, whatever its boundary."""
    said: list[tuple[str, str]] = []
    for key, value in form.multi_items():
        if isinstance(value, UploadFile):
            digest = hashlib.sha256()
            value.file.seek(0)
            while part := value.file.read(CHUNK_BYTES):
                digest.update(part)
            said.append((key, digest.hexdigest()))
        else:
            said.append((key, value))
    return json.dumps(said).encode()


def _delete(folder: PhotoFolder, names: list[str]) -> None:
    for name in names:
        try:
            folder.delete(name)
        except OSError as fault:
            LOG.error("the files of a photo could not be deleted; a later start tries again: %s", fault)
