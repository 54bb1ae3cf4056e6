"""A logger's file from its bytes to readings, by the time zone of the logger's clock.

Taking it apart is `shop.outside.logger_files`, what it means is `shop.rules.logger_files`.
"""

import re
from datetime import datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from shop.outside.logger_files import FileUnreadable, rows_of
from shop.rules.logger_files import FileFault, LineFault, LoggerFile, read_rows
from shop.rules.refusals import BadInput
from shop.services.shop import time_zones

_OFFSET = re.compile(r"(?:UTC|GMT)?([+\-−])(\d{1,2})(?::?([0-5]\d))?", re.IGNORECASE | re.ASCII)


def read_logger_file(body: bytes, zone: tzinfo, now: datetime) -> LoggerFile:
    """What a file holds, or its faults by line. Raises `BadInput` for a file that is none of a logger."""
    try:
        return read_rows(rows_of(body), zone, now)
    except FileUnreadable as fault:
        if fault.line:
            return LoggerFile([], [LineFault(fault.line, str(fault))])
        raise BadInput({"file": str(fault)}) from fault
    except FileFault as fault:
        raise BadInput({"file": str(fault)}) from fault


def clock_zone(text: str, shop_zone: ZoneInfo) -> tzinfo:
    """The time zone that a logger's clock shows: a name, an offset such as +01:00, or the shop's for nothing.

    Raises `BadInput`.
    """
    if not text:
        return shop_zone
    if text in time_zones():
        return ZoneInfo(text)
    found = _OFFSET.fullmatch(text)
    ahead = timedelta(hours=int(found[2]), minutes=int(found[3] or 0)) if found else timedelta(days=1)
    if found is None or ahead > timedelta(hours=14):
        sentence = f"“{text}” is no time zone; write one such as Europe/Lisbon, UTC or +01:00."
        raise BadInput({"time_zone": sentence})
    return timezone(ahead if found[1] == "+" else -ahead)


def faults_by_line(file: LoggerFile) -> dict[str, str]:
    """The faults of a file as those of fields: `line 17`."""
    errors = {f"line {fault.line}": fault.says for fault in file.faults}
    if file.unsaid:
        errors["lines"] = f"Beside these, {file.unsaid} more lines cannot be taken in."
    return errors
