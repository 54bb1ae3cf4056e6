"""Calculators for reaming a grip: the bores wanted, where it stops, the steps and the passes to open it."""

from fractions import Fraction

from shop.craft.faults import SumFault
from shop.craft.fit.reaming import Pass, bores, halving, pilot_steps, where_it_stops
from shop.craft.lengths import half_away
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values
from shop.craft.sums.taper import stations_input, stations_of
from shop.craft.taper import exact_od, od_at

GROUP = "Grips and seats"
NO_SOURCE = "Common practice, no source."


def _bores(values: Values) -> Outcome:
    stations = stations_of(values["stations"])
    butt_end, clearance = values["butt_end"], values["clearance"]
    tip_end = butt_end + values["length"]
    found = bores(stations, butt_end, values["length"], clearance)
    figures = (
        Figure("butt_bore", "Bore at the butt end", Kind.FINE, found.butt_nm),
        Figure("tip_bore", "Bore at the tip end, tip →", Kind.FINE, found.tip_nm),
        Figure("tip_end", "Its tip end, from the butt", Kind.LENGTH, tip_end),
    )
    working = tuple(
        f"Bore at {say_length(place)} = OD + 2 × clearance = {say_fine(bore - 2 * clearance)} + 2 × "
        f"{say_fine(clearance)} = {say_fine(bore)}{arrow}"
        for place, bore, arrow in (
            (butt_end, found.butt_nm, ", butt end."),
            (tip_end, found.tip_nm, ", tip →"),
        )
    )
    warnings: tuple[str, ...] = ()
    if found.tip_nm > found.butt_nm:
        warnings = (
            "The blank grows towards the tip under this grip; it must pass over the thicker end, so ream the "
            "whole bore to that.",
        )
    return Outcome(figures, working, warnings)


BORES = Sum(
    name="bores",
    title="Bores of a grip",
    group=GROUP,
    about="The bores that a grip needs at its two ends for its place on the blank. Mark the grip “tip →” "
    "before it is reamed.",
    inputs=(
        stations_input(),
        Input("butt_end", "Butt end of the grip, from the butt", Kind.LENGTH, zero=True),
        Input("length", "Length of the grip", Kind.LENGTH),
        Input("clearance", "Clearance a side", Kind.FINE, "For glue.", default="0.003 in", zero=True),
    ),
    formula="Bore = OD of the blank there + 2 × clearance",
    source=NO_SOURCE,
    work=_bores,
)


def _where(values: Values) -> Outcome:
    stations = stations_of(values["stations"])
    bore, mark, clearance = values["bore"], values["mark"], values["clearance"]
    found = where_it_stops(stations, bore, mark, clearance)
    wanted = od_at(stations, mark, "mark") + 2 * clearance
    figures = (
        Figure("stops_at", "Stops with its butt end at", Kind.LENGTH, found.stops_at_nm),
        Figure("short", "Short of its mark by", Kind.LENGTH, found.short_nm),
        Figure("bore_wanted", "Bore wanted at its butt end", Kind.FINE, wanted),
    )
    working = [
        f"It stops where OD = bore − 2 × clearance = {say_fine(bore)} − 2 × {say_fine(clearance)} = "
        f"{say_fine(bore - 2 * clearance)}.",
        "The blank is nowhere that thick between the stations."
        if found.stops_at_nm is None
        else f"The blank is that thick at {say_length(found.stops_at_nm)}.",
    ]
    if found.stops_at_nm is not None and found.short_nm:
        working.append(
            f"Short by {say_length(found.stops_at_nm)} − {say_length(mark)} = {say_length(found.short_nm)}."
        )
    warnings: tuple[str, ...] = ()
    if bore > wanted and not found.short_nm:
        slack = say_fine(half_away(Fraction(bore - wanted, 2)))
        warnings = (f"It reaches its mark and is loose there: {slack} a side more than the clearance.",)
    return Outcome(figures, tuple(working), warnings)


WHERE_IT_STOPS = Sum(
    name="where-it-stops",
    title="Where a straight bore stops",
    group=GROUP,
    about="A grip with a straight bore slides on from the tip. Its butt end meets the blank first; this is "
    "where, and how far short of its mark.",
    inputs=(
        stations_input(),
        Input("bore", "Straight bore of the grip", Kind.FINE),
        Input("mark", "Mark for its butt end, from the butt", Kind.LENGTH, zero=True),
        Input("clearance", "Clearance a side", Kind.FINE, "0 for a dry fit.", default="0 in", zero=True),
    ),
    formula="OD where it stops = bore − 2 × clearance; short = that place − mark",
    source=NO_SOURCE,
    work=_where,
)


def _pilot(values: Values) -> Outcome:
    bore, wanted, step = values["bore"], values["wanted"], values["step"]
    steps = pilot_steps(bore, wanted, step)
    pilots = (bore, *steps)
    columns = (
        Column("number", "Step", Kind.COUNT),
        Column("pilot", "Pilot in the bore", Kind.FINE),
        Column("opens_to", "Opens it to", Kind.FINE),
    )
    rows = tuple(
        (number, pilot, opened) for number, (pilot, opened) in enumerate(zip(pilots, steps, strict=False), 1)
    )
    figures = (Figure("count", "Steps", Kind.COUNT, len(steps)), Table("steps", "Steps", columns, rows))
    working = (
        f"From {say_fine(bore)} to {say_fine(wanted)} by {say_fine(step)}: ⌈({say_fine(wanted)} − "
        f"{say_fine(bore)}) ÷ {say_fine(step)}⌉ = {len(steps)}.",
    )
    return Outcome(figures, working, () if steps else ("The bore is already as wide as wanted.",))


