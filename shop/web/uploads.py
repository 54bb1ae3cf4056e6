"""Files that somebody sends: to few addresses, and of bounded size.

Everywhere else a body is small (`shop.app`) and a form brings no file (`shop.web.deps`). An address that
takes a file is named here, and its route says `max_body_size` too. Photos are `shop.web.photo_uploads`.
"""

import re
from typing import Annotated, Any, NamedTuple

from fastapi import Depends, Request
from starlette.datastructures import UploadFile

from shop.rules.refusals import BadInput
from shop.web.deps import Posted

# A hundred thousand lines of a logger's file are 3 to 6 MB.
MOST_FILE_BYTES = 8_000_000
# A file that is somewhat too large is told so beside its field; a far larger body is not even read.
MOST_UPLOAD_BYTES = 16_000_000
# A phone's photo has 3 to 12 MB; a form brings several, and lays them on the disk as they come.
MOST_PHOTOS_BYTES = 120_000_000
FIELD = "file"
CSV = "text/csv"
_ADDRESSES = (
    (re.compile(r"/desk/import|/ways/zones/[^/]+/file"), MOST_UPLOAD_BYTES),
    (re.compile(r"/api/v1/(zones/[^/]+/readings\.csv|imports/[^/]+)"), MOST_UPLOAD_BYTES),
    (re.compile(r"(/api/v1)?/builds/[^/]+/photos"), MOST_PHOTOS_BYTES),
)


def most_bytes_at(path: str, ordinarily: int) -> int:
    """How large a body an address takes."""
    return next((most for address, most in _ADDRESSES if address.fullmatch(path)), ordinarily)


def fault_of_size(body: bytes) -> str:
    """What is wrong with a file's size, or nothing."""
    too_large = len(body) > MOST_FILE_BYTES
    return f"The file has more than {MOST_FILE_BYTES // 1_000_000} MB; split it." if too_large else ""


async def csv_body(request: Request) -> bytes:
    """A file that a program sends as the body, read before anybody waits to write. Raises `BadInput`."""
    if request.headers.get("content-type", "").split(";")[0].strip().lower() != CSV:
        raise BadInput({"body": f"Send the file as the body, with Content-Type: {CSV}."})
    body = await request.body()
    if fault := fault_of_size(body):
        raise BadInput({"body": fault})
    return body


def described_csv(example: str) -> dict[str, Any]:
    """What the API's description says of such a body."""
    schema = {"type": "string", "maxLength": MOST_FILE_BYTES}
    return {"requestBody": {"required": True, "content": {CSV: {"schema": schema, "example": example}}}}


class Upload(NamedTuple):
    """A form with one file: what was typed, and the file's name and content, empty where none was chosen."""

    posted: Posted
    name: str
    body: bytes

    @property
    def fault(self) -> str:
        """What is wrong with the file as such, or nothing."""
        return fault_of_size(self.body) if self.body else "No file came, or an empty one; please choose it."


async def one_file(request: Request) -> Upload:
    """The posted fields and the one file among them."""
    form = await request.form(max_files=1, max_fields=40)
    fields = [(key, value.strip()) for key, value in form.multi_items() if isinstance(value, str)]
    file = form.get(FIELD)
    if not isinstance(file, UploadFile):
        return Upload(Posted(fields), "", b"")
    body = await file.read(MOST_FILE_BYTES + 1)
    await form.close()
    return Upload(Posted(fields), file.filename or "", body)


Uploaded = Annotated[Upload, Depends(one_file)]
