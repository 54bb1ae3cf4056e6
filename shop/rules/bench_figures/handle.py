"""Figures of the handle: where every part begins and ends, from the butt of the blank."""

from shop.craft.quantities import Dimension, Quantity
from shop.craft.saying import say_length
from shop.rules.bench_figures import tolerances
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.make_up import MakeUp


def handle_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """Two marks a part, and the length of the whole handle."""
    for part in sorted(make_up.parts, key=lambda part: part.from_butt_nm):
        for word, place in (("begins", part.from_butt_nm), ("ends", part.to_butt_nm)):
            meant = Quantity(Dimension.LENGTH, place)
            said = f"{say_length(place)} from the butt"
            sheet.add(BenchFigure("handle", f"{part.place} {word}", said, meant, tolerances.LAYOUT))
    if make_up.parts:
        end = max(part.to_butt_nm for part in make_up.parts)
        meant = Quantity(Dimension.LENGTH, end)
        sheet.add(BenchFigure("handle", "handle length", say_length(end), meant, tolerances.HANDLE_LENGTH))
