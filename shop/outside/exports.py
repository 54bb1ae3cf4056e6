"""An export as files: one JSON document, a CSV file for each table (RFC 4180), and the photos.

It goes into a folder, or into one file where the path ends in `.zip`. Rows are written as they come, so the
size of the shop costs no memory. What is written lies beside its place until it is whole; a fault leaves
nothing behind. What goes out and what does not is for the caller to say.
"""

import csv
import io
import json
import os
import shutil
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Protocol

from shop.outside.spreadsheets import guarded

ZIP = ".zip"
Told = Callable[[], object]


class Rows(Protocol):
    """A table as it is written."""

    name: str
    columns: list[str]

    def __iter__(self) -> Iterator[dict[str, Any]]:
        """Its rows, anew each time."""


class PlaceTaken(OSError):
    """There is something at the path already. The text is a sentence."""


class Target(Protocol):
    """Where files go: a folder or a zip."""

    def open(self, name: str) -> AbstractContextManager[IO[bytes]]:
        """A new file of that name, to be written once."""

    def copy(self, name: str, source: Path) -> None:
        """A copy of a file under that name."""


class _Folder:
    def __init__(self, root: Path) -> None:
        self._root = root
        root.mkdir(mode=0o700)

    def _place(self, name: str) -> Path:
        path = self._root / name
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        return path

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        path = self._place(name)
        path.touch(mode=0o600)
        with path.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())

    def copy(self, name: str, source: Path) -> None:
        with self.open(name) as file, source.open("rb") as taken:
            shutil.copyfileobj(taken, file)


class _Zip:
    def __init__(self, archive: zipfile.ZipFile, now: datetime) -> None:
        self._archive = archive
        self._at = now.timetuple()[:6]

    def open(self, name: str) -> AbstractContextManager[IO[bytes]]:
        return self._entry(name, zipfile.ZIP_DEFLATED)

    def copy(self, name: str, source: Path) -> None:
        # Opened first, so that a file that is gone leaves no empty entry; photos do not get smaller.
        with source.open("rb") as taken, self._entry(name, zipfile.ZIP_STORED) as file:
            shutil.copyfileobj(taken, file)

    def _entry(self, name: str, compressed: int) -> IO[bytes]:
        entry = zipfile.ZipInfo(name, self._at)
        entry.compress_type = compressed
        entry.external_attr = 0o600 << 16
        return self._archive.open(entry, "w", force_zip64=True)


@contextmanager
def export_at(path: Path, now: datetime) -> Iterator[Target]:
    """The way into a new export; it lies at `path` once the block has ended well, and else nothing does.

    Raises `PlaceTaken` where the path is a file or a folder that is not empty, and `OSError`.
    """
    if path.suffix.lower() == ZIP and path.exists():
        raise PlaceTaken(f"{path} is there already; name another file.")
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise PlaceTaken(f"{path} is there already and is not empty; name another folder.")
    path = path.absolute()
    if path == Path.cwd():
        # Another folder takes its place at the end, and whoever stands in it would stand nowhere.
        raise PlaceTaken(f"You stand in {path}; name another folder.")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        if path.suffix.lower() == ZIP:
            part.touch(mode=0o600, exist_ok=False)
            with part.open("r+b") as file:
                with zipfile.ZipFile(file, "w") as archive:
                    yield _Zip(archive, now)
                file.flush()
                os.fsync(file.fileno())
        else:
            yield _Folder(part)
        part.replace(path)
    except BaseException:
        _remove(part)
        raise


def _remove(part: Path) -> None:
    if part.is_dir():
        shutil.rmtree(part, ignore_errors=True)
    else:
        part.unlink(missing_ok=True)


def write_text(target: Target, name: str, text: str) -> None:
    """Write a short text."""
    with target.open(name) as file:
        file.write(text.encode())


def write_tables(target: Target, tables: Sequence[Rows], told: Told) -> None:
    """Write each table as a CSV file; `told` is called after every row."""
    for table in tables:
        with target.open(f"csv/{table.name}.csv") as file:
            _write_csv(file, table, told)


def write_document(
    target: Target, name: str, head: Mapping[str, Any], tables: Sequence[Rows], told: Told
) -> None:
    """Write one JSON document: what stands in `head`, and `tables` with the rows of each by its name."""
    with target.open(name) as file:
        file.write(b"{\n")
        for key, value in head.items():
            file.write(f"{json.dumps(key)}: {_json(value)},\n".encode())
        file.write(b'"tables": {')
        for number, table in enumerate(tables):
            file.write(f"{',' if number else ''}\n{json.dumps(table.name)}: [".encode())
            for row_number, row in enumerate(table):
                file.write(f"{',' if row_number else ''}\n{_json(row)}".encode())
                told()
            file.write(b"\n]")
        file.write(b"\n}\n}\n")


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _write_csv(file: IO[bytes], table: Rows, told: Told) -> None:
    text = io.TextIOWrapper(file, encoding="utf-8", newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.columns)
    for row in table:
        writer.writerow([_cell(value) for value in row.values()])
        told()
    text.flush()
    text.detach()


def _cell(value: Any) -> Any:
    """A value as a cell: nothing for none, true and false in words, lists and maps as JSON."""
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict | list) else value


def write_files(target: Target, files: Iterable[tuple[str, Path]], told: Told) -> list[str]:
    """Copy files under their names; gives the names of those that were not there to be copied."""
    missing = []
    for name, source in files:
        if source.is_file():
            target.copy(name, source)
        else:
            missing.append(name)
        told()
    return missing
