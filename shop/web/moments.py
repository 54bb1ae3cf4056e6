"""The strip on top of In hand: what has come and nobody has seen, and what comes next, in finished words.

What is a moment and when it is told is decided in `shop.rules.moments`. The strip carries the server's
instant and those of the moments, so that `static/js/alarm.js` can call each when it comes.
"""

from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from markupsafe import Markup

from shop.db.sessions import Session
from shop.queries.moments import ShopTime, read_moments, seen_moments, turner_moments
from shop.queries.turners import TurnerView, every_turner
from shop.rules.moments import Kind, Moment, around, coming, due, told_since
from shop.web.benches import BenchSide
from shop.web.templating import ENVIRONMENT, Frame
from shop.web.wording import not_before, when

MACROS: Any = ENVIRONMENT.get_template("macros/moments.html").module
# So many of those that have come, and of those to come, are in sight; the others are a tap away.
IN_SIGHT = 5
# So many rods and places of full cures are named in their one line.
NAMED = 3
# What ends at these must not be said later than it is; every other instant is not told too early.
ENDS = frozenset({Kind.POT_ENDS, Kind.POT_OVER, Kind.SHUTS, Kind.SHUT})
SYMBOLS = {
    Kind.SET: "m-set", Kind.FULL: "m-full", Kind.OPENS: "m-recoat", Kind.SHUTS: "m-recoat",
}  # fmt: skip
PLACES = {
    Kind.POT_ENDS: "/mixes/{}", Kind.POT_OVER: "/mixes/{}", Kind.PUDDLE: "/mixes/{}",
    Kind.LOOK: "/turner", Kind.STOPPED: "/turner",
}  # fmt: skip


class MomentLine(NamedTuple):
    """A moment for a template: `at_text` and `by_text` are times of the shop's clocks, `at_iso` is in UTC.

    `mix_id` is set where the puddle can be answered for at once.
    """

    key: str
    symbol: str
    who: str
    says: str
    href: str
    at_iso: str
    at_text: str
    by_text: str
    sounds: bool
    mix_id: int | None


# What `static/js/alarm.js` fills in where a moment comes between two refreshes.
EMPTY_LINE = MomentLine("", "m-overdue", "", "", "/", "", "", "", False, None)


def moments_context(page: Frame, session: Session, bench: BenchSide) -> dict[str, Any]:
    """What `fragments/moments.html` needs besides a form."""
    near = _near(page, session, bench)
    told, ahead = _due(near, page, session, bench), coming(near, bench.now)
    local = bench.now.astimezone(page.zone)
    day = local.replace(hour=0, minute=0, second=0, microsecond=0)
    rows = [render_coming(moment, day, page.zone) for moment in ahead]
    # A full cure is good news that waits: it takes nothing's place.
    pressing = [render_due(moment, day, page.zone) for moment in told if moment.kind is not Kind.FULL]
    full = [moment for moment in told if moment.kind is Kind.FULL]
    return {
        "now_iso": bench.now.isoformat(timespec="milliseconds"),
        "seen_until": bench.now.isoformat(),
        "due_count": len(told),
        "due": pressing[:IN_SIGHT],
        "more_due": pressing[IN_SIGHT:],
        "full": [render_due(moment, day, page.zone) for moment in full],
        "full_says": _full_says(full),
        "next_up": rows[:IN_SIGHT],
        "later": rows[IN_SIGHT:],
        "empty_line": EMPTY_LINE,
    }


def moments_due(page: Frame, session: Session, bench: BenchSide) -> list[Moment]:
    """The moments that are told just now."""
    return _due(_near(page, session, bench), page, session, bench)


def _near(page: Frame, session: Session, bench: BenchSide) -> list[Moment]:
    return [*around(_kept(page, session, bench), bench.now), *_of_turners(session, bench)]


def _due(near: list[Moment], page: Frame, session: Session, bench: BenchSide) -> list[Moment]:
    seen = bench.recall("seen moments", session, lambda reading: seen_moments(reading, bench.now))
    return due(near, bench.now, told_since(page.shop.hours, bench.now, page.zone), seen)


def _full_says(full: list[Moment]) -> str:
    """The one line of what is fully cured, which names the first few."""
    more = f" and {len(full) - NAMED} more" if len(full) > NAMED else ""
    return f"Fully cured: {', '.join(moment.who for moment in full[:NAMED])}{more}"


def _kept(page: Frame, session: Session, bench: BenchSide) -> list[Moment]:
    """The moments of cures, cups and puddles: kept, for they change only when somebody commits something."""
    shop_time = ShopTime(page.shop.hours, page.zone)

    def read(reading: Session) -> list[Moment]:
        # Asked for in here, or what somebody commits just now could be kept out of what is kept.
        opened, warmth = bench.opened(reading), bench.warmth(reading)
        return read_moments(reading, bench.hub.sequences, opened, warmth, shop_time, bench.now)

    return bench.recall("moments", session, read)


def _of_turners(session: Session, bench: BenchSide) -> list[Moment]:
    """The moments of turners: what is asked of a turner depends on what is still wet just now."""

    def read(reading: Session) -> list[TurnerView]:
        return every_turner(reading, bench.warmth(reading))

    return turner_moments(bench.recall("turners", session, read), bench.now)


@lru_cache(maxsize=2048)
def render_due(moment: Moment, day: datetime, zone: ZoneInfo) -> Markup:
    """A moment that has come, as HTML; on one day it is the same, so it is made once."""
    return Markup(MACROS.moment_row(moment_line(moment, day, zone)))


@lru_cache(maxsize=2048)
def render_coming(moment: Moment, day: datetime, zone: ZoneInfo) -> Markup:
    """A moment to come, as HTML."""
    return Markup(MACROS.coming_row(moment_line(moment, day, zone)))


def moment_line(moment: Moment, today: datetime, zone: ZoneInfo) -> MomentLine:
    """A moment in finished words; `today` is any instant of the present day."""
    written = when if moment.kind in ENDS else not_before
    place = PLACES.get(moment.kind)
    # Nothing is called before its time, so what the page goes by is the next whole second.
    at = moment.at if moment.at.microsecond == 0 else moment.at.replace(microsecond=0) + timedelta(seconds=1)
    return MomentLine(
        moment.key, SYMBOLS.get(moment.kind, "m-overdue"), moment.who, moment.says,
        place.format(moment.number) if place else f"/builds/{moment.joints[0][0]}#next",
        at.isoformat(), written(moment.at, today, zone),
        "" if moment.by is None else when(moment.by, today, zone), moment.sounds,
        moment.number if moment.kind is Kind.PUDDLE else None,
    )  # fmt: skip
