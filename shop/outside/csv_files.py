"""Files of comma- or semicolon-separated values, taken apart by `csv` as they are read (RFC 4180).

A file is read as a stream, so that its size costs no memory. The text is UTF-8, with or without a mark at its
beginning; what parts the cells is told from the first line. An apostrophe that keeps a text from being run as
a formula (`shop.outside.spreadsheets`) is taken off. What the cells mean is `shop.rules.imports`.
"""

import csv
import os
from collections.abc import Iterator
from itertools import count
from typing import BinaryIO, Protocol

from shop.outside.spreadsheets import unguarded

SEPARATORS = ",;"
MOST_LINE_BYTES = 100_000


class Reader(Protocol):
    """What `csv.reader` gives: rows, and how many lines they took so far."""

    line_num: int

    def __next__(self) -> list[str]:
        """The next row."""


class CsvFault(ValueError):
    """A file that cannot be taken apart from some line on (0: as a whole). The text is a sentence."""

    def __init__(self, says: str, line: int = 0) -> None:
        super().__init__(says)
        self.line = line


class CsvFile:
    """The rows of one file, which may be walked again and again; blank lines are left out."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._size = file.seek(0, os.SEEK_END)

    def share(self) -> float:
        """How much of the file has been read, from 0 to 1."""
        return self._file.tell() / self._size if self._size else 1.0

    def __iter__(self) -> Iterator[tuple[int, list[str]]]:
        """Every row from the first on, each time anew. Raises `CsvFault` and `OSError`."""
        self._file.seek(0)
        separator = _separator_of(self._file.readline(MOST_LINE_BYTES))
        self._file.seek(0)
        return _rows(csv.reader(_lines(self._file), delimiter=separator, strict=True))


def _separator_of(first: bytes) -> str:
    """What parts the cells of the first line: what is found there more often, outside of quotes."""
    outside = b"".join(first.split(b'"')[::2])
    return max(SEPARATORS, key=lambda separator: outside.count(separator.encode()))


def _lines(file: BinaryIO) -> Iterator[str]:
    """The lines as text; a line that does not end is not waited for."""
    for number in count(1):
        line = file.readline(MOST_LINE_BYTES)
        if not line:
            return
        if len(line) == MOST_LINE_BYTES:
            raise CsvFault(f"This line has more than {MOST_LINE_BYTES:,} bytes.", number)
        try:
            text = line.decode("utf-8-sig" if number == 1 else "utf-8")
        except UnicodeDecodeError as fault:
            raise CsvFault(
                "This is not UTF-8 text; export the file again as CSV in UTF-8.", number
            ) from fault
        if "\0" in text:
            raise CsvFault("This is not plain text; export the file again as CSV in UTF-8.", number)
        yield text


def _rows(reader: Reader) -> Iterator[tuple[int, list[str]]]:
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as fault:
            says = "From here on the cells cannot be told apart: a quote does not end, or stands in a cell."
            raise CsvFault(says, line) from fault
        if any(cells):
            yield line, [unguarded(cell) for cell in cells]
