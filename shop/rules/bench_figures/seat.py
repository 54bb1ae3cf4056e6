"""Figures of the reel seat: turns of tape, or the arbor that fills the gap instead, and whether one fits."""

from collections.abc import Iterator, Mapping

from shop.craft.fit.bushing import tape_bushing
from shop.craft.lengths import NM_PER_INCH, typable
from shop.craft.quantities import is_fine
from shop.craft.saying import say_fine, say_length
from shop.craft.sums.base import Outcome
from shop.craft.taper import od_at
from shop.rules.bench_figures import tolerances
from shop.rules.bench_figures.base import BenchFigure, BenchSheet, Trouble
from shop.rules.bench_figures.texts import stations_of
from shop.rules.make_up import ARBOR, SEAT, MakeUp, Part

TOPIC = "seat"
# Rings of tape and how wide each is; between them the epoxy bonds the seat to the blank.
RINGS, RING_NM = 3, NM_PER_INCH * 3 // 8
# What stays open on each side of tape and arbor alike, to be filled with epoxy.
CLEARANCE_NM = NM_PER_INCH * 5 // 1000
# The sizes of an arbor: how one is said, how close it is held, and what follows where it is more or less.
ARBOR_SIZES = {
    "od": ("outside", tolerances.BORE, "turn it down", "it lies loose in the seat"),
    "bore": ("inside", tolerances.BORE, "it lies loose on the blank", "ream it"),
    "length": ("long", tolerances.CUT, "cut it", "it does not fill its place"),
}


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
    """The arbor that is wanted, and what is amiss with those that are laid under the seat."""
    wanted = _wanted_at(make_up, seat, seat.from_butt_nm, sheet)
    if wanted is not None:
        given, answer = wanted
        said = (
            f"outside {say_fine(answer.value('arbor_od'))}, bore {say_fine(answer.value('arbor_bore'))}, "
            f"wall {say_fine(answer.value('wall'))}"
        )
        sheet.add(BenchFigure(TOPIC, f"{seat.place}, arbor", said, calculator="arbor", given=given))
    for laid in make_up.parts:
        if laid.kind == ARBOR and make_up.under(laid, SEAT) is seat:
            _compare(make_up, seat, laid, sheet)


def _wanted_at(
    make_up: MakeUp, seat: Part, butt_end_nm: int, sheet: BenchSheet
) -> tuple[dict[str, str], Outcome] | None:
    """What the sum of an arbor is given, the blank where it is thickest under it, and what it answers."""
    assert make_up.blank is not None
    od_nm = sheet.od_nm(TOPIC, make_up.blank, butt_end_nm)
    if od_nm is None:
        return None
    bore = typable(seat.sizes["bore"])
    given = {"seat_bore": bore, "od": typable(od_nm), "clearance": typable(CLEARANCE_NM)}
    # The tape has warned already; at the thicker end alone the gap may well be small.
    answer = sheet.ask(TOPIC, "arbor", given, warn=False)
    return None if answer is None else (given, answer)


def _compare(make_up: MakeUp, seat: Part, laid: Part, sheet: BenchSheet) -> None:
    """An arbor on file beside the one that is wanted where it is laid down."""
    wanted = _wanted_at(make_up, seat, laid.from_butt_nm, sheet)
    if wanted is not None:
        given, answer = wanted
        for sentence in _misfits(laid, {"od": answer.value("arbor_od"), "bore": answer.value("arbor_bore")}):
            sheet.troubles.append(Trouble(TOPIC, sentence, "arbor", given))
    for sentence in _misfits(laid, {"length": laid.visible_nm}):
        sheet.troubles.append(Trouble(TOPIC, sentence))


def _misfits(laid: Part, wanted: Mapping[str, int]) -> Iterator[str]:
    """A sentence for each size on file that differs from what is wanted by more than the bench works to."""
    for size, nm in wanted.items():
        words, tolerance, if_more, if_less = ARBOR_SIZES[size]
        found = laid.sizes.get(size)
        if found is not None and abs(found - nm) > tolerance.amount:
            say = say_fine if is_fine(tolerance) else say_length
            yield (
                f"The {laid.place} ({laid.name}) is {say(found)} {words} where {say(nm)} is wanted: "
                f"{if_more if found > nm else if_less}."
            )
