"""`import`: taking in a file of customers, blanks, components or stock, or a whole shop that was exported."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from shop.commands.exports import take_in_everything
from shop.commands.faults import CannotDo
from shop.commands.opening import opened
from shop.commands.progress import progress
from shop.commands.stopping import undone_when_stopped
from shop.config import Settings
from shop.outside.csv_files import CsvFault, CsvFile
from shop.rules.imports import ImportKind, known_columns
from shop.rules.people import Actor
from shop.services.bench import Signer
from shop.services.imports import FileRefused, Found, look_through, take_in
from shop.web.deps import Hub

# What is written down as having been done by nobody in particular, but at the shop's own computer.
AT_THE_COMPUTER = Actor("the shop's computer", frozenset())
EVERYTHING = "everything"
HELP = "\n\n".join(
    [
        "Take in a CSV file (UTF-8, separated by commas or semicolons, the first line naming the columns), "
        "all of it or nothing. It only adds: what is on file already is a fault of its line.",
        *(f"{kind}: {known_columns(kind)}." for kind in ImportKind),
        "A length has its unit with it or in the heading, as in Length (mm).",
        "everything: what `export` wrote, into an empty shop.",
    ]
)
Kind = StrEnum("Kind", {kind.name: kind.value for kind in ImportKind} | {"EVERYTHING": EVERYTHING})  # type: ignore[misc]


def take_in_file(
    kind: Annotated[Kind, typer.Argument(help="What the file lists.")],
    file: Annotated[Path, typer.Argument(help="The file; for everything, the folder or the zip file.")],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be done, or what is wrong.")
    ] = False,
) -> None:
    """Look through a file and take it in."""
    with opened(Settings()) as hub:
        if kind.value == EVERYTHING:
            take_in_everything(hub, file, dry_run)
            return
        _take_in(hub, ImportKind(kind), file, dry_run)


def _take_in(hub: Hub, kind: ImportKind, path: Path, dry_run: bool) -> None:
    with path.open("rb") as file:
        rows = CsvFile(file)
        try:
            with hub.database.reading() as session, progress("Looking through", rows.share) as bar:
                found = look_through(session, kind, rows, bar.tell)
            _refuse(path, found)
            if dry_run:
                typer.echo(f"{said_of(kind, found.lines)} would be put on file. Nothing was changed.")
                return
            found = _write(hub, kind, rows)
        except CsvFault as fault:
            where = f", line {fault.line}" if fault.line else ""
            raise CannotDo(f"{path}{where}: {fault} Nothing was done.") from fault
        except FileRefused as refused:
            _refuse(path, refused.found)
    typer.echo(f"{said_of(kind, found.lines)} put on file.")


def _write(hub: Hub, kind: ImportKind, rows: CsvFile) -> Found:
    now = hub.clock.now()
    with (
        hub.database.writing(now) as session,
        undone_when_stopped(),
        progress("Taking in", rows.share) as bar,
    ):
        return take_in(session, Signer(now, AT_THE_COMPUTER), kind, rows, bar.tell)


def _refuse(path: Path, found: Found) -> None:
    """Say every fault on a line of its own, and that nothing was done. Raises `CannotDo`."""
    if not found.faulty:
        return
    for fault in found.faults:
        column = f", {fault.column}" if fault.column else ""
        typer.echo(f"line {fault.line}{column}: {fault.says}", err=True)
    more = f", {found.unsaid} of them not listed" if found.unsaid else ""
    many = "One thing is" if found.faulty == 1 else f"{found.faulty:,} things are"
    raise CannotDo(f"{many} not in order in {path}{more}; nothing was done.")


def said_of(kind: ImportKind, lines: int) -> str:
    """How many of what, as words."""
    one = {
        ImportKind.CUSTOMERS: "customer", ImportKind.BLANKS: "blank", ImportKind.COMPONENTS: "component",
        ImportKind.STOCK: "counted item",
    }[kind]  # fmt: skip
    return f"1 {one}" if lines == 1 else f"{lines:,} {one}s"
