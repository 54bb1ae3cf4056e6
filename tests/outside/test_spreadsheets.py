"""CSV as other programs read it: by the standard library's reader, with nothing that runs as a formula."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.outside.spreadsheets import Cell, amount_of, csv_text


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_a_table_is_written_by_the_book() -> None:
    rows: list[list[Cell]] = [
        ["26-001", 'the "good" one, 7 ft', date(2026, 3, 14), amount_of(777_34), 3, None],
    ]
    text = csv_text(["number", "title", "day", "total", "guides", "note"], rows)
    # RFC 4180: lines end with CRLF, quotes are doubled, a field with a comma stands in quotes.
    assert text == (
        'number,title,day,total,guides,note\r\n26-001,"the ""good"" one, 7 ft",2026-03-14,777.34,3,\r\n'
    )


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-2", "@cmd", "\t=1", "\r=1", "\n=1", '=HYPERLINK("x")', "\uff1d1"]
)
def test_text_that_begins_like_a_formula_is_guarded(text: str) -> None:
    assert read(csv_text([text], [[text]])) == [[f"'{text}"], [f"'{text}"]]


@pytest.mark.parametrize(
    ("cents", "written"),
    [(0, "0.00"), (5, "0.05"), (-12_50, "-12.50"), (100_000_000_00, "100000000.00"), (None, "")],
)
def test_an_amount_is_a_number_with_a_point(cents: int | None, written: str) -> None:
    assert read(csv_text(["amount", "x"], [[amount_of(cents), 1]]))[1][0] == written
    assert cents is None or Decimal(written) * 100 == cents


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.text(max_size=8), min_size=2, max_size=2), max_size=5))
def test_whatever_was_typed_is_read_back(rows: list[list[str]]) -> None:
    back = read(csv_text(["one", "two"], rows))
    assert [[cell.removeprefix("'") for cell in row] for row in back[1:]] == [
        [cell.removeprefix("'") for cell in row] for row in rows
    ]
