"""Figures of the epoxy: how much each joint of the handle wants, as volumes and as masses of A and B."""

from typing import Any

from shop.craft.lengths import typable
from shop.craft.sums.base import Kind, Outcome
from shop.craft.sums.saying import say
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.bench_figures.grips import butt_end_nm, seat_beside, shoulder_length_nm, shoulder_od_nm
from shop.rules.bench_figures.seat import CLEARANCE_NM, RING_NM, RINGS, wants_arbor
from shop.rules.bench_figures.texts import millilitres
from shop.rules.make_up import ARBOR, CAP, GRIP, SEAT, MakeUp, Part, Sheet

TOPIC = "glue"
# What a part may lie on instead of the blank.
UNDER = {SEAT: ARBOR, CAP: GRIP, "gimbal": GRIP}


def glue_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """For every joint of the handle whose parts are measured: the volume, then A and B."""
    if make_up.blank is None or not make_up.blank.stations:
        return
    for part in make_up.parts:
        answer = _volume(make_up, part, sheet)
        if answer is not None:
            volume_ml = answer.value("volume_ml")
            mixed(TOPIC, f"{part.place}, A and B", part.place, volume_ml, make_up.bond, sheet)


def held_ml(make_up: MakeUp) -> dict[str, float]:
    """What stays in each joint of the handle, in mL by place; what squeezes out is wiped off."""
    if make_up.blank is None or not make_up.blank.stations:
        return {}
    held = {}
    for part in make_up.parts:
        answer = _volume(make_up, part, BenchSheet())
        if answer is not None:
            held[part.place] = float(answer.value("film_ml" if part.kind == GRIP else "holds_ml"))
    return held


def mixed(topic: str, name: str, place: str, volume_ml: float, kind: Sheet | None, sheet: BenchSheet) -> None:
    """A and B of a product for a volume; the volume alone while no product is chosen."""
    if kind is None:
        sheet.add(
            BenchFigure(topic, name, f"{millilitres(volume_ml)} in all; no product chosen", place=place)
        )
        return
    given = {"volume": millilitres(volume_ml), "parts_a": f"{kind.parts_a:g}", "parts_b": f"{kind.parts_b:g}"}
    if kind.density_a is not None and kind.density_b is not None:
        given |= {"density_a": f"{kind.density_a:g}", "density_b": f"{kind.density_b:g}"}
    # A small joint alone always warns; how little may be mixed is said with the figure instead.
    answer = sheet.ask(topic, "mix-amounts", given, warn=False)
    if answer is None:
        return
    a, b = (measured_out(answer.value(f"volume_{which}_ml")) for which in "ab")
    said = f"{kind.name}: A {a} mL and B {b} mL"
    if answer.value("mass_a_g") is not None:
        a, b = (measured_out(answer.value(f"mass_{which}_g")) for which in "ab")
        said += f", or A {a} g and B {b} g on a scale"
    if answer.value("least_mix_ml") > volume_ml:
        said += f"; mix no less than {answer.value('least_mix_ml'):g} mL in one cup"
    sheet.add(BenchFigure(topic, name, said, place=place, calculator="mix-amounts", given=given))


def measured_out(amount: float) -> str:
    """An amount as a syringe or a scale can show it: to a tenth, below one to a hundredth."""
    return f"{amount:.1f}" if amount >= 1 else f"{amount:.2f}"


def _volume(make_up: MakeUp, part: Part, sheet: BenchSheet) -> Outcome | None:
    """What one joint wants; none where its sizes are not on file."""
    if part.kind == GRIP:
        return _grip(make_up, part, sheet)
    if part.kind in (*UNDER, ARBOR) and "bore" in part.sizes:
        return _joint(make_up, part, sheet)
    return None


def _grip(make_up: MakeUp, part: Part, sheet: BenchSheet) -> Outcome | None:
    """The film under a grip and round its shoulder, twice for what soaks in and squeezes out."""
    assert make_up.blank is not None
    seat = seat_beside(make_up, part)
    shoulder_nm = shoulder_length_nm(make_up, part, seat)
    length_nm, begins = part.visible_nm + shoulder_nm, butt_end_nm(make_up, part)
    od_nm = sheet.od_nm(TOPIC, make_up.blank, begins + length_nm // 2)
    if od_nm is None:
        return None
    ways = make_up.ways
    given = {"od": typable(od_nm), "gap": typable(ways.clearance_nm), "length": typable(length_nm)}
    shoulder_od = shoulder_od_nm(make_up, part, seat)
    # A shoulder without a gap round it has no room for a film.
    if shoulder_nm and shoulder_od and ways.hood_gap_nm:
        given |= {
            "shoulder_od": typable(shoulder_od), "shoulder_length": typable(shoulder_nm),
            "shoulder_gap": typable(ways.hood_gap_nm),
        }  # fmt: skip
    return _said(part, "grip-film", given, sheet)


def _joint(make_up: MakeUp, part: Part, sheet: BenchSheet) -> Outcome | None:
    """The room between a straight bore and what it lies on, with what soaks in and is wasted.

    A seat lies on its arbor, or on the blank with rings of tape that take up some of its length; a cap lies
    on the grip that it covers.
    """
    below = make_up.under(part, UNDER[part.kind]) if part.kind in UNDER else None
    if below is not None and "od" in below.sizes:
        start = end = below.sizes["od"]
        if part.sizes["bore"] <= start:
            # Stretched or pressed over what it covers: there is no room to fill.
            return None
    else:
        assert make_up.blank is not None
        at_butt = sheet.od_nm(TOPIC, make_up.blank, part.from_butt_nm)
        at_tip = sheet.od_nm(TOPIC, make_up.blank, part.to_butt_nm)
        if at_butt is None or at_tip is None:
            return None
        start, end = at_butt, at_tip
        if part.kind == SEAT and wants_arbor(make_up, part):
            # Not laid down yet, but no tape fills that gap: the seat will lie on an arbor of its size.
            start = end = part.sizes["bore"] - 2 * CLEARANCE_NM
    is_taped = part.kind == SEAT and below is None and not wants_arbor(make_up, part)
    taped_nm = RINGS * RING_NM if is_taped else 0
    bore = typable(part.sizes["bore"])
    given: dict[str, Any] = {
        "bore_start": bore, "bore_end": bore, "rod_start": typable(start), "rod_end": typable(end),
        "length": typable(part.visible_nm - taped_nm),
        "allowance": f"{make_up.ways.allowance_percent:g}",
    }  # fmt: skip
    if is_taped:
        # The rings are not dry either: a film lies on each.
        film = {"diameter": bore, "length": typable(taped_nm), "film": typable(CLEARANCE_NM)}
        given["films"] = [film]
    return _said(part, "glue-joint", given, sheet)


def _said(part: Part, calculator: str, given: dict[str, Any], sheet: BenchSheet) -> Outcome | None:
    answer = sheet.ask(TOPIC, calculator, given)
    if answer is not None:
        name, said = f"{part.place}, epoxy to have", say(Kind.VOLUME, answer.value("volume_ml"))
        sheet.add(BenchFigure(TOPIC, name, said, place=part.place, calculator=calculator, given=given))
    return answer
