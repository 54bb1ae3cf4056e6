"""Figures of the grips: how long to cut, the shoulder that enters a hood, the bores, the reaming."""

from typing import Any

from shop.craft.fit.shoulder import LEAST_WALL_NM
from shop.craft.lengths import typable
from shop.craft.quantities import Dimension, Quantity
from shop.craft.saying import say_fine, say_length
from shop.rules.bench_figures import tolerances
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.bench_figures.texts import stations_of
from shop.rules.make_up import GRIP, SEAT, MakeUp, Part

GRIPS = "grips"


def grip_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """Every grip of the handle, from the butt up."""
    for part in sorted(make_up.parts, key=lambda part: part.from_butt_nm):
        if part.kind == GRIP:
            seat = seat_beside(make_up, part)
            shoulder_nm = shoulder_length_nm(make_up, part, seat)
            bores = _bores(make_up, part, shoulder_nm, sheet)
            if seat is not None and bores is not None and shoulder_nm:
                # The bore under the shoulder is that of the end which enters the seat.
                bore_nm = bores[1] if seat.from_butt_nm == part.to_butt_nm else bores[0]
                _shoulder(make_up, part, seat, bore_nm, sheet)
            _lengths(make_up, part, shoulder_nm, sheet)


def _length(nm: int) -> Quantity:
    return Quantity(Dimension.LENGTH, nm)


def _lengths(make_up: MakeUp, part: Part, shoulder_nm: int, sheet: BenchSheet) -> None:
    """As it is sawn, with facing at both ends, and as it is when faced."""
    ways = make_up.ways
    for name, facing in ((f"{part.place} cut length", ways.facing_nm), (f"{part.place} length", 0)):
        given = {
            "visible": typable(part.visible_nm), "shoulder": typable(shoulder_nm), "facing": typable(facing)
        }  # fmt: skip
        answer = sheet.ask(GRIPS, "cut-length", given)
        if answer is not None:
            nm = answer.value("cut_length")
            sheet.add(
                BenchFigure(GRIPS, name, say_length(nm), _length(nm), tolerances.CUT, "", "cut-length", given)
            )


def seat_beside(make_up: MakeUp, part: Part) -> Part | None:
    """The seat whose hood a grip enters, on either side of it; none where the grip takes the hood in."""
    if "recess_od" in part.sizes:
        return None
    ends = (part.from_butt_nm, part.to_butt_nm)
    seats = [
        other
        for other in make_up.parts
        if other.kind == SEAT and {"hood_bore", "hood_depth"} <= set(other.sizes)
    ]
    return next((seat for seat in seats if seat.to_butt_nm in ends or seat.from_butt_nm in ends), None)


def shoulder_length_nm(make_up: MakeUp, part: Part, seat: Part | None) -> int:
    """How far a grip reaches into the hood beside it, in nm; what it says of itself where there is none."""
    if seat is None:
        return 0 if "recess_od" in part.sizes else part.sizes.get("shoulder_length", 0)
    return max(0, seat.sizes["hood_depth"] - make_up.ways.recess_relief_nm)


def shoulder_od_nm(make_up: MakeUp, part: Part, seat: Part | None) -> int | None:
    """How thick the shoulder in the hood beside a grip is, in nm; without a hood, what the grip says."""
    if seat is None:
        return part.sizes.get("shoulder_od")
    return max(0, seat.sizes["hood_bore"] - 2 * make_up.ways.hood_gap_nm)


def butt_end_nm(make_up: MakeUp, part: Part) -> int:
    """Where the butt end of a grip lies, its shoulder included, in nm from the butt of the blank."""
    seat = seat_beside(make_up, part)
    enters = seat is not None and seat.to_butt_nm == part.from_butt_nm
    return part.from_butt_nm - (shoulder_length_nm(make_up, part, seat) if enters else 0)


