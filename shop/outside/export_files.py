"""An export read back: its document row by row, whatever its size, and its photos one at a time.

The document is taken apart by Python's own JSON decoder, which is handed a stretch of it at a time; so it may
be laid out in any way, as long as its tables come last.
"""

import io
import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, Any

TABLES = "tables"
STRETCH = 65_536
MOST_ROW = 16_000_000


class NoExport(ValueError):
    """What lies there is no export, or a broken one. The text is a sentence."""


class Document:
    """The JSON document: `head` is what stands before the tables; `rows` may be walked once."""

    def __init__(self, file: IO[bytes], size: int = 0) -> None:
        self._size, self._read = size, 0
        self._text = io.TextIOWrapper(file, encoding="utf-8")
        self._buffer = ""
        self._at = 0
        self._decoder = json.JSONDecoder()
        self.head: dict[str, Any] = {}
        self._expect("{")
        while (key := self._value()) != TABLES:
            self._expect(":")
            self.head[str(key)] = self._value()
            self._expect(",")
        self._expect(":")

    def share(self) -> float:
        """How much of the document has been read, from 0 to 1; of a size that is not known, none."""
        return self._read / self._size if self._size else 0.0

    def rows(self) -> Iterator[tuple[str, dict[str, Any]]]:
        """Every row with the name of its table, in the order of the file. Raises `NoExport`."""
        self._expect("{")
        while self._peek() != "}":
            table = str(self._value())
            self._expect(":")
            self._expect("[")
            while self._peek() != "]":
                row = self._value()
                if not isinstance(row, dict):
                    raise NoExport(f"A row of {table} is not one.")
                yield table, row
                self._separator("]")
            self._expect("]")
            self._separator("}")
        self._expect("}")
        self._expect("}")
        if self._peek():
            raise NoExport("Something follows the document of the export; it is not as it was written.")

    def _separator(self, last: str) -> None:
        if self._peek() != last:
            self._expect(",")

    def _expect(self, sign: str) -> None:
        if self._peek() != sign:
            raise NoExport("The document of the export breaks off, or is not one of ours.")
        self._at += 1

    def _peek(self) -> str:
        """The next sign that is no white space; empty at the end."""
        while True:
            while self._at < len(self._buffer) and self._buffer[self._at] in " \t\r\n":
                self._at += 1
            if self._at < len(self._buffer):
                return self._buffer[self._at]
            if not self._read_on():
                return ""

    def _value(self) -> Any:
        self._peek()
        while True:
            try:
                value, end = self._decoder.raw_decode(self._buffer, self._at)
            except (ValueError, RecursionError) as fault:
                if not self._read_on():
                    raise NoExport("The document of the export breaks off, or is not JSON.") from fault
                continue
            # A number may go on beyond what has been read.
            if end < len(self._buffer) or not self._read_on():
                self._at = end
                return value

    def _read_on(self) -> bool:
        """Take in a further stretch, as long as what is held already: a long row is not tried anew often."""
        kept = self._buffer[self._at :]
        if len(kept) > MOST_ROW:
            raise NoExport(f"A row of the export has more than {MOST_ROW:,} characters.")
        try:
            more = self._text.read(max(STRETCH, len(kept)))
        except UnicodeDecodeError as fault:
            raise NoExport("The document of the export is not UTF-8 text.") from fault
        except (zipfile.BadZipFile, EOFError) as fault:
            raise NoExport("The export is broken: its zip file does not hold what it says.") from fault
        if more:
            self._buffer, self._at = kept + more, 0
            self._read += len(more)
        return bool(more)


class ExportFiles:
    """The files of an export, by their names in it."""

    def __init__(self, root: Path | zipfile.ZipFile) -> None:
        self._root = root

    def open(self, name: str) -> IO[bytes]:
        """One file to be read. Raises `NoExport` where it is missing, and `OSError`."""
        try:
            if isinstance(self._root, zipfile.ZipFile):
                return self._root.open(name)
            return (self._root / name).open("rb")
        except (KeyError, FileNotFoundError, NotImplementedError, RuntimeError, zipfile.BadZipFile) as fault:
            raise NoExport(f"There is no {name} in it that can be read.") from fault

    def size(self, name: str) -> int:
        """How many bytes a file of it has; 0 for one that is missing."""
        if isinstance(self._root, zipfile.ZipFile):
            return sum(entry.file_size for entry in self._root.infolist() if entry.filename == name)
        return (self._root / name).stat().st_size if (self._root / name).is_file() else 0

    def photos(self) -> Iterator[str]:
        """The names of the files below `photos/`, in order."""
        if isinstance(self._root, zipfile.ZipFile):
            yield from sorted(
                name for name in self._root.namelist() if PurePosixPath(name).parts[:1] == ("photos",)
            )
        else:
            found = (path for path in self._root.glob("photos/*/*") if path.is_file())
            yield from sorted(path.relative_to(self._root).as_posix() for path in found)


@contextmanager
def export_from(path: Path) -> Iterator[ExportFiles]:
    """The export at a path, a folder or a zip file. Raises `NoExport` and `OSError`."""
    if path.is_dir():
        yield ExportFiles(path)
        return
    try:
        archive = zipfile.ZipFile(path)
    except zipfile.BadZipFile as fault:
        raise NoExport(f"{path} is neither a folder nor a zip file.") from fault
    with archive:
        yield ExportFiles(archive)
