"""The figures of a rod as pages show them: what is meant, what was measured, and the way to the sum."""

from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from shop.craft.quantities import Quantity, QuantityError, format_quantity, is_fine, within
from shop.rules.bench_figures.base import BenchFigure, BenchSheet, Trouble
from shop.rules.sequences import FIGURES, Sequence, Stage
from shop.web.sums import address_of

TITLES = {
    "blank": "The blank", "handle": "The handle, from the butt", "grips": "Grips", "seat": "Reel seat",
    "sliding": "What slides on first", "glue": "Epoxy", "guides": "Guides", "static test": "Static test",
    "wraps": "Wraps", "finish": "Finish", "balance": "Mass and balance",
}  # fmt: skip


class FigureLine(NamedTuple):
    """One figure in finished words. `measured` and `verdict` are empty until it has been measured."""

    name: str
    said: str
    tolerance: str
    measured: str
    verdict: str
    href: str


class TroubleLine(NamedTuple):
    """Something to look at before going on, and the sum that says so."""

    sentence: str
    href: str


class FigureGroup(NamedTuple):
    """The figures of one topic."""

    topic: str
    title: str
    lines: list[FigureLine]
    troubles: list[TroubleLine]


def figure_groups(
    sheet: BenchSheet, topics: Collection[str], measured: Mapping[str, Quantity], places: Collection[str] = ()
) -> list[FigureGroup]:
    """The figures of these topics, topic by topic; of the epoxy, where places are said, what they need."""
    groups = []
    for topic in FIGURES:
        if topic not in topics:
            continue
        figures = [f for f in sheet.figures if f.topic == topic and (not places or f.place in ("", *places))]
        lines = [figure_line(figure, measured.get(figure.name)) for figure in figures]
        troubles = list(_troubles(trouble for trouble in sheet.troubles if trouble.topic == topic))
        if lines or troubles:
            groups.append(FigureGroup(topic, TITLES.get(topic, topic), lines, troubles))
    return groups


def figures_of_stage(
    sheet: BenchSheet, sequence: Sequence, stage: Stage, measured: Mapping[str, Quantity]
) -> list[FigureGroup]:
    """The figures that a stage shows; of the epoxy, those of the joints that are closed on reaching it.

    A joint that no stage closes by its own name, as a seat's arbor may be, goes with the place
    it is named by.
    """
    closed = {place for other in sequence.stages for place in other.cure_places()}
    places = stage.cure_places()
    inner = {
        figure.place
        for figure in sheet.figures
        if figure.place not in closed and figure.place.startswith(tuple(f"{place} " for place in places))
    }
    return figure_groups(sheet, stage.figures, measured, (*places, *sorted(inner)))


def figure_line(figure: BenchFigure, measured: Quantity | None) -> FigureLine:
    """A figure with what was measured beside it."""
    href = address_of(figure.calculator, figure.given) if figure.calculator else ""
    fine = figure.tolerance is not None and is_fine(figure.tolerance)
    said = "" if measured is None else format_quantity(measured, fine)
    return FigureLine(figure.name, figure.said, figure.tolerance_said, said, _verdict(figure, measured), href)


def _verdict(figure: BenchFigure, measured: Quantity | None) -> str:
    if measured is None or figure.meant is None or figure.tolerance is None:
        return ""
    try:
        return "within" if within(measured, figure.meant, figure.tolerance) else "out of tolerance"
    except QuantityError as fault:
        return str(fault)


def _troubles(troubles: Iterable[Trouble]) -> Iterable[TroubleLine]:
    for trouble in troubles:
        href = address_of(trouble.calculator, trouble.given) if trouble.calculator else ""
        yield TroubleLine(trouble.sentence, href)
