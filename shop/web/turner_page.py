"""What the page of the turners shows: finished words for every place, for what to look at and what to do.

It decides nothing; what it says follows from `shop.queries.turners` and `shop.queries.turner_stops`.
"""

from datetime import datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.builds import BuildView
from shop.queries.turner_stops import StoppedRodView, StopView, stops_to_see
from shop.queries.turners import StayView, TurnerView, every_turner, turnings_of
from shop.rules.cautions import TURNER
from shop.rules.people import Right
from shop.rules.turners import TAPS_AGO, Turning, section_words
from shop.web.benches import BenchSide
from shop.web.deps import Posted
from shop.web.forms import Fields
from shop.web.templating import Frame
from shop.web.wording import not_before, when

SILENT = "its sheet says no turning time, so its set time counts"
NO_END = "nobody can say until when: too cold, or its puddle is tacky"


class State(NamedTuple):
    """How a rod stands on its place: the mark beside it, the word, and what to say of it."""

    mark: str
    word: str
    says: str


FREE, EMPTY = State("free", "free", ""), State("held", "empty", "")


class PlaceLine(NamedTuple):
    """One place of a turner; `stay_id` is 0 where it is free. `may_come_off` offers that with one tap."""

    number: int
    stay_id: int = 0
    build: str = ""
    what: str = ""
    state: State = FREE
    since: str = ""
    may_come_off: bool = False


class TurnerBlock(NamedTuple):
    """A turner: how many places are free, whether it turns, when to look again, and its places in order."""

    id: int
    name: str
    free: str
    stopped: str
    seen: str
    look: str
    is_look_due: bool
    places: list[PlaceLine]


class RodLine(NamedTuple):
    """A rod that a stop caught wet, and what has been done with it so far."""

    id: int
    build: str
    what: str
    where: str
    until: str
    turned: str


class StopBlock(NamedTuple):
    """A stop: since when, the rods to turn by hand in their order, and those to inspect."""

    id: int
    title: str
    story: str
    goes_on: bool
    by_hand: list[RodLine]
    to_inspect: list[RodLine]


def turner_context(page: Frame, session: Session, bench: BenchSide) -> dict[str, Any]:
    """All that `pages/turner.html` shows but its form."""
    warmth, now = bench.warmth(session), bench.now
    views = every_turner(session, warmth)
    may_bench = page.person is not None and page.person.may(Right.BENCH)
    return {
        "stops": [stop_block(stop, now, page.zone) for stop in stops_to_see(session, warmth)],
        "turners": [turner_block(view, now, page.zone) for view in views],
        "places": _free_places(views),
        "rods": _rods_to_put_on(session, bench, views) if may_bench else [],
        "ago": ago_choices(),
        "may_bench": may_bench,
        "may_ways": page.person is not None and page.person.may(Right.WAYS),
        "caution": TURNER,
    }


def turner_block(view: TurnerView, now: datetime, zone: ZoneInfo) -> TurnerBlock:
    """One turner for the page."""
    look = view.look_at(now)
    by_place = {stay.place_number: stay for stay in view.stays}
    numbers = range(1, view.places + 1)
    return TurnerBlock(
        view.id,
        view.name if view.zone is None else f"{view.name}, {view.zone}",
        f"{view.free} of {view.places} places free",
        "" if view.stopped_at is None else f"since {when(view.stopped_at, now, zone)}",
        "" if view.last_seen_at is None else f"Last seen turning {when(view.last_seen_at, now, zone)}.",
        "" if look is None else when(look, now, zone),
        look is not None and look <= now,
        [place_line(number, by_place.get(number), view, now, zone) for number in numbers],
    )


def place_line(
    number: int, stay: StayView | None, view: TurnerView, now: datetime, zone: ZoneInfo
) -> PlaceLine:
    """One place of a turner for the page."""
    if stay is None:
        return PlaceLine(number, state=EMPTY if view.stop_id else FREE)
    state = state_of(stay, view.stop_id is not None, now, zone)
    return PlaceLine(
        number, stay.id, stay.build, f"{stay.title}, {section_words(stay.section)}", state,
        f"on since {when(stay.on_at, now, zone)}, {stay.by}",
        stay.turning.is_over(now) and not stay.to_inspect,
    )  # fmt: skip


def state_of(stay: StayView, stands_still: bool, now: datetime, zone: ZoneInfo) -> State:
    """How a rod stands on its place, in words."""
    turning = stay.turning
    if not turning.is_over(now):
        if stands_still:
            return State("overdue", "stands still", "turn it by hand")
        if turning.no_end:
            return State("stalled", "turning", NO_END)
        return State("setting", "turning", until_words(turning, now, zone))
    if stay.to_inspect:
        return State("overdue", "stood still", "inspect its coat before it comes off")
    if turning.until is None:
        return State("held", "waiting", "no coat is on it yet")
    return State("done", "turned", f"since {not_before(turning.until, now, zone)} it may come off")


