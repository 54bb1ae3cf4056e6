"""A zone as its page shows it: the temperature now and where it comes from, its sensors, its last days."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from shop.craft.cure import ZoneClock
from shop.db.sessions import Session
from shop.queries.sensors import SensorView, lone_arrivals, sensors_in
from shop.queries.zones import coldest_in_use, latest_readings, zone_view
from shop.rules.sensors import LastReading, disagreement, fault_of_clock, is_silent
from shop.web.benches import BenchSide
from shop.web.heard import Heard
from shop.web.templating import Frame
from shop.web.wording import when
from shop.web.zone_lines import where_from
from shop.web.zone_plot import MOST_DAYS, draw_plot

MOST_ZONES = 100
SHOWN_READINGS = 12
BY_HAND = "by hand or unnamed"
# Adhesives mixed within so many days are in use.
IN_USE = timedelta(days=30)
DAYS_SHOWN = (1, 3, 7, MOST_DAYS)


def zone_context(page: Frame, session: Session, bench: BenchSide, zone_id: int, days: int) -> dict[str, Any]:
    """What the template of a zone needs. Raises `NotOnFile`."""
    zone = zone_view(session, zone_id)
    clock = bench.warmth(session).zones[zone_id].clock
    sensors = sensors_in(session, zone_id)
    coldest = coldest_in_use(session, bench.now - IN_USE)
    names: dict[Any, str] = {sensor.id: sensor.name for sensor in sensors} | {None: BY_HAND}
    rows = [
        [when(read.at, bench.now, page.zone), f"{read.celsius:.1f} °C", read.sensor or "–"]
        for read in latest_readings(session, zone_id, SHOWN_READINGS)
    ]
    return {
        "zone": zone, "rows": rows,
        "now_c": f"{clock.temperature_at(bench.now.timestamp()):.1f} °C",
        "says": where_from(clock.line, bench.now, page.zone),
        "kept": {"name": zone.name, "assumed_c": f"{zone.assumed_c:.10g}"},
        "warning": disagreement(_latest(clock, names), bench.now),
        "sensors": _sensor_lines(page, session, bench, zone_id, clock, sensors),
        "broker": _broker(bench.hub.heard, bench, page) if _publishes(sensors) else "",
        "plot": draw_plot(clock, names, coldest, days, bench.now, page.zone),
        "spans": [(n, "one day" if n == 1 else f"{n} days", f"?days={n}") for n in DAYS_SHOWN],
        "sensor_names": sensor_choices(sensors), "shop_zone": page.shop.time_zone,
    }  # fmt: skip


def sensor_choices(sensors: Iterable[SensorView]) -> list[tuple[str, str]]:
    """The sensors in use of a zone to choose from, by name, and none of them."""
    used = [sensor.name for sensor in sensors if sensor.ended_at is None]
    return [("", "none of the sensors"), *((name, name) for name in used)]


def _latest(clock: ZoneClock, names: dict[Any, str]) -> list[LastReading]:
    """What each thermometer said last."""
    return [
        LastReading(names.get(sensor, "another sensor"), datetime.fromtimestamp(at, UTC), celsius)
        for sensor, (at, celsius) in clock.last_readings().items()
    ]


def _sensor_lines(
    page: Frame, session: Session, bench: BenchSide, zone_id: int, clock: ZoneClock,
    sensors: Sequence[SensorView],
) -> list[dict[str, Any]]:  # fmt: skip
    """One line for each sensor in use: what it read last, and everything that is wrong with it."""
    arrivals = lone_arrivals(session, zone_id)
    zone_speaks = clock.line.speaks_at(bench.now.timestamp())
    lines = []
    for sensor in sensors:
        if sensor.ended_at is None:
            clock_fault = fault_of_clock(arrivals.get(sensor.id, []))
            faults = [_silence(page, bench, sensor, zone_speaks), clock_fault, _refused(page, bench, sensor)]
            lines.append({
                "name": sensor.name, "href": f"/ways/sensors/{sensor.id}", "topic": sensor.topic or "",
                "last": _last(page, bench, sensor), "faults": [fault for fault in faults if fault],
            })  # fmt: skip
    return lines


def _last(page: Frame, bench: BenchSide, sensor: SensorView) -> str:
    if sensor.last_read_at is None or sensor.last_celsius is None:
        return "has not read anything yet"
    return f"{sensor.last_celsius:.1f} °C, {when(sensor.last_read_at, bench.now, page.zone)}"


def _silence(page: Frame, bench: BenchSide, sensor: SensorView, zone_speaks: bool) -> str:
    gap = timedelta(minutes=page.shop.reading_gap_minutes)
    if sensor.last_read_at is None or not is_silent(sensor.last_read_at, bench.now, gap):
        return ""
    instead = "what else is read here counts" if zone_speaks else "the assumed temperature counts"
    return f"silent since {when(sensor.last_read_at, bench.now, page.zone)}: {instead}"


def _refused(page: Frame, bench: BenchSide, sensor: SensorView) -> str:
    last = bench.hub.heard.refused.get(sensor.id)
    if last is None:
        return ""
    many = "" if last.times == 1 else f" ({last.times} in all)"
    return f"last refused, {when(last.at, bench.now, page.zone)}{many}: {last.says}"


def _publishes(sensors: Iterable[SensorView]) -> bool:
    return any(sensor.topic and sensor.ended_at is None for sensor in sensors)


def _broker(heard: Heard, bench: BenchSide, page: Frame) -> str:
    """Whether the broker is there, at which sensors of this zone publish."""
    if not bench.hub.settings.mqtt_url:
        return "No broker is set (TACKFREE_MQTT_URL), so what the sensors publish is not heard."
    if heard.is_connected:
        return ""
    since = "" if heard.since is None else f" since {when(heard.since, bench.now, page.zone)}"
    return f"The broker cannot be reached{since}; it is tried again and again."
