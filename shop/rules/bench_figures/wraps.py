"""Figures of the wraps: turns on a foot, and thread for the whole rod."""

from typing import Any

from shop.craft.lengths import typable
from shop.craft.saying import say_length
from shop.craft.sums.base import Kind
from shop.craft.sums.saying import say
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.make_up import MakeUp

TOPIC = "wraps"


def wrap_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """Turns by the length of a wrap, and the thread by the diameters under the guides."""
    places = wrapped_places(make_up, sheet)
    if not places:
        return
    ways = make_up.ways
    _count, thickest = places[0]
    one = {"length": typable(ways.wrap_nm), "thread": typable(ways.thread_nm), "od": typable(thickest)}
    answer = sheet.ask(TOPIC, "wrap-thread", one)
    if answer is not None:
        turns = say(Kind.NUMBER, answer.value("turns"))
        said = f"{turns} turns over {say_length(ways.wrap_nm)}"
        sheet.add(BenchFigure(TOPIC, "one wrap", said, calculator="wrap-thread", given=one))
    rows = [{"count": f"{count}", "length": typable(ways.wrap_nm), "od": typable(od)} for count, od in places]
    given: dict[str, Any] = {"wraps": rows, "thread": typable(ways.thread_nm)}
    answer = sheet.ask(TOPIC, "thread-for-rod", given)
    if answer is not None:
        metres, yards = answer.value("needed_m"), answer.value("needed_yd")
        said = f"{say(Kind.NUMBER, metres, 'm')} ({say(Kind.NUMBER, yards, 'yd')})"
        sheet.add(BenchFigure(TOPIC, "thread to have", said, calculator="thread-for-rod", given=given))


def wrapped_places(make_up: MakeUp, sheet: BenchSheet) -> list[tuple[int, int]]:
    """The wraps at each guide and the diameter under them, in nm, from butt to tip."""
    if make_up.blank is None or not make_up.blank.stations:
        return []
    places = []
    for guide in sorted(make_up.train, key=lambda guide: -guide.from_tip_nm):
        at = make_up.blank.length_nm - guide.from_tip_nm
        od_nm = sheet.od_nm(TOPIC, make_up.blank, at)
        if od_nm is not None:
            places.append((guide.feet, od_nm))
    return places
