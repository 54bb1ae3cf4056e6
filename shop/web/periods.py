"""Periods of whole days, as lists and sums at the desk are asked for: read, shown again, given as a file."""

from datetime import date, timedelta
from typing import Annotated, NamedTuple

from fastapi import Depends, Query
from starlette.responses import Response

from shop.outside.spreadsheets import MEDIA_TYPE
from shop.rules.refusals import BadInput
from shop.rules.totals import faults_of_period
from shop.web.forms import Fields, FormView

Day = Annotated[str, Query(max_length=40)]


class Period(NamedTuple):
    """A period of whole days, both included."""

    first: date
    last: date

    @property
    def query(self) -> str:
        """The period in an address."""
        return f"from={self.first}&until={self.last}"


class TypedPeriod(NamedTuple):
    """The two days of a period as typed behind an address; empty where nothing was."""

    first: str
    last: str

    def read(self) -> Period:
        """The period. Raises `BadInput` by field."""
        return _read({"from": self.first, "until": self.last})

    def or_usual(self, usual: Period) -> tuple[Period, FormView, int]:
        """The period, its form and the answer's status; one that cannot be gives way to the usual one."""
        typed = {"from": self.first or usual.first.isoformat(), "until": self.last or usual.last.isoformat()}
        try:
            return _read(typed), FormView(typed), 200
        except BadInput as bad:
            return usual, FormView(typed, bad.errors), 422


def _typed(begin: Annotated[Day, Query(alias="from")] = "", until: Day = "") -> TypedPeriod:
    return TypedPeriod(begin, until)


# What a handler takes that is asked for a period.
AskedPeriod = Annotated[TypedPeriod, Depends(_typed)]


def _read(typed: dict[str, str]) -> Period:
    fields = Fields(typed)
    first = fields.required("from", "The first day", fields.day("from", "The first day"))
    last = fields.required("until", "The last day", fields.day("until", "The last day"))
    fields.done()
    assert first is not None
    assert last is not None
    if errors := faults_of_period(first, last):
        raise BadInput(errors)
    return Period(first, last)


def quarter_of(today: date) -> Period:
    """The quarter of the year that a day lies in."""
    first = date(today.year, 3 * ((today.month - 1) // 3) + 1, 1)
    after = date(first.year + first.month // 10, (first.month + 2) % 12 + 1, 1)
    return Period(first, after - timedelta(days=1))


def csv_of_period(name: str, period: Period, text: str) -> Response:
    """A period's CSV as a file to keep, which no cache keeps."""
    file_name = f"{name}-{period.first}-{period.last}.csv"
    headers = {"content-disposition": f'attachment; filename="{file_name}"', "cache-control": "no-store"}
    return Response(text, media_type=MEDIA_TYPE, headers=headers)