PILOT_STEPS = Sum(
    name="pilot-steps",
    title="Opening a bore in steps",
    group=GROUP,
    about="The drills or reamers, each with a pilot that fits the bore before it, that open a drilled bore. "
    "Open a grip to the bore of its tip end first; the taper comes after.",
    inputs=(
        Input("bore", "Bore as drilled", Kind.FINE),
        Input("wanted", "Bore wanted", Kind.FINE),
        Input("step", "Step", Kind.FINE, "In diameter.", default="1/64 in"),
    ),
    formula="Each step = the bore before it + step, the last one = bore wanted",
    source="Common practice, no source; opening 5/16 in to 3/8 in on a pilot before fitting is usual.",
    work=_pilot,
)


def _halving(values: Values) -> Outcome:
    short, limit, clearance = values["short"], values["limit"], values["clearance"]
    taper, od = _taper_here(values)
    bore = None if od is None else od + 2 * clearance
    direct = Figure("bore_wanted", "Bore wanted at its butt end", Kind.FINE, bore)
    if taper <= 0:
        if od is None or bore is None:
            raise SumFault(
                {
                    "od_at_mark": "Without taper halving tells nothing; the bore is opened straight to the "
                    "blank, so give its diameter at the mark."
                }
            )
        line = f"Bore = OD + 2 × clearance = {say_fine(od)} + 2 × {say_fine(clearance)} = {say_fine(bore)}."
        warning = (
            "The blank does not thin towards the tip here: halving tells nothing. Open the bore straight."
        )
        return Outcome((Figure("passes", "Passes", Kind.COUNT, None), direct), (line,), (warning,))
    passes = halving(short, limit, taper)
    left = half_away(passes[-1].short_after_nm) if passes else short
    figures = (
        Figure("passes", "Passes", Kind.COUNT, len(passes)),
        _schedule(passes),
        Figure("left", "Left for the hand", Kind.LENGTH, left),
        direct,
    )
    working = (
        f"Passes = ⌈log2({say_length(short)} ÷ {say_length(limit)})⌉ = {len(passes)}.",
        *(
            f"Pass {number} opens the bore by travel × taper = {say_length(half_away(one.travel_nm))} × "
            f"{plain(float(taper))} in/in = {say_fine(half_away(one.bore_growth_nm))}."
            for number, one in enumerate(passes, 1)
        ),
    )
    return Outcome(figures, working, () if passes else ("It is already within the limit.",))


def _schedule(passes: tuple[Pass, ...]) -> Table:
    columns = (
        Column("number", "Pass", Kind.COUNT),
        Column("short_before", "Short before", Kind.LENGTH),
        Column("ream_until", "Ream until it is short by", Kind.LENGTH),
        Column("travel", "Travel gained", Kind.LENGTH),
        Column("bore_growth", "Bore opened by", Kind.FINE),
    )
    rows = tuple(
        (
            number,
            half_away(one.short_before_nm),
            half_away(one.short_after_nm),
            half_away(one.travel_nm),
            half_away(one.bore_growth_nm),
        )
        for number, one in enumerate(passes, 1)
    )
    return Table("schedule", "Pass by pass", columns, rows)


def _taper_here(values: Values) -> tuple[Fraction, int | None]:
    """The taper between the mark and where the grip stops, and the diameter at the mark if it is known."""
    rows, mark, taper, od = values["stations"], values["mark"], values["taper"], values["od_at_mark"]
    if rows:
        twice = {name for name, value in (("taper", taper), ("od_at_mark", od)) if value is not None}
        if twice:
            raise SumFault(dict.fromkeys(twice, "The stations tell this already; leave it empty."))
        if mark is None:
            raise SumFault({"mark": "Say where on the stations the butt end of the grip is to come."})
        stations, stop = stations_of(rows), mark + values["short"]
        lost = exact_od(stations, mark, "mark") - exact_od(stations, stop, "short")
        return lost / values["short"], od_at(stations, mark, "mark")
    if taper is None:
        raise SumFault({"taper": "Give the taper of the blank here, or its stations and the mark."})
    return Fraction(str(taper)), od


HALVING = Sum(
    name="halving",
    title="Reaming by halves",
    group=GROUP,
    about="Measure how far the grip stops short of its mark, ream until it stops half as short, and try "
    "again: so the bore is never opened too far.",
    inputs=(
        Input("short", "Stops short of its mark by", Kind.LENGTH),
        Input("limit", "Leave for the hand", Kind.LENGTH, default="1/8 in"),
        Input(
            "taper",
            "Taper of the blank there",
            Kind.NUMBER,
            "Diameter lost per length; or give the stations.",
            optional=True,
            signed=True,
            most=1,
            unit="in/in",
        ),
        stations_input(optional=True, hint="Instead of the taper; the mean taper is taken from them."),
        Input("mark", "Mark for its butt end, from the butt", Kind.LENGTH, optional=True, zero=True),
        Input("od_at_mark", "Diameter at the mark", Kind.FINE, "Where there are no stations.", optional=True),
        Input("clearance", "Clearance a side", Kind.FINE, default="0.003 in", zero=True),
    ),
    formula="Passes = ⌈log2(short ÷ limit)⌉; each gains half of what is left, and opens the "
    "bore by that × taper",
    source=NO_SOURCE,
    work=_halving,
)

SUMS: tuple[Sum, ...] = (BORES, WHERE_IT_STOPS, PILOT_STEPS, HALVING)
