"""Figures of the finish: how much to mix for each coat, and whether it can be brushed in its pot life."""

from shop.craft.lengths import typable
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.bench_figures.glue import mixed
from shop.rules.bench_figures.wraps import wrapped_places
from shop.rules.make_up import MakeUp

TOPIC = "finish"


def finish_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """The first coat fills the thread and takes more; the later ones lie on it."""
    places = wrapped_places(make_up, BenchSheet())
    wraps = sum(count for count, _od in places)
    if not wraps:
        return
    given = _given(make_up, places)
    answer = sheet.ask(TOPIC, "finish-volume", given)
    if answer is not None:
        for name, volume in (("first coat", "first_mix_ml"), ("each later coat", "later_mix_ml")):
            said = f"{answer.value(volume):.1f} mL with what stays in cup and brush"
            sheet.add(BenchFigure(TOPIC, f"{name}, in all", said, calculator="finish-volume", given=given))
            mixed(TOPIC, f"{name}, A and B", "", answer.value(volume), make_up.finish, sheet)
    if make_up.finish is not None:
        _brushing(make_up, wraps, make_up.finish.pot_life_minutes, sheet)


def on_the_wraps_ml(make_up: MakeUp) -> float:
    """What stays on the wraps of two coats, in mL; nothing where no wrap is known."""
    places = wrapped_places(make_up, BenchSheet())
    if not places:
        return 0.0
    answer = BenchSheet().ask(TOPIC, "finish-volume", _given(make_up, places))
    return 0.0 if answer is None else float(answer.value("first_ml") + answer.value("later_ml"))


def _given(make_up: MakeUp, places: list[tuple[int, int]]) -> dict[str, str]:
    wraps = sum(count for count, _od in places)
    mean_nm = sum(count * od for count, od in places) // wraps
    ways = make_up.ways
    return {
        "od": typable(mean_nm), "length": typable(wraps * ways.wrap_nm), "thread": typable(ways.thread_nm)
    }  # fmt: skip


def _brushing(make_up: MakeUp, wraps: int, pot_life_minutes: float, sheet: BenchSheet) -> None:
    given = {
        "wraps": f"{wraps}", "minutes_each": f"{make_up.ways.minutes_a_wrap:g}",
        "pot_life": f"{pot_life_minutes:g}",
    }  # fmt: skip
    answer = sheet.ask(TOPIC, "brush-time", given)
    if answer is not None:
        minutes, share = answer.value("minutes"), answer.value("share_percent")
        said = f"{wraps} wraps, {minutes:.0f} min: {share:.0f} % of the pot life"
        sheet.add(BenchFigure(TOPIC, "brushing one coat", said, calculator="brush-time", given=given))
