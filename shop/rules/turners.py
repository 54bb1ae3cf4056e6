"""Turners: until when a coat must turn, which places are free when, when to look, and what to do on a stop.

Pure: stays and coats come in as finished values, every instant is an argument. A coat is kept turning until
it is past sagging: for the turning time of its sheet, by temperature, or where the sheet is silent until it
has set. That, asking every two hours, and turning the wettest rod first are common practice, no source.
"""

from collections.abc import Container, Iterable
from datetime import datetime, timedelta
from typing import NamedTuple

MOST_NAME = 60
MOST_PLACES = 60
LEAST_CHECK_MINUTES, MOST_CHECK_MINUTES = 5, 1440
USUAL_CHECK_MINUTES = 120
MOST_NOTE = 500
GOOD, FLAWED = "good", "flawed"
OUTCOMES = (GOOD, FLAWED)
# How long ago something may have happened that is logged with one tap, in minutes.
TAPS_AGO = (0, 10, 30, 60)


class Coat(NamedTuple):
    """A finish coat that counts.

    `until` is when it has turned long enough: none where cold keeps it from getting there, or where its
    puddle puts it in doubt. `by_sheet` is false where the sheet says no turning time and the set time counts.
    """

    closed_at: datetime
    until: datetime | None
    by_sheet: bool = True


class Turning(NamedTuple):
    """What the coats of a rod ask of a turner: all three are none or false where there is no coat.

    `since` is when the coat that asks for the longest was closed. `no_end` says that no time ends it.
    """

    since: datetime | None = None
    until: datetime | None = None
    no_end: bool = False
    by_sheet: bool = True

    def is_over(self, now: datetime) -> bool:
        """Whether nothing has to turn any more; the instant `until` belongs to what is over."""
        return not self.no_end and (self.until is None or self.until <= now)


def turning_of(coats: Iterable[Coat]) -> Turning:
    """What all the coats of a rod ask together: the one that has to turn for the longest speaks."""
    last = max(coats, key=_asks_for, default=None)
    if last is None:
        return Turning()
    return Turning(last.closed_at, last.until, last.until is None, last.by_sheet)


def _asks_for(coat: Coat) -> tuple[bool, datetime, datetime]:
    return coat.until is None, coat.until or coat.closed_at, coat.closed_at


class Places(NamedTuple):
    """A turner with its number of places; on one that stands still no place is free."""

    turner_id: int
    places: int
    stands_still: bool = False


class Occupied(NamedTuple):
    """A place of a turner with a rod on it. `to_inspect` says that a stop is still to be answered for."""

    turner_id: int
    place_number: int
    on_at: datetime
    turning: Turning
    to_inspect: bool = False

    @property
    def leaves_at(self) -> datetime | None:
        """The earliest instant at which it may come off; none where nobody can say.

        A rod on which nothing was wet when it was put on waits for its coat.
        """
        until = self.turning.until
        return None if self.to_inspect or until is None or until <= self.on_at else until

    @property
    def wet_since(self) -> datetime:
        """Since when it has been on with its coat wet."""
        return self.on_at if self.turning.since is None else max(self.on_at, self.turning.since)


class Needs(NamedTuple):
    """A rod that will need places of a turner, or does: one for each of its sections."""

    build_id: int
    sections: int


def places_promised(
    needs: Iterable[Needs], staying: Iterable[tuple[int, int]], besides: Container[int] = ()
) -> int:
    """How many places are spoken for by rods that are not on a turner yet.

    Each rod counts once, however many of its places are coated. `staying` are the build and section of each
    stay: a section that is on a place has it, and a whole rod (section 0) needs no other. `besides` are
    builds that are counted elsewhere.
    """
    wanted: dict[int, int] = {}
    for need in needs:
        if need.build_id not in besides:
            wanted[need.build_id] = max(need.sections, wanted.get(need.build_id, 0))
    for build_id, section in set(staying):
        if build_id in wanted:
            wanted[build_id] = 0 if section == 0 else max(wanted[build_id] - 1, 0)
    return sum(wanted.values())


