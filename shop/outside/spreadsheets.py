"""Tables as CSV for other programs (RFC 4180), safe to be opened in a spreadsheet.

A text cell that begins like a formula is written with an apostrophe before it, so that a title or a name that
somebody typed is never run as one. Numbers are written as they are, with a decimal point; days in ISO form.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

Cell = str | int | Decimal | date | None
# White space before the sign is dropped by some spreadsheets, which then see a formula; some read the wide
# signs of East Asian keyboards as the others.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
GUARD = "'"
MEDIA_TYPE = "text/csv; charset=utf-8; header=present"


def csv_text(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table with its head, lines ended by CRLF; none is an empty cell."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([_text(cell) for cell in head])
    writer.writerows([_text(cell) for cell in row] for row in rows)
    return out.getvalue()


def amount_of(cents: int | None) -> Decimal | None:
    """Whole cents as a decimal number of two places; none stays none."""
    return None if cents is None else Decimal(cents).scaleb(-2)


def guarded(text: str) -> str:
    """A text that no spreadsheet runs as a formula."""
    return GUARD + text if text.startswith(FORMULA_STARTS) else text


def unguarded(text: str) -> str:
    """The text that was guarded, so that what went out as CSV and comes in again is the same."""
    return text[1:] if text.startswith(GUARD) and text.startswith(FORMULA_STARTS, 1) else text


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return guarded(cell)
    return cell.isoformat() if isinstance(cell, date) else str(cell)