def until_words(turning: Turning, now: datetime, zone: ZoneInfo) -> str:
    """Until when a rod must turn; the instant is rounded up, nobody is told one at which it is too early."""
    if turning.until is None:
        return NO_END
    note = "" if turning.by_sheet else f"; {SILENT}"
    return f"comes off not before {not_before(turning.until, now, zone)}{note}"


def stop_block(stop: StopView, now: datetime, zone: ZoneInfo) -> StopBlock:
    """One stop for the page."""
    began = f"Since {when(stop.stopped_at, now, zone)}"
    if stop.ended_at is not None:
        began = f"From {when(stop.stopped_at, now, zone)} to {when(stop.ended_at, now, zone)}"
    title = f"{stop.turner} stands still" if stop.ended_at is None else f"{stop.turner} stood still"
    note = f": {stop.note}" if stop.note else ""
    return StopBlock(
        stop.id, title, f"{began}, noted by {stop.by}{note}", stop.ended_at is None,
        [rod_line(rod, now, zone) for rod in stop.by_hand(now)],
        [rod_line(rod, now, zone) for rod in stop.to_inspect(now)],
    )  # fmt: skip


def rod_line(rod: StoppedRodView, now: datetime, zone: ZoneInfo) -> RodLine:
    """A rod of a stop for the page."""
    turned = ""
    if rod.turned_at is not None:
        turned = f"turned by hand {when(rod.turned_at, now, zone)}, {rod.turned_by}"
    where = "on no turner" if rod.place_number is None else f"place {rod.place_number}"
    until = "" if rod.turning.is_over(now) else until_words(rod.turning, now, zone)
    what = f"{rod.title}, {section_words(rod.section)}"
    return RodLine(rod.id, rod.build, what, where, until, turned)


def _free_places(views: list[TurnerView], besides: int = 0) -> list[tuple[str, str]]:
    """Every place that a rod could go to now, to choose from."""
    free = []
    for view in views:
        taken = {stay.place_number for stay in view.stays if stay.id != besides}
        if view.stop_id is None:
            free += [
                (f"{view.id}/{number}", f"{view.name}, place {number}")
                for number in range(1, view.places + 1)
                if number not in taken
            ]
    return free


def free_places(session: Session, bench: BenchSide) -> list[tuple[str, str]]:
    """The same, for a page of its own."""
    return _free_places(every_turner(session, bench.warmth(session)))


def _rods_to_put_on(session: Session, bench: BenchSide, views: list[TurnerView]) -> list[tuple[str, str]]:
    """Every open rod and section that is on no turner, to choose from; those with a wet coat first."""
    builds = bench.opened(session).builds
    on = {(stay.build_id, stay.section) for view in views for stay in view.stays}
    turnings = turnings_of(session, [build.id for build in builds], bench.warmth(session))
    wet = {build_id for build_id, turning in turnings.items() if not turning.is_over(bench.now)}
    ordered = sorted(builds, key=lambda build: (build.id not in wet, build.number))
    return [
        (f"{build.number}/{section}", f"{build.number} {build.title}{piece}{mark}")
        for build in ordered
        for section, piece in _pieces(build)
        if not _is_on(build.id, section, on)
        for mark in (" (wet coat)" if build.id in wet else "",)
    ]


def _is_on(build_id: int, section: int, on: set[tuple[int, int]]) -> bool:
    sections = {number for found, number in on if found == build_id}
    return bool(sections) if section == 0 else bool(sections & {0, section})


def _pieces(build: BuildView) -> list[tuple[int, str]]:
    if build.pieces == 1:
        return [(0, "")]
    numbers = [(0, section_words(0)), *((n, section_words(n)) for n in range(1, build.pieces + 1))]
    return [(number, f", {words}") for number, words in numbers]


def ago_choices(now: datetime | None = None, since: datetime | None = None) -> list[tuple[str, str]]:
    """How long ago it was, to choose from; nothing before `since` where that is known, as it cannot be."""
    return [
        (str(minutes), f"{minutes} min ago" if minutes else "just now")
        for minutes in TAPS_AGO
        if now is None or since is None or now - timedelta(minutes=minutes) >= since
    ]


def said_time(posted: Posted, fields: Fields, now: datetime, zone: ZoneInfo) -> datetime | None:
    """When something happened: the time typed, or else so many minutes ago; none for just now.

    Faults are noted in `fields`.
    """
    at = fields.instant("at", "The time", zone, now)
    ago = fields.whole("ago", "How long ago", 0, TAPS_AGO[-1])
    if at is not None or not ago:
        return at
    return now - timedelta(minutes=ago)
