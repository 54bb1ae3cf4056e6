"""`export` and `import everything`: the whole shop as files, and back into an empty one."""

from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath
from typing import Annotated, Any

import typer

from shop.commands.faults import CannotDo
from shop.commands.opening import opened
from shop.commands.progress import Bar, progress
from shop.commands.stopping import undone_when_stopped
from shop.config import Settings
from shop.outside.export_files import Document, ExportFiles, NoExport, export_from
from shop.outside.exports import PlaceTaken, export_at, write_document, write_files, write_tables, write_text
from shop.outside.photo_files import photo_of
from shop.queries.exports import export_tables, revision_of
from shop.queries.photos import photo_names
from shop.queries.shop import read_shop
from shop.rules.exports import ABOUT, DOCUMENT, FORMAT, about_text, left_out_lines
from shop.services.exports import put_shop_on_record
from shop.web.deps import Hub

MOST_PHOTO_BYTES = 50_000_000


class _Steps:
    """How many of the steps of a command are done."""

    def __init__(self, steps: int) -> None:
        self._steps = steps
        self._done = 0

    def share(self) -> float:
        """The share that is done, from 0 to 1."""
        return self._done / self._steps if self._steps else 1.0

    def then(self, tell: Callable[[], None]) -> Callable[[], None]:
        """What counts a step and then tells of it, now and then."""

        def step() -> None:
            self._done += 1
            if self._done % 256 == 0:
                tell()

        return step


def export(
    path: Annotated[Path, typer.Argument(help="A new folder, or a new file whose name ends in .zip.")],
) -> None:
    """Write all that is on record as CSV and JSON, with the photos; no passwords, keys, private addresses."""
    with opened(Settings()) as hub:
        try:
            with undone_when_stopped():
                missing = _export(hub, path)
        except PlaceTaken as taken:
            raise CannotDo(str(taken)) from taken
        except OSError as fault:
            reason = (fault.strerror or str(fault)).lower()
            raise CannotDo(f"{path} could not be written ({reason}); nothing of it is left there.") from fault
    if missing:
        raise CannotDo(
            f"The export is written to {path}, but without the files of {len(missing)} of its photos, which "
            f"are not where they should be; the first is {missing[0]}."
        )
    typer.echo(
        f"Everything is written to {path}. It is all about people; keep it as you keep the shop's own."
    )


def _export(hub: Hub, path: Path) -> list[str]:
    """Write the export; gives the names of photos whose files are missing."""
    with hub.database.reading() as session, export_at(path, hub.clock.now()) as target:
        tables = export_tables(session)
        photos = sorted(photo_names(session))
        rows = sum(len(table) for table in tables)
        steps = _Steps(2 * rows + len(photos))
        head = {
            "tackfree_export": FORMAT,
            "revision": revision_of(session),
            "left_out": left_out_lines(),
        }
        with progress("Exporting", steps.share) as bar:
            told = steps.then(bar.tell)
            write_text(target, ABOUT, about_text(read_shop(session).name))
            write_tables(target, tables, told)
            write_document(target, DOCUMENT, head, tables, told)
            return write_files(target, _photo_files(hub, photos), told)


def _photo_files(hub: Hub, names: list[str]) -> Iterator[tuple[str, Path]]:
    for name in names:
        files = hub.photos.files_of(name) or [hub.photos.path_of(name, 0)]
        yield from ((f"photos/{path.parent.name}/{path.name}", path) for path in files)


def take_in_everything(hub: Hub, path: Path, dry_run: bool) -> None:
    """Put an exported shop into an empty one, all of it or nothing. Raises `CannotDo` and refusals."""
    try:
        with export_from(path) as files, files.open(DOCUMENT) as file:
            document = Document(file, files.size(DOCUMENT))
            if dry_run:
                _look_at(document)
                return
            rows, missing = _put_in(hub, files, document)
    except NoExport as fault:
        raise CannotDo(f"{path} cannot be taken in: {fault} Nothing was done.") from fault
    typer.echo(f"{rows:,} records are on file.")
    typer.echo("Nobody has a password yet: `tackfree user add` an owner, who gives everybody a new one.")
    typer.echo("Private addresses are new ones, and no mail is sent until an owner switches it on.")
    if missing:
        raise CannotDo(f"Of {missing} of the photos the export has no file; their records are here.")


def _look_at(document: Document) -> None:
    counts: dict[str, int] = {}
    for table, _row in document.rows():
        counts[table] = counts.get(table, 0) + 1
    for table, many in counts.items():
        typer.echo(f"{table}: {many:,}")
    typer.echo(f"{sum(counts.values()):,} records would be put on file. Nothing was changed.")


def _put_in(hub: Hub, files: ExportFiles, document: Document) -> tuple[int, int]:
    """Put rows and photos in; gives how many rows, and of how many photos no file came."""
    now, laid, names = hub.clock.now(), set[str](), set[str]()

    def rows() -> Iterator[tuple[str, dict[str, Any]]]:
        for table, row in document.rows():
            if table == "photos" and row.get("removed_at") is None:
                name = str(row.get("name"))
                if photo_of(f"{name}-0.jpg") is None:
                    raise NoExport(f"Photo {row.get('id')} has the name {name[:80]!r}, which none has.")
                names.add(name)
            yield table, row

    try:
        with (
            hub.database.writing(now) as session,
            undone_when_stopped(),
            progress("Taking in", document.share) as bar,
        ):
            many = put_shop_on_record(session, hub.secret, document.head, rows(), bar.tell)
            _lay_down(hub, files, names, laid, bar)
    except BaseException:
        for name in laid:
            hub.photos.delete(name)
        raise
    return many, len(names - laid)


def _lay_down(hub: Hub, files: ExportFiles, names: set[str], laid: set[str], bar: Bar) -> None:
    """Lay down the photos that are on record; `laid` gets the name of each before its file is there."""
    for file_name in files.photos():
        bar.tell()
        own = PurePosixPath(file_name).name
        photo = photo_of(own)
        if photo is None or photo not in names:
            continue
        with files.open(file_name) as file:
            jpeg = file.read(MOST_PHOTO_BYTES + 1)
        if len(jpeg) > MOST_PHOTO_BYTES:
            raise NoExport(f"{file_name} is larger than any photo.")
        laid.add(photo)
        hub.photos.put_back(own, jpeg)
