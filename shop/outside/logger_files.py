"""The files that temperature loggers write, taken apart by `csv` into numbered rows (RFC 4180).

Cells may be parted by commas, semicolons or tabs. What the cells mean is `shop.rules.logger_files`.
"""

import csv
import io
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from itertools import islice

DELIMITERS = ";\t,"
# By so many of its first lines a file shows what its cells are parted by.
SAMPLE = 30
UNTOLD = "From here on the cells cannot be told apart: a quote does not end, or a cell is far too long."


class FileUnreadable(ValueError):
    """The file cannot be taken apart; `line` is where it broke, 0 for the whole. The text is a sentence."""

    def __init__(self, says: str, line: int = 0) -> None:
        super().__init__(says)
        self.line = line


def rows_of(body: bytes) -> Iterator[tuple[int, list[str]]]:
    """Every row with the number of the line it begins on, blank lines left out.

    Raises `FileUnreadable` for what is not UTF-8 text, and for quotes that do not match.
    """
    text = _text_of(body)
    return _rows(text, _delimiter_of(text))


def _text_of(body: bytes) -> str:
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = body.count(b"\n", 0, fault.start) + 1
        raise FileUnreadable("This is not UTF-8 text; export the file as CSV in UTF-8.", line) from fault
    if "\0" in text:
        raise FileUnreadable("This is not plain text; export the file as CSV in UTF-8.")
    return text


def _rows(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as fault:
            raise FileUnreadable(UNTOLD, line) from fault
        if cells:
            yield line, cells


def _delimiter_of(text: str) -> str:
    """What parts the cells: what splits the most of the first lines into the same number of cells."""

    def agreeing(delimiter: str) -> int:
        widths: Counter[int] = Counter()
        with suppress(FileUnreadable):  # said when the file is read in earnest
            widths.update(len(cells) for _, cells in islice(_rows(text, delimiter), SAMPLE) if len(cells) > 1)
        return max(widths.values(), default=0)

    return max(DELIMITERS, key=agreeing)
