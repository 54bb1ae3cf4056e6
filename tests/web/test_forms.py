"""What is typed into fields: each kind read, every fault gathered, and nothing typed lost."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.queries.customers import customers_after
from shop.rules.people import Role
from shop.rules.refusals import BadInput
from shop.web.deps import Hub, Posted
from shop.web.forms import Fields

OSLO = ZoneInfo("Europe/Oslo")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")


def read(value: str) -> Fields:
    return Fields({"it": value})


def sentence(fields: Fields) -> str:
    """The one fault of the field `it`; fails where there is none."""
    assert list(fields.errors) == ["it"]
    return fields.errors["it"]


@pytest.mark.parametrize(
    ("value", "number"),
    [
        ("", None), ("0", 0.0), ("12", 12.0), ("12.5", 12.5), ("12,5", 12.5), ("-3", -3.0), ("−3", -3.0),
        ("+3", 3.0), (".5", 0.5), ("5.", 5.0), ("-10", -10.0), ("40", 40.0),
    ],
)  # fmt: skip
def test_a_number_is_read(value: str, number: float | None) -> None:
    fields = read(value)
    assert fields.number("it", "The figure", -10, 40) == number
    assert fields.errors == {}


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("-10.01", "The figure must lie between -10 and 40."),
        ("40.01", "The figure must lie between -10 and 40."),
        ("1" * 400, "The figure must lie between -10 and 40."),
        ("nan", "The figure must be a number; “nan” is not one."),
        ("inf", "The figure must be a number; “inf” is not one."),
        ("1e1", "The figure must be a number; “1e1” is not one."),
        ("1_0", "The figure must be a number; “1_0” is not one."),
        ("1.2.3", "The figure must be a number; “1.2.3” is not one."),
        ("12 °C", "The figure must be a number; “12 °C” is not one."),
        (".", "The figure must be a number; “.” is not one."),
        # Digits of other scripts: Python would read them, a person at the bench may not.
        ("٣", "The figure must be a number; “٣” is not one."),
        ("１２", "The figure must be a number; “１２” is not one."),
        ("3.٣", "The figure must be a number; “3.٣” is not one."),
    ],
)
def test_what_is_no_number_or_out_of_range_is_said(value: str, says: str) -> None:
    fields = read(value)
    assert fields.number("it", "The figure", -10, 40) is None
    assert sentence(fields) == says


@pytest.mark.parametrize(
    ("value", "number", "says"),
    [
        ("7", 7, ""), ("7.0", 7, ""), ("", None, ""), ("7.5", None, "The count must be a whole number."),
        ("0", None, "The count must lie between 1 and 9."), ("ten", None, "The count must be a number; "),
    ],
)  # fmt: skip
def test_a_whole_number(value: str, number: int | None, says: str) -> None:
    fields = read(value)
    assert fields.whole("it", "The count", 1, 9) == number
    assert fields.errors.get("it", "").startswith(says)
    assert bool(fields.errors) == bool(says)


@pytest.mark.parametrize(
    ("value", "chosen", "says"),
    [
        ("3", 3, ""),
        ("", 0, "The zone is missing; please choose one."),
        ("bench", 0, "The zone is not one of the list; please choose one."),
        ("0", 0, "The zone is not one of the list; please choose one."),
    ],
)
def test_something_chosen_from_a_list(value: str, chosen: int, says: str) -> None:
    fields = read(value)
    assert fields.chosen("it", "The zone") == chosen
    assert fields.errors == ({"it": says} if says else {})


@pytest.mark.parametrize(
    ("value", "cents"),
    [("", None), ("18", 1800), ("18.5", 1850), ("18.50", 1850), ("18,05", 1805), ("0.01", 1), ("0", 0)],
)
def test_money_is_read_as_whole_cents(value: str, cents: int | None) -> None:
    fields = read(value)
    assert fields.cents("it", "The price") == cents
    assert fields.errors == {}


@pytest.mark.parametrize("value", ["18.505", "-1", "1 000", "EUR 5", "1e3", "999999999", "18.", "١٨", "18.٥"])
def test_what_is_no_amount_of_money_is_said(value: str) -> None:
    fields = read(value)
    assert fields.cents("it", "The price") is None
    assert sentence(fields) == f"The price must be an amount such as 18.50; “{value}” is not one."


def test_lengths_and_temperatures_are_read_with_their_own_sentences() -> None:
    assert read("8 3/16 in").length_nm("it") == 207_962_500
    assert read("207.9625 mm").length_nm("it") == 207_962_500
    assert read("").length_nm("it") is None
    assert read("21 °C").celsius("it") == 21.0
    assert read("").celsius("it") is None
    for fields in (read("a bit"), read("3 cubits")):
        assert fields.length_nm("it") is None
        assert sentence(fields).endswith(".")
    warm = read("warm")
    assert warm.celsius("it") is None
    assert sentence(warm).endswith(".")


@pytest.mark.parametrize(("value", "day"), [("", None), ("2026-03-14", date(2026, 3, 14))])
def test_a_day_is_read(value: str, day: date | None) -> None:
    fields = read(value)
    assert fields.day("it", "The promised day") == day
    assert fields.errors == {}


@pytest.mark.parametrize("value", ["14.3.2026", "2026-02-29", "2026-13-01", "soon", "2026-03-14T09:00"])
def test_what_is_no_day_is_said(value: str) -> None:
    fields = read(value)
    assert fields.day("it", "The promised day") is None
    assert sentence(fields) == f"The promised day must be a day such as 2026-03-14; “{value}” is not one."


@pytest.mark.parametrize(
    ("value", "instant"),
    [
        ("", None),
        ("2026-03-14T09:05", datetime(2026, 3, 14, 8, 5, tzinfo=UTC)),
        ("2026-03-14T09:05:30", datetime(2026, 3, 14, 8, 5, 30, tzinfo=UTC)),
        ("2026-07-14T09:05", datetime(2026, 7, 14, 7, 5, tzinfo=UTC)),
        ("2026-03-14 09:05", datetime(2026, 3, 14, 8, 5, tzinfo=UTC)),
        ("2026-03-14T09:05+05:00", datetime(2026, 3, 14, 4, 5, tzinfo=UTC)),
        ("2026-03-14T09:05Z", datetime(2026, 3, 14, 9, 5, tzinfo=UTC)),
        # IANA: Oslo's clocks go from 02:00 to 03:00 on 29 March 2026; the minutes on either side exist.
        ("2026-03-29T01:59", datetime(2026, 3, 29, 0, 59, tzinfo=UTC)),
        ("2026-03-29T03:00", datetime(2026, 3, 29, 1, 0, tzinfo=UTC)),
        # With its offset even a time of the skipped hour is an instant.
        ("2026-03-29T02:30+01:00", datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
    ],
)
def test_an_instant_is_the_shop_s_local_time(value: str, instant: datetime | None) -> None:
    fields = read(value)
    assert fields.instant("it", "The time", OSLO) == instant
    assert fields.errors == {}


@pytest.mark.parametrize(
    ("value", "zone"),
    [
        ("2026-03-29T02:00", OSLO),
        ("2026-03-29T02:59", OSLO),
        # IANA: Lord Howe's clocks go from 02:00 to 02:30 on 4 October 2026.
        ("2026-10-04T02:00", LORD_HOWE),
        ("2026-10-04T02:29", LORD_HOWE),
    ],
)
def test_a_time_that_the_clocks_skipped_is_refused(value: str, zone: ZoneInfo) -> None:
    fields = read(value)
    assert fields.instant("it", "The time", zone) is None
    assert sentence(fields) == "The time: the clocks were put forward then, so that time did not exist."


FIRST_TIME = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
SECOND_TIME = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("latest", "instant"),
    [
        (None, FIRST_TIME),
        (datetime(2026, 10, 25, 12, 0, tzinfo=UTC), SECOND_TIME),
        (SECOND_TIME, SECOND_TIME),
        (datetime(2026, 10, 25, 1, 29, tzinfo=UTC), FIRST_TIME),
        (datetime(2026, 10, 25, 0, 40, tzinfo=UTC), FIRST_TIME),
    ],
)
def test_of_a_time_that_came_twice_the_careful_one_is_taken(
    latest: datetime | None, instant: datetime
) -> None:
    assert read("2026-10-25T02:30").instant("it", "The time", OSLO, latest) == instant
    plain = read("2026-10-25T03:30").instant("it", "The time", OSLO, latest)
    assert plain == datetime(2026, 10, 25, 2, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "value", ["2026-03-14", "20260314", "half past nine", "09:05", "2026-03-14T25:00", "0001-01-01T00:00"]
)
def test_what_is_no_date_and_time_is_said(value: str) -> None:
    fields = read(value)
    assert fields.instant("it", "The time", OSLO) is None
    assert sentence(fields) == f"The time must be a date and time; “{value}” is not one."


def test_text_is_taken_as_typed_or_said_to_be_missing_or_too_long() -> None:
    assert read("a note").text("it", "The note", 6) == "a note"
    assert read("").text("it", "The note", 6) == ""
    for value, required, says in (
        ("", True, "The note is missing; please fill it in."),
        ("a notes", False, "The note has 7 characters; at most 6 fit."),
        ("a\0b", False, "The note has a character in it that cannot be kept; please type it again."),
    ):
        fields = read(value)
        fields.text("it", "The note", 6, required)
        assert sentence(fields) == says


def test_a_choice_is_one_of_a_few_words() -> None:
    assert read("firm").choice("it", "The puddle", ("firm", "tacky")) == "firm"
    fields = read("sticky")
    fields.choice("it", "The puddle", ("firm", "tacky"))
    assert sentence(fields) == "The puddle must be one of firm, tacky."


def test_every_fault_is_gathered_before_any_is_raised() -> None:
    fields = Fields({"price": "dear", "count": "1.5"})
    fields.required("price", "The price", fields.cents("price", "The price"))
    fields.whole("count", "The count", 1, 9)
    fields.required("day", "The day", fields.day("day", "The day"))
    with pytest.raises(BadInput) as bad:
        fields.done()
    assert bad.value.errors == {
        "price": "The price must be an amount such as 18.50; “dear” is not one.",
        "count": "The count must be a whole number.",
        "day": "The day is missing; please fill it in.",
    }
    Fields({}).done()


def test_a_posted_form_keeps_every_value_of_a_repeated_field() -> None:
    posted = Posted([("tick", "a"), ("note", "hm"), ("tick", "b")])
    assert posted["tick"] == "b"
    assert posted.all("tick") == ["a", "b"]
    assert posted.all("none") == []


def test_a_form_that_cannot_be_taken_comes_back_as_it_was_typed_and_writes_nothing(
    signed_in: Callable[[Role], TestClient], hub: Hub
) -> None:
    typed = {"name": "  ", "email": "ada@example.org", "phone": "55 12 <b>", "notes": "left-handed"}
    answer = signed_in(Role.BUILDER).post("/desk/customers/new", data=typed)
    assert answer.status_code == 422
    for kept in ("ada@example.org", "55 12 &lt;b&gt;", "left-handed"):
        assert kept in answer.text
    assert 'aria-invalid="true"' in answer.text
    with hub.database.reading() as session:
        assert customers_after(session, 0, 10) == []
