"""Figures of the bare blank: what it should measure and weigh, and its diameter where parts come to lie."""

from shop.craft.lengths import typable
from shop.craft.quantities import Dimension, Quantity
from shop.craft.saying import say_fine, say_length
from shop.rules.bench_figures import tolerances
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.bench_figures.texts import grams, stations_of
from shop.rules.make_up import MakeUp


def blank_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """Length and mass, to be measured when the blank is checked, and the diameters under the handle."""
    blank = make_up.blank
    if blank is None:
        return
    length = Quantity(Dimension.LENGTH, blank.length_nm)
    sheet.add(
        BenchFigure("blank", "blank length", say_length(blank.length_nm), length, tolerances.BLANK_LENGTH)
    )
    if blank.mass_mg is not None:
        mass = Quantity(Dimension.MASS, blank.mass_mg * 1000)
        said = grams(blank.mass_mg)
        sheet.add(BenchFigure("blank", "blank mass", said, mass, tolerances.BLANK_MASS))
    for number, (joint, insertion) in enumerate(blank.joints, 1):
        said = f"{say_length(joint)} from the butt, {say_length(insertion)} deep"
        sheet.add(BenchFigure("blank", f"joint {number}", said))
    if blank.stations:
        for place in sorted({end for part in make_up.parts for end in (part.from_butt_nm, part.to_butt_nm)}):
            _diameter(make_up, place, sheet)


def _diameter(make_up: MakeUp, place: int, sheet: BenchSheet) -> None:
    assert make_up.blank is not None
    given = {"stations": stations_of(make_up.blank), "at": typable(place)}
    answer = sheet.ask("blank", "taper", given)
    if answer is not None:
        name = f"diameter {typable(place)} from the butt"
        sheet.add(BenchFigure("blank", name, say_fine(answer.value("od")), calculator="taper", given=given))
