"""The kept clocks: what they hold, what reaches further back, and that both answer like one of everything."""

from collections.abc import Hashable, Iterator
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from shop.craft.cure import CureTimes, Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from shop.db.builds import Build
from shop.db.mixes import Mix
from shop.db.shop import Change
from shop.db.zones import Reading, Sensor, Zone
from shop.queries.cure_clock import Clocks, CureClock
from shop.services.zones import change_zone
from shop.web.deps import Hub
from tests.api.filled import ZONE, fill
from tests.conftest import START, Hands
from tests.queries.test_facts import Floor

HOUR = 3600.0
NOW = START + timedelta(days=400)
A_DAY = 30
STEP = timedelta(days=1) / A_DAY
DAYS_AGO = (0, 1, 29.9, 30, 30.1, 31, 33, 64, 200, 399, 401, 5000)
SHEET = Sheet(24.0, 45.0, 600.0, 1440.0, coldest_c=13.0, doubling_c=10.0)
Read = tuple[datetime, float, int | None]


def read(session: Session, readings: list[Read]) -> None:
    """Put readings on file as they come in."""
    rows = [
        {
            "zone_id": ZONE,
            "at": at,
            "celsius": celsius,
            "sensor_id": sensor,
            "entered_at": NOW,
            "source": "api",
        }
        for at, celsius, sensor in readings
    ]
    session.execute(insert(Reading), rows)
    session.execute(update(Zone).values(readings_version=Zone.readings_version + 1))


@pytest.fixture
def shop(hub: Hub, hands: Hands) -> Iterator[Session]:
    """A shop in which a sensor has spoken thirty times a day for 400 days, the last time now."""
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        session.add(Sensor(zone_id=ZONE, name="by the window", created_at=START))
        session.flush()
        session.execute(update(Change).values(last_at=NOW))
        read(session, [(NOW - n * STEP, 19 + (n * 7) % 50 / 10, 1) for n in range(400 * A_DAY)])
        yield session


def whole(session: Session) -> ZoneClock:
    """A clock that holds every reading on file."""
    clock = ZoneClock(TemperatureLine(20.0, HOUR))
    rows = session.execute(select(Reading.at, Reading.celsius, Reading.sensor_id).order_by(Reading.id))
    sensors: dict[Hashable, list[tuple[float, float]]] = {}
    for at, celsius, sensor in rows:
        sensors.setdefault(sensor, []).append((at.timestamp(), celsius))
    clock.take_in(sensors)
    return clock


def answers(
    session: Session, clock: CureClock, sheet: Sheet, days_ago: float
) -> tuple[CureTimes, float, float]:
    """When a cure of so many days ago sets and so on, when its mix was spent, and how warm it was."""
    clocks, at = Clocks(session, clock.warmth(session)), (NOW - timedelta(days=days_ago)).timestamp()
    times = clocks.times([(at, ZONE)], sheet, at)
    return times, clocks.pot_life_ends(ZONE, sheet, at), clocks.temperature_at(ZONE, at)


def expected(clock: ZoneClock, sheet: Sheet, days_ago: float) -> tuple[CureTimes, float, float]:
    at = (NOW - timedelta(days=days_ago)).timestamp()
    return clock.times(sheet, at), clock.pot_life_ends(sheet, at), clock.temperature_at(at)


@pytest.mark.parametrize(
    "sheet",
    [
        SHEET,
        Sheet(24.0, 45.0, 600.0, 60_000.0, recoat_from_minutes=700.0, recoat_until_minutes=80_000.0),
        Sheet(24.0, 45.0, 600.0, 500_000.0),  # a cure of a year
        Sheet(40.0, 45.0, 600.0, 1440.0, coldest_c=30.0),  # nothing here is ever warm enough
    ],
    ids=["a day", "some weeks", "a year", "never"],
)
def test_answers_are_those_of_a_clock_that_holds_everything(shop: Session, sheet: Sheet) -> None:
    clock, everything = CureClock(), whole(shop)
    for days_ago in DAYS_AGO:
        got, wanted = answers(shop, clock, sheet, days_ago), expected(everything, sheet, days_ago)
        pairs = zip((*_instants(got[0]), *got[1:]), (*_instants(wanted[0]), *wanted[1:]), strict=True)
        for mine, theirs in pairs:
            # Sums of a year and sums of a week round differently, by a millisecond at most.
            assert mine == (None if theirs is None else pytest.approx(theirs, abs=0.0021))


def _instants(times: CureTimes) -> tuple[float | None, ...]:
    return times.set_at, times.full_at, times.recoat_from, times.recoat_until


