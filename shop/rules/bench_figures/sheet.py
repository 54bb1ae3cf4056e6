"""All the figures that follow from a make-up, topic by topic, and those among them that are measured."""

from shop.rules.bench_figures.balance import balance_figures
from shop.rules.bench_figures.base import BenchSheet
from shop.rules.bench_figures.blank import blank_figures
from shop.rules.bench_figures.finish import finish_figures
from shop.rules.bench_figures.glue import glue_figures
from shop.rules.bench_figures.grips import grip_figures
from shop.rules.bench_figures.guides import guide_figures
from shop.rules.bench_figures.handle import handle_figures
from shop.rules.bench_figures.seat import seat_figures
from shop.rules.bench_figures.sliding import sliding_figures
from shop.rules.bench_figures.static_test import static_test_figures
from shop.rules.bench_figures.wraps import wrap_figures
from shop.rules.facts import Meant
from shop.rules.make_up import MakeUp

# In the order in which a rod needs them.
TOPICS = (
    blank_figures, handle_figures, grip_figures, seat_figures, sliding_figures, glue_figures, guide_figures,
    static_test_figures, wrap_figures, finish_figures, balance_figures,
)  # fmt: skip


def bench_sheet(make_up: MakeUp) -> BenchSheet:
    """Every figure of a make-up, and whatever of it cannot be or should be looked at, each said once."""
    sheet = BenchSheet()
    for work_out in TOPICS:
        work_out(make_up, sheet)
    said = {(trouble.topic, trouble.sentence): trouble for trouble in reversed(sheet.troubles)}
    sheet.troubles = list(reversed(said.values()))
    return sheet


def meant_of(sheet: BenchSheet) -> dict[str, Meant]:
    """What a measurement is compared with, by the name of the figure."""
    return {
        figure.name: Meant(figure.meant, figure.tolerance)
        for figure in sheet.figures
        if figure.meant is not None and figure.tolerance is not None
    }
