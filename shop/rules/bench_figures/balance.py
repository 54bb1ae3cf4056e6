"""Figures of the finished rod: what it weighs and where it balances, bare and with the reel."""

from typing import Any, NamedTuple

from shop.craft.faults import SumFault
from shop.craft.lengths import typable
from shop.craft.quantities import MILLION, Dimension, Quantity
from shop.craft.saying import say_length
from shop.craft.taper import mass_centre_nm
from shop.rules.bench_figures import tolerances
from shop.rules.bench_figures.base import BenchFigure, BenchSheet, Trouble
from shop.rules.bench_figures.finish import on_the_wraps_ml
from shop.rules.bench_figures.glue import held_ml
from shop.rules.bench_figures.texts import grams
from shop.rules.make_up import Bare, MakeUp, Sheet

TOPIC = "balance"
# Cured epoxy, where the sheet gives no densities; a value from memory.
USUAL_DENSITY = 1.1


class _Weighed(NamedTuple):
    """Something on the rod: its mass in mg, and where it hangs in nm from the butt."""

    name: str
    mg: int
    at_nm: int


def balance_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """Blank, parts, guides, epoxy and finish by their masses; what has none on file is left out, and said."""
    blank = make_up.blank
    if blank is None or blank.mass_mg is None or not blank.stations:
        return
    bare = _bare(blank, blank.mass_mg, sheet)
    if bare is None:
        return
    weighed, missing = _parts(make_up, blank)
    weighed = [bare, *weighed, *_hardened(make_up, blank)]
    if missing:
        sentence = f"Left out, since their masses are not on file: {', '.join(missing)}."
        sheet.troubles.append(Trouble(TOPIC, sentence))
    given: dict[str, Any] = {
        "parts": [
            {"part": item.name, "mass": grams(item.mg), "position": typable(item.at_nm)} for item in weighed
        ]
    }
    ways = make_up.ways
    if ways.reel_mg is not None and ways.reel_from_butt_nm is not None:
        given |= {"reel_mass": grams(ways.reel_mg), "reel_position": typable(ways.reel_from_butt_nm)}
    _said(given, not missing, sheet)


def _said(given: dict[str, Any], is_whole: bool, sheet: BenchSheet) -> None:
    """The figures; they are compared with what is measured only where nothing was left out."""
    answer = sheet.ask(TOPIC, "balance", given)
    if answer is None:
        return
    mass_g, balance = answer.value("mass_g"), answer.value("balance")
    mass = Quantity(Dimension.MASS, round(mass_g * MILLION))
    place = Quantity(Dimension.LENGTH, balance)
    for name, said, meant, tolerance in (
        ("finished mass", f"{mass_g:.1f} g", mass, tolerances.FINISHED_MASS),
        ("balance point", f"{say_length(balance)} from the butt", place, tolerances.BALANCE_POINT),
    ):
        figure = BenchFigure(TOPIC, name, said, calculator="balance", given=given)
        if is_whole:
            figure = BenchFigure(TOPIC, name, said, meant, tolerance, "", "balance", given)
        sheet.add(figure)
    if answer.value("balance_with_reel") is not None:
        said = f"{say_length(answer.value('balance_with_reel'))} from the butt"
        sheet.add(BenchFigure(TOPIC, "with the reel it balances", said, calculator="balance", given=given))


def _bare(blank: Bare, mass_mg: int, sheet: BenchSheet) -> _Weighed | None:
    """The bare blank at its balance; none where that cannot be worked out from its stations."""
    try:
        return _Weighed("blank", mass_mg, mass_centre_nm(blank.stations))
    except SumFault as fault:
        sheet.troubles.extend(Trouble(TOPIC, sentence) for sentence in fault.errors.values())
        return None


def _parts(make_up: MakeUp, blank: Bare) -> tuple[list[_Weighed], list[str]]:
    """Handle and guides; the second list names those whose mass is not on file."""
    placed = [
        (part.place, part.mass_mg, _middle(part.from_butt_nm, part.to_butt_nm)) for part in make_up.parts
    ]
    placed += [
        (f"guide {number}", guide.mass_mg, blank.length_nm - guide.from_tip_nm)
        for number, guide in enumerate(make_up.train, 1)
    ]
    if make_up.tip_top is not None:
        placed.append(("tip-top", make_up.tip_top.mass_mg, blank.length_nm))
    weighed = [_Weighed(name, mg, at) for name, mg, at in placed if mg is not None]
    return weighed, [name for name, mg, _at in placed if mg is None]


def _hardened(make_up: MakeUp, blank: Bare) -> list[_Weighed]:
    """Epoxy in the joints, at their middles, and finish on the wraps, at the middle of the guides."""
    weighed = []
    for place, volume_ml in held_ml(make_up).items():
        part = make_up.part_at(place)
        if part is not None:
            at = _middle(part.from_butt_nm, part.to_butt_nm)
            weighed.append(_Weighed(f"epoxy, {place}", _mg(volume_ml, make_up.bond), at))
    finish_ml = on_the_wraps_ml(make_up)
    if finish_ml:
        places = [blank.length_nm - guide.from_tip_nm for guide in make_up.train]
        weighed.append(_Weighed("finish", _mg(finish_ml, make_up.finish), sum(places) // len(places)))
    return [item for item in weighed if item.mg > 0]


def _mg(volume_ml: float, kind: Sheet | None) -> int:
    density = USUAL_DENSITY
    if kind is not None and kind.density_a is not None and kind.density_b is not None:
        parts = kind.parts_a + kind.parts_b
        density = (kind.density_a * kind.parts_a + kind.density_b * kind.parts_b) / parts
    return round(volume_ml * density * 1000)


def _middle(first: int, second: int) -> int:
    return (first + second) // 2
