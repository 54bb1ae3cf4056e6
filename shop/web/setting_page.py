"""Setting as its page shows it: the soft cures in order, on the ruler or in a table, and the warmth."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, NamedTuple
from urllib.parse import urlencode

from shop.db.sessions import Session
from shop.queries.cure_clock import Warmth
from shop.queries.soft import soft_cures_of
from shop.rules.refusals import NotOnFile
from shop.rules.soft import Concern, SoftCure, in_order
from shop.web.benches import BenchSide
from shop.web.setting_rows import DrawnRow, Frame, TableWords, draw_row, frame_at, table_row
from shop.web.templating import Frame as PageFrame
from shop.web.wording import when
from shop.web.zone_lines import Wanted, ZoneLine, draw_zone

TABLE = "table"
TITLES = {
    Concern.SHUTS: "A recoat window shuts",
    Concern.NO_TIME: "No time frees these",
    Concern.WAITS: "By what comes next",
}


class View(NamedTuple):
    """What was asked for: the ruler or the table, of one zone (its id) or of all."""

    is_table: bool
    zone_id: int | None

    def address(self, **other: Any) -> str:
        """The address of this view, or of one that differs in what is given."""
        view = self._replace(**other)
        asked = {"as": TABLE if view.is_table else None, "zone": view.zone_id}
        query = urlencode({name: value for name, value in asked.items() if value is not None})
        return "/setting" + (f"?{query}" if query else "")


def setting_context(
    page: PageFrame, session: Session, bench: BenchSide, view: View
) -> dict[str, Any]:  # fmt: skip
    """What the template of the page needs. Pages show whole minutes, so it is as of the minute.

    Raises `NotOnFile` for a zone that is not there.
    """
    minute = bench.now.replace(second=0, microsecond=0)
    warmth = bench.warmth(session)
    every = soft_cures_of(session, bench.hub.sequences, bench.opened(session), minute)
    names = {soft.cure.lies_in for soft in every}
    if view.zone_id is not None and view.zone_id not in warmth.zones:
        raise NotOnFile(f"There is no zone {view.zone_id} on file.")
    chosen = None if view.zone_id is None else warmth.zones[view.zone_id].name
    shown = [soft for soft in every if chosen is None or soft.cure.lies_in == chosen]
    frame = frame_at(minute, _last_instant(shown), page.zone, page.shop.hours)
    row_of: Callable[[SoftCure, Frame], DrawnRow | TableWords] = table_row if view.is_table else draw_row
    groups = [
        (TITLES[concern], concern.name.lower(), [row_of(soft, frame) for soft in members])
        for concern, members in in_order(shown, minute)
    ]
    return {
        "view": view, "frame": frame, "groups": groups, "count": len(shown), "total": len(every),
        "beyond": _beyond(shown, frame), "zones": _zone_lines(session, bench, shown, frame),
        "choices": _choices(view, warmth, names),
    }  # fmt: skip


def _last_instant(shown: list[SoftCure]) -> datetime | None:
    """The last instant at which something happens by time alone, or a window shuts."""
    instants = [soft.cure.full_at for soft in shown]
    instants += [soft.cure.recoat_until for soft in shown if soft.takes_a_coat]
    return max((at for at in instants if at is not None), default=None)


def _beyond(shown: list[SoftCure], frame: Frame) -> str:
    """What to say of the cures that are hard only after the ruler has ended."""
    end = frame.scale.end
    count = sum(1 for soft in shown if soft.cure.full_at is not None and soft.cure.full_at > end)
    if not count:
        return ""
    who = "One cure is" if count == 1 else f"{count} cures are"
    return f"{who} not hard before the ruler ends, {when(end, frame.now, frame.zone)}; the words say when."


def _zone_lines(
    session: Session, bench: BenchSide, shown: list[SoftCure], frame: Frame
) -> list[ZoneLine]:  # fmt: skip
    """The temperature lines of the zones in which something shown is soft."""
    coldest: dict[str, set[float]] = {}
    for soft in shown:
        coldest.setdefault(soft.cure.lies_in, set()).add(soft.cure.coldest_c)
    wanted = tuple(
        Wanted(zone.id, zone.name, tuple(sorted(coldest[zone.name])))
        for zone in bench.warmth(session).zones.values()
        if zone.name in coldest
    )

    def read(reading: Session) -> list[ZoneLine]:
        zones = bench.warmth(reading).zones
        return [
            draw_zone(zone, zones[zone.zone_id].clock.line, frame.scale, frame.now, frame.zone)
            for zone in wanted
        ]

    # Not by the frame itself: what is recalled may outlive the minute, and a frame holds many words.
    return bench.recall(("zone lines", wanted, frame.scale, frame.now, frame.zone), session, read)


def _choices(view: View, warmth: Warmth, names: set[str]) -> list[tuple[str, str, str]]:
    """The zones to choose from, as key, words and address; none where there is nothing to choose."""
    zones = [zone for zone in warmth.zones.values() if zone.name in names or zone.id == view.zone_id]
    if len(zones) < 2 and view.zone_id is None:
        return []
    each = [(str(zone.id), zone.name, view.address(zone_id=zone.id)) for zone in zones]
    return [("", "every zone", view.address(zone_id=None)), *each]
