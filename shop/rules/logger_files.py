"""What a logger's file says: which columns count, when each line was read, and what is wrong with it.

Rows come as cells of text with their line numbers; taking them out of the file is
`shop.outside.logger_files`. Times are ISO 8601 or one of a few forms that can be read in one way only. A
time without an offset is by the logger's clock, whose time zone is handed in.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import NamedTuple

from shop.craft.temperature import TemperatureError, parse_temperature
from shop.rules.logger_times import TimeError, read_time
from shop.rules.zones import faults_of_reading

MOST_LINES = 100_000
MOST_SAID = 50
# Some loggers write a few lines about themselves before the head of the columns.
HEAD_WITHIN = 20
DEGREE_WORDS = {
    "f": "F",
    "°f": "F",
    "ºf": "F",
    "fahrenheit": "F",
    "c": "C",
    "°c": "C",
    "ºc": "C",
    "celsius": "C",
}
TEMPERATURE_WORDS = {"temperature", "temp", *DEGREE_WORDS, "°", "deg", "degree", "degrees", "in", "air", "ch"}
TIME_HEADS = {
    "time", "timestamp", "time stamp", "datetime", "date time", "date and time", "at", "read at",
    "measured at", "logged at", "recorded at", "local time", "when",
}  # fmt: skip
_OFFSET = re.compile(r"\b(?:utc|gmt)\s*(?:([+-])([0-9]{1,2}):?([0-9]{2})?)?")

Row = tuple[int, Sequence[str]]


class FileFault(ValueError):
    """The file as a whole cannot be read; the text is a sentence for a person."""


class LineFault(NamedTuple):
    """What is wrong with one line, counted from 1 as an editor counts them."""

    line: int
    says: str


class LoggerFile(NamedTuple):
    """What a file holds: readings of instants (UTC) and °C, or else its faults, the first of them said."""

    readings: list[tuple[datetime, float]]
    faults: list[LineFault]
    unsaid: int = 0


class Columns(NamedTuple):
    """Where the columns are that count; `date` where the day has a column of its own.

    `zone` is the time zone that the head itself names, if it does.
    """

    time: int
    temperature: int
    date: int | None
    unit: str
    zone: tzinfo | None
    width: int


class _Read(NamedTuple):
    line: int
    at: datetime
    celsius: float


def read_rows(rows: Iterable[Row], zone: tzinfo, now: datetime) -> LoggerFile:
    """What the rows of a file say; `zone` is that of the logger's clock where the file names none.

    Raises `FileFault` where the columns are not there or there is nothing or too much to take in.
    """
    left = iter(rows)
    columns = _head(left)
    faults: dict[int, str] = {}
    found = []
    for line, cells in left:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            found.append(_read(line, cells, columns))
        except (TimeError, TemperatureError) as fault:
            faults[line] = str(fault)
        if len(found) + len(faults) > MOST_LINES:
            raise FileFault(f"The file has more than {MOST_LINES} lines of readings; split it.")
    if not found and not faults:
        raise FileFault("The file has no reading in it.")
    return _placed(found, faults, columns.zone or zone, now)


def find_columns(head: Sequence[str]) -> Columns:
    """The columns by their names in the head. Raises `FileFault` with a sentence."""
    names = [" ".join(name.lower().replace("_", " ").split()) for name in head]
    dates = [place for place, name in enumerate(names) if _bare(name) == "date"]
    times = [place for place, name in enumerate(names) if _bare(name) in TIME_HEADS]
    warm = [place for place, name in enumerate(names) if _is_temperature(name)]
    date = dates[0] if len(dates) == len(times) == 1 else None
    times = times or dates
    if not times or not warm:
        missing = " or ".join(
            word for word, places in (("the time", times), ("the temperature", warm)) if not places
        )
        shown = ", ".join(f"“{name.strip()[:40]}”" for name in head[:8])
        raise FileFault(
            f"No column is headed as {missing}; the head says {shown}. "
            "Name the columns time and celsius (or °C, or °F)."
        )
    for what, places in (("time", times), ("temperature", warm)):
        if len(places) > 1:
            both = " and ".join(f"“{head[place].strip()[:40]}”" for place in places[:2])
            raise FileFault(f"Two columns are headed as a {what}, {both}; leave one of them.")
    unit = next((DEGREE_WORDS[word] for word in _words(names[warm[0]]) if word in DEGREE_WORDS), "C")
    return Columns(times[0], warm[0], date, unit, _zone_in(names[times[0]]), len(head))


def _head(rows: Iterable[Row]) -> Columns:
    """The columns by the first of the first rows that names them."""
    first: FileFault | None = None
    for number, (_, cells) in enumerate(rows, 1):
        try:
            return find_columns(cells)
        except FileFault as fault:
            first = first or fault
        if number == HEAD_WITHIN:
            break
    raise first or FileFault("The file is empty.")


def _words(name: str) -> list[str]:
    return re.findall(r"[^\W\d_]+|[°º][cf]?", name.replace("° ", "°"))


def _is_temperature(name: str) -> bool:
    words = set(_words(name))
    return words <= TEMPERATURE_WORDS and bool(words & {"temperature", "temp", *DEGREE_WORDS})


def _bare(name: str) -> str:
    """A name without what stands in brackets, or after a comma, or says the time zone."""
    return " ".join(re.findall(r"[a-z]+", _OFFSET.sub("", re.sub(r"[(\[,;].*", "", name))))


def _zone_in(name: str) -> tzinfo | None:
    found = _OFFSET.search(name)
    if found is None:
        return None
    ahead = timedelta(hours=int(found[2] or 0), minutes=int(found[3] or 0))
    if ahead >= timedelta(days=1):
        raise FileFault(f"The head of the time, “{name}”, names a time zone that there is not.")
    return timezone(-ahead if found[1] == "-" else ahead)


def _read(line: int, cells: Sequence[str], columns: Columns) -> _Read:
    if len(cells) > columns.width and any(cell.strip() for cell in cells[columns.width :]):
        raise TimeError(
            f"It has {len(cells)} cells where the head has {columns.width}; a decimal comma needs "
            "semicolons between the cells."
        )
    wanted = [columns.time, columns.temperature, *([] if columns.date is None else [columns.date])]
    if max(wanted) >= len(cells):
        many = "1 cell" if len(cells) == 1 else f"{len(cells)} cells"
        raise TimeError(f"It has {many} where the head has {columns.width}.")
    said = cells[columns.time] if columns.date is None else f"{cells[columns.date]} {cells[columns.time]}"
    if not cells[columns.temperature].strip():
        raise TimeError("It has no temperature.")
    unit: str = columns.unit
    celsius = parse_temperature(cells[columns.temperature], unit)  # type: ignore[arg-type]
    return _Read(line, read_time(said.strip()), celsius)


def _placed(found: list[_Read], faults: dict[int, str], zone: tzinfo, now: datetime) -> LoggerFile:
    """The readings as instants, in the order of the file, or the faults that keep all of them out."""
    falls = len(found) > 1 and _wall(found[-1].at) < _wall(found[0].at)
    readings = []
    before: datetime | None = None
    for line, at, celsius in found:
        instant = at.astimezone(UTC) if at.tzinfo else _instant(at, zone, before, falls)
        if instant is None:
            faults[line] = (
                f"The clocks were put forward then, so {at:%Y-%m-%d %H:%M} did not exist in {zone}."
            )
            continue
        before = instant
        wrong = faults_of_reading(instant, celsius, now)
        if wrong:
            faults[line] = " ".join(wrong.values())
        readings.append((instant, celsius))
    said = [LineFault(line, faults[line]) for line in sorted(faults)[:MOST_SAID]]
    return LoggerFile([] if said else readings, said, len(faults) - len(said))


def _wall(at: datetime) -> datetime:
    return at.replace(tzinfo=None)


def _instant(local: datetime, zone: tzinfo, before: datetime | None, falls: bool) -> datetime | None:
    """The instant of a local time, none where there was none.

    Of a time that came twice, when the clocks were put back, the file's order says which: a file that
    `falls` goes back in time.
    """
    first = local.replace(tzinfo=zone)
    second = first.replace(fold=1)
    instant = first.astimezone(UTC)
    if first.utcoffset() == second.utcoffset():
        return instant
    later = second.astimezone(UTC)
    if later < instant:
        return None
    if falls:
        return later if before is None or later < before else instant
    return instant if before is None or instant > before else later
