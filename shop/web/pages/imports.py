"""Files of customers, blanks, components and stock on the Desk: looked through first, then taken in whole."""

import io
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.csv_files import CsvFault, CsvFile
from shop.rules.imports import COLUMNS, MORE_COLUMNS, MOST_LINES, ImportKind
from shop.rules.refusals import BadInput
from shop.services.bench import Signer
from shop.services.imports import FileRefused, Found, look_through, take_in
from shop.web.deps import Form, Hub, Now, Posted, Reading, TheHub, write
from shop.web.doors import AtDesk
from shop.web.forms import FormView, showing_again
from shop.web.looked_at import ListFile
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.uploads import FIELD, MOST_FILE_BYTES, MOST_UPLOAD_BYTES, Uploaded

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/import.html"
GONE = "That file is not kept any more; please choose it again."
KIND_WORDS = {
    ImportKind.CUSTOMERS: "customers",
    ImportKind.BLANKS: "blanks with their stations",
    ImportKind.COMPONENTS: "components",
    ImportKind.STOCK: "what is counted",
}
PAGES = {
    ImportKind.CUSTOMERS: "/desk/customers",
    ImportKind.BLANKS: "/shelf",
    ImportKind.COMPONENTS: "/shelf/components",
    ImportKind.STOCK: "/shelf/stock",
}


@router.get("/desk/import")
def choose_file(actor: AtDesk, page: Page, kind: str = "") -> Response:
    """The form with which a file is chosen, and the columns that it may have."""
    return page.show(TEMPLATE, here="desk", form=FormView({"kind": kind}), **_blank())


@router.post("/desk/import", max_body_size=MOST_UPLOAD_BYTES)
def look_at_list(
    actor: AtDesk, page: Page, session: Reading, hub: TheHub, now: Now, upload: Uploaded
) -> Response:
    """Look through a file: what would be put on file, or what is wrong. Nothing is stored yet."""
    page.here = "desk"
    with showing_again(page, TEMPLATE, upload.posted, _blank):
        kind = _kind(upload.posted)
        if upload.fault:
            raise BadInput({FIELD: upload.fault})
        found = _look(session, kind, upload.body)
    if found.faulty:
        return page.show(TEMPLATE, status=422, **_refused(upload.posted, upload.name, found))
    token = hub.list_files.keep(ListFile(kind, upload.name, upload.body, now))
    ready = {"token": token, "name": upload.name, "says": _many(found.lines), "kind": KIND_WORDS[kind]}
    return page.show(TEMPLATE, form=FormView(upload.posted), **_blank() | {"ready": ready})


@router.post("/desk/import/take")
async def take_list(actor: AtDesk, page: Page, hub: TheHub, now: Now, posted: Form) -> Response:
    """Take in a file that was looked through, all of it or nothing; a second press does nothing more."""
    page.here = "desk"
    token = posted.get("token", "")
    with showing_again(page, TEMPLATE, posted, _blank):
        file = hub.list_files.find(token, now)
        if file is None:
            raise BadInput({FIELD: GONE})
    try:
        done = await _take_once(hub, token, file, Signer(now, actor))
    except FileRefused as refused:
        # Somebody else put one of them on file since the look.
        chosen = Posted([("kind", file.kind)])
        return page.show(TEMPLATE, status=422, **_refused(chosen, file.name, refused.found))
    return page.go(PAGES[done.kind], f"{_many(done.taken)} taken in.")


async def _take_once(hub: Hub, token: str, file: ListFile, signer: Signer) -> ListFile:
    """Put a file on file, unless that is done; gives it with how many lines went in. Raises `FileRefused`."""
    if file.taken:
        return file
    rows = CsvFile(io.BytesIO(file.body))
    try:
        found = await write(hub, signer.now, lambda session: take_in(session, signer, file.kind, rows))
    except FileRefused:
        again = hub.list_files.find(token, signer.now)
        if again is None or not again.taken:
            raise
        # The other of two presses at once has put it on file meanwhile.
        return again
    # Only now, when all of it is committed: whoever presses again is told the same.
    done = file._replace(body=b"", taken=found.lines)
    hub.list_files.replace(token, done)
    return done


def _kind(posted: Posted) -> ImportKind:
    try:
        return ImportKind(posted.get("kind", ""))
    except ValueError as fault:
        raise BadInput({"kind": "Say what the file lists."}) from fault


def _look(session: Session, kind: ImportKind, body: bytes) -> Found:
    try:
        return look_through(session, kind, CsvFile(io.BytesIO(body)))
    except CsvFault as fault:
        raise BadInput({FIELD: f"Line {fault.line}: {fault}"}) from fault


def _refused(posted: Posted, name: str, found: Found) -> dict[str, Any]:
    """The page with what is wrong in a file, line by line."""
    things = "One thing is" if found.faulty == 1 else f"{found.faulty:,} things are"
    says = f"{things} not in order, so nothing is taken in; put the file right and choose it again."
    rows = [(f"line {fault.line}", fault.column or "–", fault.says) for fault in found.faults]
    wrong = {"faults": rows, "unsaid": found.unsaid, "file_name": name or "the file"}
    return {"form": FormView(posted, {FIELD: says})} | _blank() | wrong


def _many(lines: int) -> str:
    return "1 line" if lines == 1 else f"{lines:,} lines"


def _blank() -> dict[str, Any]:
    """The page with nothing looked at."""
    return {
        "tab": "import", "kinds": [("", "choose"), *KIND_WORDS.items()], "columns": _columns(), "ready": None,
        "faults": [], "unsaid": 0, "file_name": "", "most_mb": MOST_FILE_BYTES // 1_000_000,
        "most_lines": f"{MOST_LINES:,}",
    }  # fmt: skip


def _columns() -> list[tuple[str, list[tuple[str, str]]]]:
    """For each kind of file its columns with what they say."""
    tables = []
    for kind, columns in COLUMNS.items():
        rows = [
            (
                column.name,
                f"{column.says}{', ' if column.says else ''}needed" if column.required else column.says,
            )
            for column in columns
        ]
        if kind in MORE_COLUMNS:
            rows.append(("and", MORE_COLUMNS[kind]))
        tables.append((KIND_WORDS[kind], rows))
    return tables
