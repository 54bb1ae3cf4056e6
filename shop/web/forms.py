"""Forms: what was typed, what is wrong with it, and showing it again with nothing lost.

The reading of single fields (lengths, numbers, instants) collects every fault before anything is
written, so that a form comes back once with all of them.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from starlette.responses import Response

from shop.craft.lengths import LengthError, parse_length
from shop.craft.temperature import TemperatureError, parse_temperature
from shop.rules.masses import MassError, mg_of_grams
from shop.rules.refusals import BadInput, Overtaken
from shop.web.deps import Posted
from shop.web.templating import Frame

T = TypeVar("T")
# The same again within so long is a second press of the same button.
SAME_PRESS = timedelta(minutes=1)


@dataclass(frozen=True)
class FormView:
    """A form for a template: `values` as typed (or as on file), `errors` by field.

    `is_overtaken` where somebody else was first: the page shows what is on record by now beside what was
    typed, so from then on the form goes by that; until then it goes by what its typist has seen.
    """

    values: Mapping[str, Any] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)
    is_overtaken: bool = False

    def chosen(self, name: str, on_file: tuple[str, ...] = ()) -> tuple[str, ...]:
        """The ticked boxes of one name as typed, or those on file while nothing has been typed."""
        return tuple(self.values.all(name)) if isinstance(self.values, Posted) else on_file


class ShowAgain(Exception):
    """The form could not be taken; `response` shows it again. Raised, so that nothing is committed."""

    def __init__(self, response: Response) -> None:
        super().__init__()
        self.response = response


@contextmanager
def showing_again(
    page: Frame, template: str, posted: Posted, context: Callable[[], Mapping[str, Any]] = dict
) -> Iterator[None]:
    """Turn `BadInput` inside the block into status 422 and the form as typed, faults beside the fields.

    `Overtaken` becomes 409 and the form as typed, over what is on record now.
    """
    try:
        yield
    except Overtaken as late:
        form = FormView(posted, {"": late.sentence}, is_overtaken=True)
        raise ShowAgain(page.show(template, status=409, form=form, **context())) from late
    except BadInput as bad:
        form = FormView(posted, bad.errors)
        raise ShowAgain(page.show(template, status=422, form=form, **context())) from bad


class Fields:
    """Reads typed fields one by one and gathers every fault; `done` raises them all at once."""

    def __init__(self, posted: Mapping[str, str]) -> None:
        self._posted = posted
        self.errors: dict[str, str] = {}

    def done(self) -> None:
        """Raise `BadInput` if any field could not be read."""
        if self.errors:
            raise BadInput(self.errors)

    def text(self, name: str, label: str, most: int, required: bool = False) -> str:
        """A line or a paragraph of at most `most` characters."""
        value = self._posted.get(name, "")
        if required and not value:
            self.errors[name] = f"{label} is missing; please fill it in."
        elif len(value) > most:
            self.errors[name] = f"{label} has {len(value)} characters; at most {most} fit."
        elif "\0" in value:
            self.errors[name] = f"{label} has a character in it that cannot be kept; please type it again."
        return value

    def choice(self, name: str, label: str, allowed: tuple[str, ...]) -> str:
        """One of a few words."""
        value = self._posted.get(name, "")
        if value not in allowed:
            self.errors[name] = f"{label} must be one of {', '.join(allowed)}."
        return value

    def number(self, name: str, label: str, least: float, most: float) -> float | None:
        """A decimal number between two limits, or none where the field is empty."""
        return self._read(name, lambda value: _number(value, label, least, most))

    def whole(self, name: str, label: str, least: int, most: int) -> int | None:
        """A whole number between two limits, or none where the field is empty."""
        return self._read(name, lambda value: _whole(value, label, least, most))

    def chosen(self, name: str, label: str) -> int:
        """The id of something chosen from a list; 0, with its fault noted, where nothing was."""
        found = self.whole(name, label, 1, 2**31 - 1)
        if name in self.errors:
            self.errors[name] = f"{label} is not one of the list; please choose one."
        elif found is None:
            self.errors[name] = f"{label} is missing; please choose one."
        return found or 0

    def cents(self, name: str, label: str) -> int | None:
        """An amount of money as whole cents, or none where the field is empty."""
        return self._read(name, lambda value: _cents(value, label))

    def length_nm(self, name: str, unit: str = "") -> int | None:
        """A length in whole nanometres, or none where the field is empty."""
        return self._read(name, lambda value: parse_length(value, unit))  # type: ignore[arg-type]

    def grams_mg(self, name: str, label: str, most_mg: int) -> int | None:
        """A mass or a load typed in grams, in whole milligrams, or none where the field is empty."""
        return self._read(name, lambda value: mg_of_grams(_number(value, label, 0.001, most_mg / 1000)))

    def celsius(self, name: str) -> float | None:
        """A temperature in degrees Celsius, or none where the field is empty."""
        return self._read(name, parse_temperature)

    def day(self, name: str, label: str) -> date | None:
        """A calendar day, or none where the field is empty."""
        return self._read(name, lambda value: _day(value, label))

    def instant(
        self, name: str, label: str, zone: ZoneInfo, latest: datetime | None = None
    ) -> datetime | None:
        """A local date and time of the shop as an instant in UTC, or none where the field is empty.

        Of a time that came twice, when the clocks were put back, the first is meant; with `latest` given,
        the second unless it lies after that, which is the careful reading of when something began to cure.
        """
        return self._read(name, lambda value: _instant(value, label, zone, latest))

    def required(self, name: str, label: str, value: T | None) -> T | None:
        """Note that the field must not be empty; gives the value on."""
        if value is None and name not in self.errors:
            self.errors[name] = f"{label} is missing; please fill it in."
        return value

    def _read(self, name: str, read: Callable[[str], T]) -> T | None:
        value = self._posted.get(name, "")
        if not value:
            return None
        try:
            return read(value)
        except (LengthError, MassError, TemperatureError, _Unreadable) as fault:
            self.errors[name] = str(fault)
            return None


class _Unreadable(ValueError):
    """A field that cannot be read; its text is the sentence for beside it."""


def _number(value: str, label: str, least: float, most: float) -> float:
    if not re.fullmatch(r"[-+−]?[0-9]+(?:[.,][0-9]*)?|[-+−]?[.,][0-9]+", value):
        raise _Unreadable(f"{label} must be a number; “{value}” is not one.")
    if re.fullmatch(r"[-+−]?[1-9][0-9]{0,2},[0-9]{3}", value):
        raise _Unreadable(f"{label}: “{value}” can be read in two ways; write it without the comma.")
    number = float(value.replace(",", ".").replace("−", "-"))
    if not least <= number <= most:
        raise _Unreadable(f"{label} must lie between {least:g} and {most:g}.")
    return number


def _whole(value: str, label: str, least: int, most: int) -> int:
    number = _number(value, label, least, most)
    if number != int(number):
        raise _Unreadable(f"{label} must be a whole number.")
    return int(number)


def _cents(value: str, label: str) -> int:
    found = re.fullmatch(r"([0-9]{1,8})(?:[.,]([0-9]{1,2}))?", value)
    if found is None:
        raise _Unreadable(f"{label} must be an amount such as 18.50; “{value}” is not one.")
    return int(found[1]) * 100 + int((found[2] or "0").ljust(2, "0"))


def _day(value: str, label: str) -> date:
    try:
        return date.fromisoformat(value)
    except ValueError as fault:
        raise _Unreadable(f"{label} must be a day such as 2026-03-14; “{value}” is not one.") from fault


def _instant(value: str, label: str, zone: ZoneInfo, latest: datetime | None) -> datetime:
    if ":" not in value:  # a day alone would pass for its midnight
        raise _Unreadable(f"{label} must be a date and time; “{value}” is not one.")
    try:
        local = datetime.fromisoformat(value)
        local = local.replace(tzinfo=local.tzinfo or zone)
        instant = local.astimezone(UTC)
    except (ValueError, OverflowError) as fault:
        raise _Unreadable(f"{label} must be a date and time; “{value}” is not one.") from fault
    if local.tzinfo is zone and instant.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise _Unreadable(f"{label}: the clocks were put forward then, so that time did not exist.")
    second = local.replace(fold=1).astimezone(UTC) if local.tzinfo is zone else instant
    return second if latest is not None and instant < second <= latest else instant