def places_free_for(
    stays: Iterable[Occupied], turners: Iterable[Places], first: datetime, last: datetime
) -> int:
    """How many places are free for the whole span from `first` to `last`.

    Every stay is taken to end when its rod may come off, so this is the most there can be. Raises
    `ValueError` for a span that ends before it begins.
    """
    if last < first:
        raise ValueError("A span of time ends after it begins.")
    running = {turner.turner_id: turner.places for turner in turners if not turner.stands_still}
    taken = {
        (stay.turner_id, stay.place_number)
        for stay in stays
        if stay.turner_id in running
        and stay.on_at <= last
        and (stay.leaves_at is None or stay.leaves_at > first)
    }
    return sum(running.values()) - len(taken)


def first_free_at(
    stays: Iterable[Occupied], turners: Iterable[Places], first: datetime, wanted: int = 1
) -> datetime | None:
    """The earliest instant from `first` on at which so many places may be free; none where nobody can say."""
    stays, turners = list(stays), list(turners)
    leaving = sorted(at for at in (stay.leaves_at for stay in stays) if at is not None and at > first)
    latest = max([first, *(stay.on_at for stay in stays)])
    for at in (first, *leaving):
        if places_free_for(stays, turners, at, max(at, latest)) >= wanted:
            return at
    return None


class Wet(NamedTuple):
    """A rod that has to be kept turning: since when, and until when; none where no time ends it."""

    since: datetime
    until: datetime | None


def next_look(wet: Iterable[Wet], looked_at: datetime | None, every: timedelta) -> datetime | None:
    """When to look next whether a turner still turns; none where nothing on it will have to turn by then.

    It counts from the last look, or from when the first of the rods came on if that was later.
    """
    left = [rod for rod in wet if looked_at is None or rod.until is None or rod.until > looked_at]
    if not left:
        return None
    since = min(rod.since for rod in left)
    due = (since if looked_at is None else max(since, looked_at)) + every
    return due if any(rod.until is None or rod.until > due for rod in left) else None


class Span(NamedTuple):
    """From one instant up to another, which it stops short of; none where it goes on."""

    start: datetime
    end: datetime | None


def stood_wet_from(coats: Iterable[Coat], stay: Span, stop: Span) -> datetime | None:
    """The first instant at which a rod stood still with a coat wet: on its place, while its turner stopped.

    None where every coat had turned long enough before, was laid later, or the rod was not there. It does
    not matter when any of it was written down.
    """
    found = []
    for coat in coats:
        spans = (Span(coat.closed_at, coat.until), stay, stop)
        start = max(span.start for span in spans)
        if all(span.end is None or start < span.end for span in spans):
            found.append(start)
    return min(found, default=None)


def must_turn_by_hand(stands_still: bool, is_on_it: bool, turning: Turning, now: datetime) -> bool:
    """Whether a rod has to be turned by hand: its turner stands still with it, and its coat is still wet.

    Until that is over nobody can say that the coat is sound, so it is not inspected before.
    """
    return stands_still and is_on_it and not turning.is_over(now)


def hand_order(
    turning: Turning, place_number: int, turned_at: datetime | None
) -> tuple[bool, bool, float, int]:
    """A key that sorts the rods to be turned by hand.

    First those that nobody has turned yet; among them the wettest, which has the longest still to go; then
    by place.
    """
    to_go = 0.0 if turning.until is None else -turning.until.timestamp()
    return turned_at is not None, not turning.no_end, to_go, place_number


def section_words(section: int) -> str:
    """Which piece of a rod: a section by its number; 0 stands for all of them together."""
    return f"section {section}" if section else "the whole rod"


def length_words(length: timedelta) -> str:
    """How long something lasted, in whole minutes."""
    minutes = length // timedelta(minutes=1)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def faults_of_turner(name: str, places: int, check_minutes: int) -> dict[str, str]:
    """Everything that keeps a turner's facts from being right, by field; empty when they are."""
    errors = {}
    if not 1 <= len(name.strip()) <= MOST_NAME:
        errors["name"] = f"The turner needs a name of 1 to {MOST_NAME} characters."
    if not 1 <= places <= MOST_PLACES:
        errors["places"] = f"A turner has 1 to {MOST_PLACES} places."
    if not LEAST_CHECK_MINUTES <= check_minutes <= MOST_CHECK_MINUTES:
        errors["check_minutes"] = (
            f"Ask every {LEAST_CHECK_MINUTES} to {MOST_CHECK_MINUTES} minutes whether it still turns."
        )
    return errors
