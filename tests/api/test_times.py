"""Times go in as RFC 3339 with an offset and come out in UTC; anything else is refused."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.web.api.times import EARLIEST, read_instant, utc_text
from tests.api.conftest import Program

# The test clock stands at 2026-03-02 09:00 UTC.
TAKEN = [
    ("2026-03-02T09:00:00Z", "2026-03-02T09:00:00Z"),
    ("2026-03-02T09:00:00+00:00", "2026-03-02T09:00:00Z"),
    ("2026-03-02T09:00:00-00:00", "2026-03-02T09:00:00Z"),
    ("2026-03-02T10:00:00+01:00", "2026-03-02T09:00:00Z"),
    ("2026-03-01T23:00:00-10:00", "2026-03-02T09:00:00Z"),
    ("2026-03-02T14:30:00+05:30", "2026-03-02T09:00:00Z"),
    ("2026-03-02t08:59:59.5z", "2026-03-02T08:59:59.500000Z"),
    ("2026-03-02T08:59:59.123456789Z", "2026-03-02T08:59:59.123456Z"),
    ("1970-01-01T00:00:00Z", "1970-01-01T00:00:00Z"),
]
REFUSED: list[Any] = [
    "2026-03-02T09:00:00", "2026-03-02", "2026-03-02 09:00:00Z", "09:00", "now", "", " 2026-03-02T09:00:00Z ",
    "2026-03-02T09:00Z", "20260302T090000Z", "2026-03-02T09:00:00+1", "2026-03-02T09:00:00+0100",
    "2026-02-30T09:00:00Z", "2026-03-02T24:00:00Z", "2026-03-02T09:00:60Z", "2026-03-02T09:00:00+24:00",
    "2026-W10-1T09:00:00Z", "1969-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", "0000-01-01T00:00:00Z",
    "２０２６-03-02T09:00:00Z", 1700000000, 1700000000.5, "1700000000", True, [], {},
]  # fmt: skip


@pytest.mark.parametrize(("sent", "given_back"), TAKEN)
def test_a_time_with_its_offset_is_taken_and_given_back_in_utc(
    desk: Program, sent: str, given_back: str
) -> None:
    assert desk.post("/mixes", adhesive_id=1, zone_id=1, mixed_at=sent)["mixed_at"] == given_back


@pytest.mark.parametrize("sent", REFUSED, ids=repr)
def test_what_is_no_time_of_rfc_3339_is_refused(desk: Program, sent: object) -> None:
    problem = desk.assert_refused(422, "/mixes", adhesive_id=1, zone_id=1, mixed_at=sent)
    assert [error["field"] for error in problem["errors"]] == ["mixed_at"]


@pytest.mark.parametrize("sent", ["2026-03-02T09:00:00.000001Z", "9999-12-31T23:59:59Z"])
def test_a_time_in_the_future_is_refused(desk: Program, sent: str) -> None:
    problem = desk.assert_refused(422, "/mixes", adhesive_id=1, zone_id=1, mixed_at=sent)
    assert "in the future" in problem["detail"]


def test_the_last_instant_there_is_does_not_overflow(desk: Program) -> None:
    problem = desk.assert_refused(
        422, "/mixes", adhesive_id=1, zone_id=1, mixed_at="9999-12-31T23:59:59-14:00"
    )
    assert problem["errors"] == [{"field": "mixed_at", "detail": "Is not an instant that exists."}]


@pytest.mark.parametrize(
    "sent", ["2026-4-17", "17.4.2026", "2026-02-30", 20260417, "2026-04-17T00:00:00", True]
)
def test_what_is_no_day_is_refused(desk: Program, sent: object) -> None:
    problem = desk.assert_refused(
        422, "/builds", customer_id=1, title="7 ft", sequence_id=1, promised_on=sent
    )
    assert [error["field"] for error in problem["errors"]] == ["promised_on"]


@given(
    st.datetimes(min_value=datetime(1971, 1, 1), max_value=datetime(9998, 1, 1)),  # noqa: DTZ001
    st.integers(min_value=-23 * 60, max_value=23 * 60),
)
def test_any_instant_in_any_offset_comes_back_the_same(local: datetime, offset_minutes: int) -> None:
    offset = timedelta(minutes=offset_minutes)
    sign, away = "-" if offset_minutes < 0 else "+", abs(offset_minutes)
    text = f"{local.isoformat()}{sign}{away // 60:02d}:{away % 60:02d}"
    read = read_instant(text)
    assert read == local.replace(tzinfo=UTC) - offset
    assert read >= EARLIEST
    assert read_instant(utc_text(read)) == read
