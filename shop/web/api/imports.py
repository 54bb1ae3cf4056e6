"""The API of lists that are taken in: customers, blanks, components or stock as CSV, all of it or nothing."""

import io
from typing import Annotated, Any

from fastapi import Depends, Query
from pydantic import BaseModel, Field

from shop.outside.csv_files import CsvFault, CsvFile
from shop.rules.imports import ImportKind
from shop.rules.refusals import BadInput
from shop.services.bench import Signer
from shop.services.imports import FileRefused, Found, look_through, take_in
from shop.web.api.base import Once, api_router
from shop.web.deps import Now, Writing
from shop.web.doors import KeyForDesk
from shop.web.uploads import MOST_UPLOAD_BYTES, csv_body, described_csv

router = api_router("imports")
EXAMPLE = "name,email,phone\nAda Thorn,ada@thorn.example,+47 22 55 66 77\n"
DRY_RUN = "Only say whether the file is in order; nothing is put on file."

CsvBytes = Annotated[bytes, Depends(csv_body)]


class ImportOut(BaseModel):
    """A file that is in order; with `dry_run` nothing of it was put on file."""

    kind: ImportKind
    lines: Annotated[int, Field(description="How many lines were, or would be, put on file.")]
    dry_run: bool


@router.post(
    "/imports/{kind}", response_model=ImportOut, max_body_size=MOST_UPLOAD_BYTES,
    openapi_extra=described_csv(EXAMPLE),
)  # fmt: skip
def post_import(
    actor: KeyForDesk, body: CsvBytes, session: Writing, _once: Once, now: Now, kind: ImportKind,
    dry_run: Annotated[bool, Query(description=DRY_RUN)] = False,
) -> Any:  # fmt: skip
    """Take in a CSV file whose first line names the columns; what is on file already is a fault of its line.

    The columns are those of the page *Take in a file* on the Desk. A fault is named by line and column.
    """
    rows = CsvFile(io.BytesIO(body))
    try:
        if dry_run:
            found = look_through(session, kind, rows)
        else:
            found = take_in(session, Signer(now, actor), kind, rows)
    except CsvFault as fault:
        raise BadInput({f"line {fault.line}": str(fault)}) from fault
    except FileRefused as refused:
        raise BadInput(_errors(refused.found)) from refused
    if found.faulty:
        raise BadInput(_errors(found))
    return {"kind": kind, "lines": found.lines, "dry_run": dry_run}


def _errors(found: Found) -> dict[str, str]:
    """The faults of a file as those of fields: `line 17, email`."""
    errors = {
        f"line {fault.line}, {fault.column}" if fault.column else f"line {fault.line}": fault.says
        for fault in found.faults
    }
    if found.unsaid:
        errors["lines"] = f"Beside these, {found.unsaid} more things are not in order."
    return errors
