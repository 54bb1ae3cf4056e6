"""The moments of everything that is under way, gathered from the record; and which of them were seen."""

from datetime import datetime, timedelta, tzinfo
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.moments import SeenMoment
from shop.db.types import UtcDateTime
from shop.queries.bench import OpenBuilds
from shop.queries.cure_clock import Warmth
from shop.queries.kept_sequences import KeptSequences
from shop.queries.mixes import LONGEST_POT_LIFE, mixes_since
from shop.queries.puddles import open_puddles
from shop.queries.servings import servings_of_mixes
from shop.queries.soft import soft_cures_of
from shop.queries.turners import TurnerView
from shop.rules.hours import Hours
from shop.rules.moments import (
    WINDOW_BACK,
    Cup,
    Joint,
    Moment,
    cup_moments,
    cure_moments,
    in_order,
    look_moment,
    puddle_moment,
    stopped_moment,
    told_since,
)

# A mark stands at its moment's instant, and must outlast the time for which the moment is told.
SEEN_BACK = WINDOW_BACK + timedelta(days=1)

_SEEN = select(SeenMoment.key, SeenMoment.seen_at).where(
    SeenMoment.seen_at > bindparam("since", type_=UtcDateTime)
)


class ShopTime(NamedTuple):
    """When somebody is in the shop, and by which clocks."""

    hours: Hours
    zone: tzinfo


def seen_moments(session: Session, now: datetime) -> dict[str, datetime]:
    """At which instant each moment was when seen, by its key; those so long ago that none is told are left
    out.
    """
    return dict(session.execute(_SEEN, {"since": now - SEEN_BACK}).all())


def read_moments(
    session: Session,
    sequences: KeptSequences,
    opened: OpenBuilds,
    warmth: Warmth,
    shop_time: ShopTime,
    now: datetime,
) -> list[Moment]:
    """The moments of open builds, of cups in use and of their puddles, by their instants.

    In a fixed number of statements. They are the same until somebody commits something; an instant later
    than `now` loses none of them.
    """
    joints = _joints_by_mix(opened)
    since = told_since(shop_time.hours, now, shop_time.zone)
    cures = soft_cures_of(session, sequences, opened, since)
    found = list(cure_moments(cures, shop_time.hours, shop_time.zone))
    found += cup_moments(_cups(session, warmth, since - LONGEST_POT_LIFE, joints))
    for puddle in open_puddles(session, warmth):
        if puddle.due_at is not None:
            on = joints.get(puddle.mix_id, ())
            found.append(puddle_moment(puddle.mix_id, puddle.adhesive, puddle.due_at, on))
    return in_order(found)


def turner_moments(turners: list[TurnerView], now: datetime) -> list[Moment]:
    """The looks that are due at turners, now or later, and the turners that stand still with wet rods."""
    found = []
    for turner in turners:
        on, look_at = _wet_rods(turner, now), turner.look_at(now)
        if look_at is not None:
            found.append(look_moment(turner.id, turner.name, look_at, on))
        if turner.stop_id is not None and turner.stopped_at is not None and on:
            found.append(stopped_moment(turner.stop_id, turner.name, turner.stopped_at, on))
    return found


def _wet_rods(turner: TurnerView, now: datetime) -> tuple[Joint, ...]:
    """The rods that must go on turning, each with the places that its sections take."""
    places: dict[str, list[str]] = {}
    for stay in turner.wet_at(now):
        places.setdefault(stay.build, []).append(str(stay.place_number))
    return tuple((rod, f"on place{'s' if len(on) > 1 else ''} {', '.join(on)}") for rod, on in places.items())


def _joints_by_mix(opened: OpenBuilds) -> dict[int, tuple[Joint, ...]]:
    """The joints and coats on open builds that count, by the root id of their mix."""
    found: dict[int, tuple[Joint, ...]] = {}
    for build in opened.builds:
        facts = opened.facts.get(build.id)
        for cure in () if facts is None else facts.cures:
            if not cure.failed:
                found[cure.mix_id] = (*found.get(cure.mix_id, ()), (build.number, cure.place))
    return found


def _cups(
    session: Session, warmth: Warmth, since: datetime, joints: dict[int, tuple[Joint, ...]]
) -> list[Cup]:
    mixes = mixes_since(session, since, warmth)
    servings = servings_of_mixes(session, [mix.id for mix in mixes])
    cups = []
    for mix in mixes:
        planned = servings.get(mix.id, [])
        to_close = tuple((serving.build, serving.place) for serving in planned if serving.is_open)
        closed = joints.get(mix.id, ())
        cups.append(Cup(mix.id, mix.adhesive, mix.pot_life_ends_at, to_close, closed, bool(planned)))
    return cups
