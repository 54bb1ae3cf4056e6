"""Figures of the reel seat: turns of tape, or the arbor that fills the gap instead."""

from shop.craft.fit.bushing import tape_bushing
from shop.craft.lengths import NM_PER_INCH, typable
from shop.craft.sums.saying import say_fine, say_length
from shop.craft.taper import od_at
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.bench_figures.texts import stations_of
from shop.rules.make_up import ARBOR, SEAT, MakeUp, Part

TOPIC = "seat"
# Rings of tape and how wide each is; between them the epoxy bonds the seat to the blank.
RINGS, RING_NM = 3, NM_PER_INCH * 3 // 8
# What stays open on each side of tape and arbor alike, to be filled with epoxy.
CLEARANCE_NM = NM_PER_INCH * 5 // 1000


def seat_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """Every reel seat: with an arbor where one lies under it or the gap asks for one, else with tape."""
    if make_up.blank is None or not make_up.blank.stations:
        return
    for seat in make_up.parts:
        if seat.kind != SEAT or "bore" not in seat.sizes:
            continue
        if make_up.under(seat, ARBOR) is not None or _tape(make_up, seat, sheet):
            _arbor(make_up, seat, sheet)


def wants_arbor(make_up: MakeUp, seat: Part) -> bool:
    """Whether the gap under a seat is more than tape should fill, where it is widest: at its tip end."""
    blank, tape_nm = make_up.blank, make_up.ways.tape_nm
    assert blank is not None
    first, last = blank.stations[0][0], blank.stations[-1][0]
    if not first <= seat.to_butt_nm <= last:
        return False
    od_nm = od_at(blank.stations, seat.to_butt_nm)
    return (
        seat.sizes["bore"] > od_nm
        and tape_bushing(seat.sizes["bore"], od_nm, tape_nm, CLEARANCE_NM).wants_arbor
    )


def _tape(make_up: MakeUp, seat: Part, sheet: BenchSheet) -> bool:
    """The turns of each ring of tape; says whether the gap asks for an arbor instead."""
    assert make_up.blank is not None
    given = {
        "stations": stations_of(make_up.blank), "seat_bore": typable(seat.sizes["bore"]),
        "tape": typable(make_up.ways.tape_nm), "clearance": typable(CLEARANCE_NM),
        "seat_at": typable(seat.from_butt_nm),
        "seat_length": typable(seat.visible_nm), "rings": f"{RINGS}", "ring_width": typable(RING_NM),
    }  # fmt: skip
    answer = sheet.ask(TOPIC, "tape-bushing", given)
    if answer is None:
        return False
    if wants_arbor(make_up, seat):
        return True
    for number, start, _od, turns, finished, _clearance, _tape in answer.value("rings"):
        at = say_length(seat.from_butt_nm + start)
        said = f"{turns} turns to {say_fine(finished)}, beginning {at} from the butt"
        name = f"{seat.place}, tape ring {number}"
        sheet.add(BenchFigure(TOPIC, name, said, calculator="tape-bushing", given=given))
    total = say_length(answer.value("tape_total"))
    sheet.add(BenchFigure(TOPIC, f"{seat.place}, tape", total, calculator="tape-bushing", given=given))
    return False


def _arbor(make_up: MakeUp, seat: Part, sheet: BenchSheet) -> None:
    """Bored for the blank at the seat's butt end, where it is thickest."""
    assert make_up.blank is not None
    od_nm = sheet.od_nm(TOPIC, make_up.blank, seat.from_butt_nm)
    if od_nm is None:
        return
    given = {
        "seat_bore": typable(seat.sizes["bore"]),
        "od": typable(od_nm),
        "clearance": typable(CLEARANCE_NM),
    }
    # The tape has warned already; at the thicker end alone the gap may well be small.
    answer = sheet.ask(TOPIC, "arbor", given, warn=False)
    if answer is not None:
        said = (
            f"outside {say_fine(answer.value('arbor_od'))}, bore {say_fine(answer.value('arbor_bore'))}, "
            f"wall {say_fine(answer.value('wall'))}"
        )
        sheet.add(BenchFigure(TOPIC, f"{seat.place}, arbor", said, calculator="arbor", given=given))
