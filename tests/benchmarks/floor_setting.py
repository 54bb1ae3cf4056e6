"""The floor's page Setting: the geometry and the words of every soft cure, with nothing kept.

A cure is four stored numbers of seconds here and the shop keeps UTC; the ruler of stretches, the order and
the words are those of the program.
"""

from bisect import bisect_right
from datetime import UTC, datetime
from typing import Any, NamedTuple

SET, FULL, FROM, UNTIL = 600 * 60, 4000 * 60, 700 * 60, 2000 * 60
HOUR, DAY = 3600, 86_400
WIDTHS = (12.0, 21.0, 20.0, 23.0, 24.0)
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

# Number of the rod, place, adhesive, when it was closed (as stored), id.
Stored = tuple[str, str, str, str, int]


class Scale(NamedTuple):
    """Edges in seconds since 1970 and where each lies, in per cent."""

    edges: list[float]
    places: list[float]

    def per_cent(self, at: float) -> float:
        """The place of an instant."""
        edges, places = self.edges, self.places
        if at <= edges[0]:
            return 0.0
        if at >= edges[-1]:
            return 100.0
        part = bisect_right(edges, at) - 1
        share = (at - edges[part]) / (edges[part + 1] - edges[part])
        return round(places[part] + (places[part + 1] - places[part]) * share, 2)


def scale_at(now: float, last: float) -> Scale:
    """The stretches at an instant."""
    midnight = now - now % DAY + DAY
    hour_end = now + HOUR
    first = max(midnight, hour_end)
    second = max(midnight + DAY, first)
    edges = [now - 12 * HOUR, now, hour_end, first, second, min(max(last, second + DAY), now + 14 * DAY)]
    places = [0.0]
    for width in WIDTHS:
        places.append(places[-1] + width)
    return Scale(edges, places)


def said(at: float, today: int) -> str:
    """An instant in words."""
    found = datetime.fromtimestamp(at, UTC)
    clock = f"{found.hour:02d}:{found.minute:02d}"
    if int(at // DAY) == today:
        return clock
    return f"{DAYS[found.weekday()]} {found.day} {MONTHS[found.month - 1]} {clock}"


def setting_of(stored: list[Stored], readings: list[tuple[str, float]], now: float) -> dict[str, Any]:
    """What the page's template needs."""
    soft = [
        (datetime.fromisoformat(closed + "+00:00").timestamp(), number, place, adhesive, cure_id)
        for number, place, adhesive, closed, cure_id in stored
    ]
    soft = [cure for cure in soft if cure[0] + FULL > now]
    scale = scale_at(now, max((cure[0] + FULL for cure in soft), default=now))
    shuts = [cure for cure in soft if cure[2] == "guide wraps" and cure[0] + UNTIL >= now]
    rest = [cure for cure in soft if not (cure[2] == "guide wraps" and cure[0] + UNTIL >= now)]
    shuts.sort()
    rest.sort(key=lambda cure: cure[0] + (SET if cure[0] + SET > now else FULL))
    return {
        "groups": [
            ("A recoat window shuts", "shuts", [_row(cure, scale, now) for cure in shuts]),
            ("By what comes next", "waits", [_row(cure, scale, now) for cure in rest]),
        ],
        "count": len(soft), "edges": scale.places[:-1], "ticks": _ticks(scale, now),
        "now_at": scale.per_cent(now), "now_text": said(now, int(now // DAY)),
        "line": _line(readings, scale), "last_c": readings[-1][1] if readings else 0.0,
    }  # fmt: skip


def _row(cure: tuple[float, str, str, str, int], scale: Scale, now: float) -> tuple[Any, ...]:
    closed, number, place, adhesive, cure_id = cure
    today = int(now // DAY)
    set_at, full_at, begins, ends = closed + SET, closed + FULL, closed + FROM, closed + UNTIL
    word = "set" if set_at <= now else "setting"
    verb = "set" if set_at <= now else "sets"
    times = f"{verb} {said(set_at, today)} · full {said(full_at, today)}"
    window = f"recoat {said(begins, today)} to {said(ends, today)}"
    xs = [scale.per_cent(at) for at in (closed, set_at, full_at, scale.edges[-1])]
    bars = [
        (kind, xs[n], round(xs[n + 1] - xs[n], 2))
        for n, kind in enumerate(("hatched", "light", "solid"))
        if xs[n + 1] > xs[n]
    ]
    recoat = (scale.per_cent(begins), scale.per_cent(ends)) if ends > scale.edges[0] else None
    return number, place, adhesive, cure_id, word, times, window, bars, recoat


def _ticks(scale: Scale, now: float) -> list[tuple[float, str]]:
    today = int(now // DAY)
    ticks = []
    for part, step in ((0, 6), (1, 0.5), (2, 3), (3, 6), (4, 24)):
        at = scale.edges[part] - scale.edges[part] % (step * HOUR) + step * HOUR
        while at < scale.edges[part + 1]:
            ticks.append((scale.per_cent(at), said(at, today)[-5:]))
            at += step * HOUR
    return ticks


def _line(readings: list[tuple[str, float]], scale: Scale) -> str:
    points = [
        f"{scale.per_cent(datetime.fromisoformat(at + '+00:00').timestamp()):g} {100 - 2 * celsius:g}"
        for at, celsius in readings
    ]
    return "M" + "L".join(points) if points else ""