def test_what_is_kept_is_a_month_however_much_is_on_file(shop: Session) -> None:
    clock = CureClock()
    line = clock.warmth(shop).zones[ZONE].clock.line
    assert 30 * A_DAY <= len(line.starts) <= 31 * A_DAY
    answers(shop, clock, SHEET, 300)
    assert len(clock.warmth(shop).zones[ZONE].clock.line.starts) <= 31 * A_DAY


def test_what_is_kept_reaches_back_to_what_open_builds_need(shop: Session, hands: Hands) -> None:
    floor = Floor(shop, hands)
    hands.wall_at = NOW
    floor.glue()
    long_ago = NOW - timedelta(days=90)
    shop.execute(update(Mix).values(mixed_at=long_ago))
    assert CureClock().warmth(shop).since == long_ago.timestamp()
    shop.execute(update(Build).values(closed_at=NOW))
    assert CureClock().warmth(shop).since == (NOW - timedelta(days=30)).timestamp()


def test_what_is_kept_reaches_back_to_a_cure_that_was_logged_late(shop: Session, hands: Hands) -> None:
    clock, everything = CureClock(), whole(shop)
    month = clock.warmth(shop).since
    floor = Floor(shop, hands)
    hands.wall_at = NOW
    floor.glue()
    long_ago = NOW - timedelta(days=90)
    shop.execute(update(Mix).values(mixed_at=long_ago))
    answers(shop, clock, SHEET, 90)
    assert clock.warmth(shop).since == long_ago.timestamp() < month
    assert clock.older_pieces > 0
    pieces = clock.older_pieces
    times = [answers(shop, clock, SHEET, days)[0].set_at for days in (90, 60, 45)]
    assert clock.older_pieces == pieces
    wanted = [expected(everything, SHEET, days)[0].set_at for days in (90, 60, 45)]
    assert times == [pytest.approx(at, abs=0.0021) for at in wanted]
    # Asking about what no open build needs moves nothing.
    answers(shop, clock, SHEET, 300)
    assert clock.warmth(shop).since == long_ago.timestamp()


@pytest.mark.parametrize("days_ago", [2, 60, 300])
def test_readings_found_late_count_for_what_they_bear_on(shop: Session, days_ago: float) -> None:
    clock = CureClock()
    before = answers(shop, clock, SHEET, days_ago)
    start = NOW - timedelta(days=days_ago)
    read(shop, [(start + n * timedelta(minutes=30), 14.0, None) for n in range(20)])
    after = answers(shop, clock, SHEET, days_ago)
    assert after[0].set_at == pytest.approx(expected(whole(shop), SHEET, days_ago)[0].set_at, abs=0.0021)
    assert after != before


def test_a_correction_of_a_reading_counts_and_others_stay(shop: Session) -> None:
    clock = CureClock()
    warmth = clock.warmth(shop)
    old = answers(shop, clock, SHEET, 100)
    read(shop, [(NOW, 5.0, 1)])
    assert clock.warmth(shop).zones[ZONE].clock.temperature_at(NOW.timestamp()) == 5.0
    read(shop, [(NOW, 21.0, 1)])
    assert clock.warmth(shop).zones[ZONE].clock.temperature_at(NOW.timestamp()) == 21.0
    assert warmth.zones[ZONE].clock is clock.warmth(shop).zones[ZONE].clock
    assert answers(shop, clock, SHEET, 100) == old


def test_a_second_sensor_is_heard_and_its_last_reading_said(shop: Session) -> None:
    clock = CureClock()
    clock.warmth(shop)
    shop.add(Sensor(zone_id=ZONE, name="by the door", created_at=START))
    shop.flush()
    read(shop, [(NOW, 12.5, 2)])
    now = clock.warmth(shop).zones[ZONE].clock
    assert now.temperature_at(NOW.timestamp()) == 12.5
    assert now.warm_line.temperature_at(NOW.timestamp()) == 19.0
    assert now.last_readings()[2] == (NOW.timestamp(), 12.5)


