"""Builds: the printed number by the shop's own year, what a plan may be, and what never changes of one."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import (
    BuildView,
    build_record,
    build_view,
    builds_of_customer,
    finished_builds,
    open_builds,
)
from shop.queries.sequences import sequence_record
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.refusals import BadInput, NotOnFile
from shop.services.bench import Signer
from shop.services.builds import change_build, take_on_build
from shop.services.customers import add_customer
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import START

RUTH = Signer(START, Actor("Ruth", ROLE_RIGHTS[Role.OWNER]))


@pytest.fixture
def shop(session: Session) -> Session:
    fill(session, START)
    return session


def take_on(session: Session, now: datetime = START, zone: str = "UTC", **plan: Any) -> BuildView:
    told: dict[str, Any] = {
        "customer_id": CUSTOMER, "title": "7 ft casting", "rod_kind": "casting", "sequence_id": SEQUENCE,
        **plan,
    }  # fmt: skip
    number = take_on_build(session, now=now, zone=ZoneInfo(zone), **told).number
    return build_view(session, number)


# Hobart is at UTC+11 in summer: its year 2027 begins at 13:00 UTC on 31 December 2026.
@pytest.mark.parametrize(
    ("now", "zone", "number"),
    [
        (datetime(2026, 12, 31, 23, 59, 59, tzinfo=UTC), "UTC", "26-001"),
        (datetime(2027, 1, 1, tzinfo=UTC), "UTC", "27-001"),
        (datetime(2026, 12, 31, 12, 59, 59, tzinfo=UTC), "Australia/Hobart", "26-001"),
        (datetime(2026, 12, 31, 13, tzinfo=UTC), "Australia/Hobart", "27-001"),
        (datetime(2105, 6, 1, tzinfo=UTC), "UTC", "05-001"),
    ],
)
def test_the_number_is_of_the_shops_own_year(shop: Session, now: datetime, zone: str, number: str) -> None:
    assert take_on(shop, now, zone).number == number


def test_numbers_run_on_through_the_year_and_begin_anew_with_the_next(shop: Session) -> None:
    year = timedelta(days=365)
    assert [take_on(shop).number for _ in range(3)] == ["26-001", "26-002", "26-003"]
    assert take_on(shop, START + year).number == "27-001"
    assert take_on(shop).number == "26-004"


def test_a_new_build_has_reached_nothing_and_is_open(shop: Session) -> None:
    build = take_on(shop, promised_on=date(2026, 4, 2), thread_colour="#1f4e7a", notes="left hand")
    assert (build.stage, build.pass_number, build.closed_at) == (None, 1, None)
    assert (build.customer, build.promised_on, build.thread_colour) == (
        "Ada Thorn", date(2026, 4, 2), "#1f4e7a",
    )  # fmt: skip
    assert build.notes == "left hand"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("title", "  "), ("rod_kind", "kite"), ("thread_colour", "red"), ("thread_colour", "#1F4E7A"),
        ("thread_colour", "#1f4e7a0"), ("thread_colour", "#1f4e7a\n"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_is_refused_by_its_field(shop: Session, field: str, value: str) -> None:
    plan: dict[str, Any] = {field: value}
    with pytest.raises(BadInput) as refused:
        take_on(shop, **plan)
    assert list(refused.value.errors) == [field]
    assert open_builds(shop) == []


@pytest.mark.parametrize("field", ["customer_id", "sequence_id", "blank_id"])
def test_what_is_not_on_file_is_said(shop: Session, field: str) -> None:
    plan: dict[str, Any] = {field: 99}
    with pytest.raises(NotOnFile):
        take_on(shop, **plan)


def test_a_retired_sequence_takes_no_new_build(shop: Session) -> None:
    sequence_record(shop, SEQUENCE).retired_at = START
    with pytest.raises(BadInput) as refused:
        take_on(shop)
    assert "retired" in refused.value.errors["sequence_id"]


def test_a_change_keeps_what_it_does_not_name(shop: Session) -> None:
    other = add_customer(shop, now=START, name="Bo Lind").id
    before = take_on(shop, promised_on=date(2026, 4, 2), notes="left hand")
    change_build(
        shop, before.number, RUTH, customer_id=other, promised_on=None, promise_reason="The blank is late."
    )
    after = build_view(shop, before.number)
    assert (after.customer, after.promised_on) == ("Bo Lind", None)
    assert (after.title, after.notes, after.sequence_id) == (before.title, "left hand", before.sequence_id)


@pytest.mark.parametrize(
    ("changes", "refusal"),
    [
        ({"title": ""}, BadInput), ({"thread_colour": "blue"}, BadInput), ({"customer_id": 99}, NotOnFile),
        ({"blank_id": 99}, NotOnFile),
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_leaves_the_plan(
    shop: Session, changes: dict[str, Any], refusal: type[Exception]
) -> None:
    before = take_on(shop)
    with pytest.raises(refusal):
        change_build(shop, before.number, RUTH, **changes)
    assert build_view(shop, before.number) == before


def test_a_build_that_is_not_on_file_is_not_changed(shop: Session) -> None:
    with pytest.raises(NotOnFile):
        change_build(shop, "26-099", RUTH, title="8 ft")


def test_open_builds_come_by_promise_and_undated_ones_last(shop: Session) -> None:
    take_on(shop, title="whenever")
    take_on(shop, title="later", promised_on=date(2026, 5, 1))
    take_on(shop, title="overdue", promised_on=date(2026, 2, 1))
    assert [build.title for build in open_builds(shop)] == ["overdue", "later", "whenever"]


def test_a_finished_build_leaves_the_open_ones_and_stays_with_its_customer(shop: Session) -> None:
    first = take_on(shop, title="first")
    take_on(shop, title="second")
    build_record(shop, first.number).closed_at = START
    shop.flush()
    assert [build.title for build in open_builds(shop)] == ["second"]
    assert [build.title for build in finished_builds(shop, before=99, most=9)] == ["first"]
    assert finished_builds(shop, before=first.id, most=9) == []
    assert [build.title for build in builds_of_customer(shop, CUSTOMER)] == ["second", "first"]
