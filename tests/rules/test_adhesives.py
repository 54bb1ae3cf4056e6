"""What the figures of an adhesive stand on: one rule, case by case."""

from datetime import UTC, date, datetime

import pytest

from shop.rules.adhesives import MARKS, READY_MADE_SOURCE, SheetState, mark_of, names_a_sheet, sheet_state

CLASS, SHEET = "five-minute epoxy", "revision 2"
DAY, AT = date(2026, 1, 15), datetime(2026, 3, 2, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("ready_made", "source", "sheet_date", "confirmed_at", "state"),
    [
        ("", SHEET, DAY, AT, SheetState.CONFIRMED),
        (CLASS, SHEET, DAY, AT, SheetState.CONFIRMED),
        ("", SHEET, DAY, None, SheetState.NOT_CONFIRMED),
        (CLASS, SHEET, DAY, None, SheetState.READY_MADE),
        (CLASS, READY_MADE_SOURCE, None, None, SheetState.READY_MADE),
        ("", "", None, None, SheetState.NOT_NAMED),
        ("", "", DAY, None, SheetState.NOT_NAMED),
        ("", " ", DAY, AT, SheetState.NOT_NAMED),
        ("", READY_MADE_SOURCE, DAY, AT, SheetState.NOT_NAMED),
        (CLASS, "", DAY, AT, SheetState.NOT_NAMED),
        ("", SHEET, None, None, SheetState.NOT_DATED),
        ("", SHEET, None, AT, SheetState.NOT_DATED),
        (CLASS, SHEET, None, AT, SheetState.NOT_DATED),
    ],
)
def test_figures_are_a_sheets_where_it_is_named_dated_and_stood_by(
    ready_made: str, source: str, sheet_date: date | None, confirmed_at: datetime | None, state: SheetState
) -> None:
    assert sheet_state(ready_made, source, sheet_date, confirmed_at) is state


def test_all_but_a_confirmed_sheet_is_marked_and_told_apart() -> None:
    marks = [MARKS[state] for state in SheetState]
    assert marks[0] == ""
    assert all(marks[1:])
    assert len(set(marks)) == len(SheetState)
    # As it is kept with a mix.
    assert [mark_of(state.value) for state in SheetState] == marks


@pytest.mark.parametrize(
    ("source", "names"), [("", False), ("  ", False), (f" {READY_MADE_SOURCE} ", False), ("revision 2", True)]
)
def test_a_source_names_a_sheet_where_it_says_more_than_that_there_is_none(source: str, names: bool) -> None:
    assert names_a_sheet(source) is names
