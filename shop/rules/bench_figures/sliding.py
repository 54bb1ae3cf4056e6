"""What must be on the blank before what: one list, in order."""

from typing import Any

from shop.craft.fit.sliding import GoesOn
from shop.craft.lengths import typable
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.make_up import ARBOR, FROM_BUTT_END, GRIP, SEAT, MakeUp, Part

TOPIC = "sliding"


def sliding_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """The parts of the handle and the guide nearest to it, in the order in which they go on."""
    if not make_up.parts:
        return
    rows = [_row(part, make_up) for part in make_up.parts if part.kind != ARBOR]
    given: dict[str, Any] = {"parts": rows + _first_guide(make_up)}
    answer = sheet.ask(TOPIC, "slide-on", given)
    if answer is None:
        return
    for number, name, goes_on, _at, _reason in answer.value("order"):
        said = f"{name}, {goes_on}" if goes_on == GoesOn.WRAPPED else f"{name}, from the {goes_on}"
        sheet.add(BenchFigure(TOPIC, f"{number}.", said, calculator="slide-on", given=given))


def _row(part: Part, make_up: MakeUp) -> dict[str, str]:
    """A part as a row of the calculator.

    An arbor goes on with the seat that lies over it; a grip begins for this sum where the cap over its end
    leaves it.
    """
    end = GoesOn.BUTT if part.kind in FROM_BUTT_END else GoesOn.TIP
    on_arbor = part.kind == SEAT and make_up.under(part, ARBOR) is not None
    caps = [other for kind in FROM_BUTT_END if (other := make_up.under(part, kind)) is not None]
    begins = max([part.from_butt_nm, *(cap.to_butt_nm for cap in caps if part.kind == GRIP)])
    return {
        "name": f"{part.place}, after its arbor" if on_arbor else part.place,
        "from_butt": typable(begins),
        "length": typable(part.to_butt_nm - begins),
        "goes_on": end.value,
    }


def _first_guide(make_up: MakeUp) -> list[dict[str, str]]:
    places = [at for guide in make_up.guides if (at := make_up.from_butt(guide)) is not None]
    if not places:
        return []
    row = {"name": "butt guide", "from_butt": typable(min(places)), "length": "0 in"}
    return [{**row, "goes_on": GoesOn.WRAPPED.value}]