def _shoulder(make_up: MakeUp, part: Part, seat: Part, bore_nm: int, sheet: BenchSheet) -> None:
    ways = make_up.ways
    given: dict[str, Any] = {
        "hood_bore": typable(seat.sizes["hood_bore"]), "gap": typable(ways.hood_gap_nm),
        "recess": typable(seat.sizes["hood_depth"]), "relief": typable(ways.recess_relief_nm),
        "bore": typable(bore_nm), "material": part.material if part.material in LEAST_WALL_NM else "cork",
    }  # fmt: skip
    if "od" in part.sizes:
        given["grip_od"] = typable(part.sizes["od"])
    answer = sheet.ask(GRIPS, "shoulder", given)
    if answer is None:
        return
    od, length = answer.value("shoulder_od"), answer.value("shoulder_length")
    wall = say_fine(answer.value("wall"))
    for name, said, meant, tolerance in (
        ("shoulder diameter", f"{say_fine(od)}, wall {wall}", od, tolerances.SHOULDER_DIAMETER),
        ("shoulder length", say_length(length), length, tolerances.SHOULDER_LENGTH),
    ):
        figure = BenchFigure(
            GRIPS, f"{part.place} {name}", said, _length(meant), tolerance, "", "shoulder", given
        )
        sheet.add(figure)


def _bores(make_up: MakeUp, part: Part, shoulder_nm: int, sheet: BenchSheet) -> tuple[int, int] | None:
    """The bores wanted at both ends, shoulder included, and how to get there from the bore the grip has.

    Gives them, the butt end's first, for the wall of a shoulder.
    """
    if make_up.blank is None or not make_up.blank.stations:
        return None
    given = {
        "stations": stations_of(make_up.blank), "butt_end": typable(butt_end_nm(make_up, part)),
        "length": typable(part.visible_nm + shoulder_nm),
        "clearance": typable(make_up.ways.clearance_nm),
    }  # fmt: skip
    answer = sheet.ask(GRIPS, "bores", given)
    if answer is None:
        return None
    butt, tip = answer.value("butt_bore"), answer.value("tip_bore")
    for name, nm in (("bore, butt end", butt), ("bore, tip end →", tip)):
        figure = BenchFigure(
            GRIPS, f"{part.place} {name}", say_fine(nm), _length(nm), tolerances.BORE, "", "bores", given
        )
        sheet.add(figure)
    drilled = part.sizes.get("bore_tip_end", part.sizes.get("bore_butt_end"))
    if drilled is not None:
        _opening(part, drilled, tip, sheet)
        _halving(make_up, part, tip, sheet)
    return int(butt), int(tip)


def _opening(part: Part, drilled_nm: int, tip_bore_nm: int, sheet: BenchSheet) -> None:
    """From the drilled bore to the bore of the tip end, in steps on a pilot."""
    given = {"bore": typable(drilled_nm), "wanted": typable(tip_bore_nm), "step": "1/16 in"}
    answer = sheet.ask(GRIPS, "pilot-steps", given)
    if answer is not None and answer.value("steps"):
        opened = [f"{nm / 25_400_000:.3f}" for _number, _pilot, nm in answer.value("steps")]
        said = f"from {say_fine(drilled_nm)}: {' · '.join(opened)} in"
        name = f"{part.place} bore, step by step"
        sheet.add(BenchFigure(GRIPS, name, said, calculator="pilot-steps", given=given))


def _halving(make_up: MakeUp, part: Part, tip_bore_nm: int, sheet: BenchSheet) -> None:
    """A grip bored to fit its tip end stops short of its mark; then it is reamed by halves."""
    assert make_up.blank is not None
    stations = stations_of(make_up.blank)
    stop = {
        "stations": stations, "bore": typable(tip_bore_nm), "mark": typable(butt_end_nm(make_up, part)),
        "clearance": typable(make_up.ways.clearance_nm),
    }  # fmt: skip
    stopped = sheet.ask(GRIPS, "where-it-stops", stop)
    if stopped is None or stopped.value("short") <= make_up.ways.ream_limit_nm:
        return
    short = stopped.value("short")
    said = f"{say_length(short)} short of its mark"
    name = f"{part.place} bored straight stops"
    sheet.add(BenchFigure(GRIPS, name, said, calculator="where-it-stops", given=stop))
    given = {
        "short": typable(short), "limit": typable(make_up.ways.ream_limit_nm), "stations": stations,
        "mark": typable(butt_end_nm(make_up, part)), "clearance": typable(make_up.ways.clearance_nm),
    }  # fmt: skip
    halved = sheet.ask(GRIPS, "halving", given)
    if halved is not None and halved.value("passes"):
        stops = [say_length(row[2]) for row in halved.value("schedule")]
        said = f"{halved.value('passes')} passes; ream until it is short by {', '.join(stops)}"
        name = f"{part.place} reaming by halves"
        sheet.add(BenchFigure(GRIPS, name, said, calculator="halving", given=given))
