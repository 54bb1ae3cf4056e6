"""What a logger's file says: its columns by their names, its lines in order, its faults by line."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop.rules.logger_files import MOST_LINES, MOST_SAID, FileFault, LoggerFile, find_columns, read_rows

NOW = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
HEAD = ["time", "celsius"]


def read(*rows: list[str], head: list[str] = HEAD, zone: ZoneInfo = BERLIN) -> LoggerFile:
    return read_rows(enumerate([head, *rows], 1), zone, NOW)


def times(*texts: str) -> list[str]:
    """The instants of lines with these local times, as hours and minutes in UTC."""
    file = read(*[[text, "20"] for text in texts])
    assert file.faults == []
    return [f"{at:%H:%M}" for at, _ in file.readings]


@pytest.mark.parametrize(
    ("head", "places", "unit"),
    [
        (["time", "celsius"], (0, 1, None), "C"),
        (["Temperature (°C)", "Timestamp"], (1, 0, None), "C"),
        (["No.", "Date", "Time", "Temp [F]", "Humidity %"], (2, 3, 1), "F"),
        (["date/time", "°F"], (0, 1, None), "F"),
        (["DATE", "Temperature °C", "Dew point °C"], (0, 1, None), "C"),
        (["Date Time, GMT+01:00", "Temp, °F"], (0, 1, None), "F"),
        (["at", "temperature_fahrenheit"], (0, 1, None), "F"),
        (["measured_at", "CH1 temperature"], (0, 1, None), "C"),
        (["time (UTC)", "air temp"], (0, 1, None), "C"),
    ],
)
def test_columns_are_found_by_their_names(
    head: list[str], places: tuple[int, int, int | None], unit: str
) -> None:
    found = find_columns(head)
    assert ((found.time, found.temperature, found.date), found.unit) == (places, unit)


@pytest.mark.parametrize(
    ("head", "says"),
    [
        (["time", "humidity"], "headed as the temperature; the head says “time”, “humidity”"),
        (["celsius"], "headed as the time;"),
        (["a", "b"], "headed as the time or the temperature;"),
        (["time", "temp 1", "temp 2"], "Two columns are headed as a temperature, “temp 1” and “temp 2”"),
        (["time", "timestamp", "temp"], "Two columns are headed as a time"),
        (["time", "dew point °C"], "headed as the temperature"),
        (["time, GMT+99", "temp"], "a time zone that there is not"),
    ],
)
def test_wrong_columns_are_said(head: list[str], says: str) -> None:
    with pytest.raises(FileFault) as refused:
        find_columns(head)
    assert says in str(refused.value)


def test_lines_before_the_head_are_let_be_within_reason() -> None:
    rows = [["serial", "7"]] * 19 + [HEAD, ["2026-03-02 09:00", "20"]]
    assert len(read_rows(enumerate(rows, 1), BERLIN, NOW).readings) == 1
    with pytest.raises(FileFault, match="the head says “serial”"):
        read_rows(enumerate([["serial", "7"], *rows], 1), BERLIN, NOW)


def test_a_reading_is_an_instant_and_celsius() -> None:
    file = read(["2026-03-02 09:00", "68"], ["2026-03-02T09:05:00Z", "20 °C"], head=["time", "°F"])
    assert file == LoggerFile(
        [
            (datetime(2026, 3, 2, 8, 0, tzinfo=UTC), 20.0),
            (datetime(2026, 3, 2, 9, 5, tzinfo=UTC), 20.0),
        ],
        [],
    )
    parted = read(["02.03.2026", "09:00", "20,5"], head=["Date", "Time", "Temp"])
    assert parted.readings == [(datetime(2026, 3, 2, 8, 0, tzinfo=UTC), 20.5)]


def test_the_head_may_say_the_time_zone() -> None:
    for head, hour in (("time (UTC)", 9), ("Date Time, GMT-05:00", 14), ("time utc+2", 7)):
        assert read(["2026-07-02 09:00", "20"], head=[head, "temp"]).readings[0][0].hour == hour


def test_the_hour_that_comes_twice_is_taken_in_the_order_of_the_file() -> None:
    night = ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00"]
    rising = [f"2026-10-25 {clock}" for clock in night]
    expected = ["23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]
    assert times(*rising) == expected
    assert times(*reversed(rising)) == expected[::-1]
    hourly = [f"2026-10-25 {clock}" for clock in ("01:00", "02:00", "02:00", "03:00")]
    assert times(*hourly) == ["23:00", "00:00", "01:00", "02:00"]


def test_the_hour_that_is_left_out_is_a_fault_of_its_line() -> None:
    file = read(["2026-03-29 01:59", "20"], ["2026-03-29 02:00", "20"], ["2026-03-29 03:00", "20"])
    assert file.readings == []
    assert file.faults == [
        (3, "The clocks were put forward then, so 2026-03-29 02:00 did not exist in Europe/Berlin.")
    ]
    assert times("2026-03-29 01:59", "2026-03-29 03:00") == ["00:59", "01:00"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (["noon", "20"], "is not a date and time"),
        (["03/04/2026 09:00", "20"], "export the file with ISO 8601"),
        (["", "20"], "It has no time."),
        (["2026-03-02 09:00", ""], "It has no temperature."),
        (["2026-03-02 09:00", "mild"], "“mild” is not a temperature"),
        (["2026-03-02 09:00", "NaN"], "“NaN” is not a temperature"),
        (["2026-03-02 09:00"], "It has 1 cell where the head has 2."),
        (["2026-03-02 09:00", "20", "5"], "a decimal comma needs semicolons"),
        (["2026-03-02 09:00", "80.1"], "one lies between -40 and 80"),
        (["2026-11-26 10:02", "20"], "comes from the future, 2 min ahead"),
        (["2024-11-25 09:00", "20"], "older than two years"),
    ],
)
def test_one_bad_line_keeps_all_of_the_file_out(row: list[str], says: str) -> None:
    file = read(["2026-03-02 08:00", "20"], row, ["2026-03-02 10:00", "20"])
    assert file.readings == []
    assert [(fault.line, says in fault.says) for fault in file.faults] == [(3, True)], file.faults


def test_empty_cells_at_the_end_and_empty_lines_are_no_fault() -> None:
    assert len(read(["2026-03-02 08:00", "20", "", " "], ["", ""], []).readings) == 1


def test_of_many_bad_lines_the_first_fifty_are_said_and_the_rest_counted() -> None:
    file = read(*[["noon", "20"]] * (MOST_SAID + 7))
    assert ([fault.line for fault in file.faults], file.unsaid) == (list(range(2, MOST_SAID + 2)), 7)


def test_a_file_has_readings_and_not_too_many() -> None:
    for rows in ([], [["", ""]]):
        with pytest.raises(FileFault, match="no reading in it"):
            read(*rows)
    with pytest.raises(FileFault, match="is empty"):
        read_rows([], BERLIN, NOW)
    first = datetime(2026, 1, 1, tzinfo=UTC)
    many = [[f"{first + timedelta(minutes=number):%Y-%m-%d %H:%M}", "20"] for number in range(MOST_LINES + 1)]
    assert len(read(*many[:-1], zone=ZoneInfo("UTC")).readings) == MOST_LINES
    with pytest.raises(FileFault, match="more than 100000 lines"):
        read(*many, zone=ZoneInfo("UTC"))