def test_a_zone_that_fell_silent_long_ago_still_says_when(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        session.execute(update(Change).values(last_at=NOW))
        read(session, [(START + n * timedelta(hours=1), 18.0, None) for n in range(50)])
        line = CureClock().warmth(session).zones[ZONE].clock.line
        assert line.last_reading == ((START + timedelta(hours=49)).timestamp(), 18.0)
        assert len(line.starts) == 2


def test_another_name_is_no_reading(shop: Session) -> None:
    clock = CureClock()
    before = answers(shop, clock, SHEET, 1)
    change_zone(shop, ZONE, name="long bench")
    assert clock.warmth(shop).zones[ZONE].name == "long bench"
    assert answers(shop, clock, SHEET, 1) == before


@pytest.mark.parametrize("days_ago", [1, 200])
def test_what_is_assumed_counts_where_nobody_read(shop: Session, days_ago: float) -> None:
    clock, start = CureClock(), NOW - timedelta(days=days_ago)
    answers(shop, clock, SHEET, days_ago)
    gone = (Reading.at > start) & (Reading.at < start + timedelta(hours=8))
    shop.execute(Reading.__table__.delete().where(gone))  # type: ignore[attr-defined]
    change_zone(shop, ZONE, assumed_c=9.0)
    got, wanted = answers(shop, clock, SHEET, days_ago), expected_at(shop, 9.0, start)
    assert got[0].set_at == pytest.approx(wanted, abs=0.0021)


def expected_at(session: Session, assumed_c: float, start: datetime) -> float | None:
    clock = ZoneClock(TemperatureLine(assumed_c, HOUR))
    rows = session.execute(select(Reading.at, Reading.celsius).order_by(Reading.id))
    clock.take_in({None: [(at.timestamp(), celsius) for at, celsius in rows]})
    return clock.times(SHEET, start.timestamp()).set_at


def test_what_was_thrown_away_is_forgotten(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    clock = CureClock()

    def celsius(session: Session) -> float:
        return clock.warmth(session).zones[ZONE].clock.temperature_at(START.timestamp())

    abandoned = hub.database.begin()
    read(abandoned, [(START, 5.0, None)])
    assert celsius(abandoned) == 5.0
    hub.database.abandon(abandoned)
    with hub.database.reading() as session:
        assert celsius(session) == 20.0
    with hub.database.writing(hands.wall_at) as session:
        read(session, [(START, 18.0, None)])
    with hub.database.reading() as session:
        assert celsius(session) == 18.0


@pytest.mark.parametrize("days_ago", [1, 200])
def test_a_reading_counts_that_was_committed_after_a_later_one_of_another_zone(
    shop: Session, days_ago: float
) -> None:
    clock = CureClock()
    last = shop.scalars(select(Reading.id).order_by(Reading.id.desc())).first() or 0
    shop.execute(insert(Zone).values(name="cellar", assumed_c=8.0, created_at=NOW, readings_version=1))
    made = {"celsius": 10.0, "entered_at": NOW, "source": "api"}
    shop.execute(insert(Reading).values(id=last + 90, zone_id=ZONE + 1, at=NOW, **made))
    before = answers(shop, clock, SHEET, days_ago)
    at = NOW - timedelta(days=days_ago) + timedelta(minutes=1)
    shop.execute(insert(Reading).values(id=last + 1, zone_id=ZONE, at=at, **made))
    bench = update(Zone).where(Zone.id == ZONE)
    shop.execute(bench.values(readings_version=Zone.readings_version + 1))
    answers(shop, clock, SHEET, days_ago)
    clocks = Clocks(shop, clock.warmth(shop))
    assert clocks.temperature_at(ZONE, at.timestamp()) == 10.0
    assert answers(shop, clock, SHEET, days_ago) != before


def test_a_month_later_what_is_long_past_is_dropped(shop: Session) -> None:
    clock = CureClock()
    before = clock.warmth(shop)
    shop.execute(update(Change).values(last_at=NOW + timedelta(days=30)))
    assert clock.warmth(shop).since == before.since
    shop.execute(update(Change).values(last_at=NOW + timedelta(days=30, seconds=1)))
    after = clock.warmth(shop)
    assert after.since == (NOW + timedelta(seconds=1)).timestamp()
    assert len(after.zones[ZONE].clock.line.starts) < 10
    assert answers(shop, clock, SHEET, 3)[0].set_at == pytest.approx(
        expected(whole(shop), SHEET, 3)[0].set_at, abs=0.0021
    )


def test_the_clocks_of_older_readings_do_not_pile_up(shop: Session) -> None:
    clock = CureClock(most_older_pieces=2000)
    first = [answers(shop, clock, SHEET, days) for days in range(40, 390, 10)]
    assert 0 < clock.older_pieces <= 2000
    assert [answers(shop, clock, SHEET, days) for days in range(40, 390, 10)] == first


def test_an_instant_before_any_calendar_is_no_fault(shop: Session) -> None:
    clocks = Clocks(shop, CureClock().warmth(shop))
    long_ago = datetime(1, 1, 2, tzinfo=UTC).timestamp()
    assert clocks.pot_life_ends(ZONE, SHEET, long_ago) == long_ago + 45 * 60
