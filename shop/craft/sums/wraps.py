"""Calculators of thread: turns and length of a wrap, thread for a whole rod, and how thick a thread is."""

from shop.craft.lengths import format_mm as mm
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values
from shop.craft.wraps import (
    NM_PER_METRE,
    NM_PER_YARD,
    SIZES,
    Wrap,
    measured_thread_nm,
    nearest_sizes,
    thread_diameter_nm,
    thread_for_rod,
    turns,
    wrap_thread_nm,
)

GROUP = "Thread"
# Further than this from every nominal size, the letter says nothing of the thread: common practice.
FAR_OFF_NM = 25_400


def _wrap(values: Values) -> Outcome:
    length, od, thread = values["length"], values["od"], values["thread"]
    count = turns(length, thread)
    laid = wrap_thread_nm(length, od, thread)
    figures = (
        Figure("turns", "Turns", Kind.NUMBER, count),
        Figure("thread_length", "Thread on the wrap", Kind.LENGTH, laid),
    )
    working = (
        f"{mm(length)} mm / {mm(thread)} mm = {plain(count)} turns",
        f"{plain(count)} × √((π × ({mm(od)} + {mm(thread)}))² + {mm(thread)}²) mm = {say_length(laid)}",
    )
    return Outcome(figures, working)


def _rod(values: Values) -> Outcome:
    wraps = [Wrap(row["count"], row["length"], row["od"]) for row in values["wraps"]]
    thread, feet, waste = values["thread"], values["feet_factor"], values["waste_factor"]
    unit_nm = NM_PER_YARD if values["spool_unit"] == "yd" else NM_PER_METRE
    spool = round(values["spool"] * unit_nm)
    need = thread_for_rod(wraps, thread, feet, waste, spool)
    each = [wrap_thread_nm(wrap.length_nm, wrap.od_nm, thread) for wrap in wraps]
    columns = (
        Column("count", "Wraps", Kind.COUNT),
        Column("turns", "Turns of each", Kind.NUMBER),
        Column("each", "Thread on each", Kind.LENGTH),
        Column("row_m", "Thread in all", Kind.NUMBER, "m"),
    )
    rows = tuple(
        (wrap.count, turns(wrap.length_nm, thread), one, row / NM_PER_METRE)
        for wrap, one, row in zip(wraps, each, need.rows_nm, strict=True)
    )
    metres, yards = need.needed_nm / NM_PER_METRE, need.needed_nm / NM_PER_YARD
    on_rod, left = need.on_rod_nm / NM_PER_METRE, need.left_nm / unit_nm
    figures = (
        Table("rows", "Wraps", columns, rows),
        Figure("on_rod_m", "Thread on the rod", Kind.NUMBER, on_rod, "m"),
        Figure("needed_m", "Thread to have", Kind.NUMBER, metres, "m"),
        Figure("needed_yd", "Thread to have", Kind.NUMBER, yards, "yd"),
        Figure("spools", "Spools", Kind.COUNT, need.spools),
        Figure("left", "Left on the last spool", Kind.NUMBER, left, values["spool_unit"]),
    )
    working = (
        *(
            f"{wrap.count} × {say_length(one)} = {plain(row / NM_PER_METRE)} m"
            for wrap, one, row in zip(wraps, each, need.rows_nm, strict=True)
        ),
        f"{plain(on_rod)} m × {plain(feet)} for feet × {plain(waste)} for waste = {plain(metres)} m "
        f"({plain(yards)} yd)",
        f"⌈{plain(need.needed_nm / unit_nm)} / {plain(values['spool'])} {values['spool_unit']}⌉ = "
        f"{need.spools} spool{'s' if need.spools > 1 else ''}",
    )
    return Outcome(figures, working)


def _size(values: Values) -> Outcome:
    count, laid, tex = values["turns"], values["measured"], values["tex"]
    thread = measured_thread_nm(count, laid)
    sizes, off = nearest_sizes(thread)
    names = " or ".join(size.name for size in sizes)
    by_tex = None if tex is None else thread_diameter_nm(tex, values["fibre_density"], values["packing"])
    figures = (
        Figure("diameter", "Thread diameter", Kind.FINE, thread),
        Figure("nearest", "Nearest nominal size", Kind.TEXT, names),
        Figure(
            "off", "Thicker than that by (thinner with a minus)", Kind.FINE, off if len(sizes) == 1 else None
        ),
        Figure("diameter_by_tex", "Diameter by its fineness", Kind.FINE, by_tex),
    )
    working = [f"{mm(laid)} mm / {count} turns = {say_fine(thread)}"]
    working += [f"Size {size.name} is nominally {_nominal(size.least_nm, size.most_nm)}" for size in sizes]
    if by_tex is not None:
        working.append(
            f"√(4 × {plain(tex)} g/km / (π × {plain(values['fibre_density'])} kg/m³ × "
            f"{plain(values['packing'])})) = {say_fine(by_tex)}"
        )
    warnings: tuple[str, ...] = ()
    if abs(off) > FAR_OFF_NM:
        warnings = (
            f"{say_fine(thread)} lies {say_fine(abs(off))} from the nearest of the sizes {SIZES[0].name} to "
            f"{SIZES[-1].name}: reckon with the diameter, not with a letter.",
        )
    return Outcome(figures, tuple(working), warnings)


def _nominal(least_nm: int, most_nm: int) -> str:
    return say_fine(least_nm) if least_nm == most_nm else f"{say_fine(least_nm)} to {say_fine(most_nm)}"


_THREAD = Input(
    "thread", "Thread diameter", Kind.FINE, "Measured over 20 turns.", default="0.006 in", most=2_000_000
)

SUMS: tuple[Sum, ...] = (
    Sum(
        "wrap-thread",
        "Thread on one wrap",
        GROUP,
        "How many turns a close wrap has, and how much thread lies on it.",
        (
            Input("length", "Length of the wrap", Kind.LENGTH),
            _THREAD,
            Input("od", "OD under the wrap", Kind.FINE),
        ),
        "turns = length / thread; thread = turns × √((π·(OD + thread))² + thread²)",
        "Closed form of a helix (the string around a rod: TIMSS 1995, advanced mathematics).",
        _wrap,
    ),
    Sum(
        "thread-for-rod",
        "Thread for a rod",
        GROUP,
        "Thread for all the wraps of a rod, and how many spools that is.",
        (
            Input(
                "wraps",
                "Wraps",
                Kind.TABLE,
                "Like wraps in one row.",
                columns=(
                    Input("count", "Wraps", Kind.COUNT, default="1", most=200),
                    Input("length", "Length of each", Kind.LENGTH),
                    Input("od", "OD under them", Kind.FINE),
                ),
            ),
            _THREAD,
            Input("feet_factor", "Factor for feet", Kind.NUMBER, "Thread climbs over them.", "1.2", most=5),
            Input(
                "waste_factor", "Factor for waste", Kind.NUMBER, "Tag ends, and wraps redone.", "1.1", most=5
            ),
            Input("spool", "Thread on a spool", Kind.NUMBER, default="100", most=100_000),
            Input("spool_unit", "Unit of the spool", Kind.CHOICE, default="yd", options=("yd", "m")),
        ),
        "Σ wraps × turns × √((π·(OD + thread))² + thread²) × factor for feet × factor for waste",
        "Closed form of a helix; the factors: common practice, no source.",
        _rod,
    ),
    Sum(
        "thread-size",
        "How thick a thread is",
        GROUP,
        "A thread's diameter from turns laid side by side, and the nominal size that lies nearest.",
        (
            Input("turns", "Turns laid side by side", Kind.COUNT, default="20", most=1000),
            Input("measured", "Length of those turns", Kind.FINE),
            Input("tex", "Fineness", Kind.NUMBER, "To compare with.", optional=True, most=1000, unit="tex"),
            Input(
                "fibre_density", "Density of the fibre", Kind.NUMBER, default="1140", most=5000, unit="kg/m³"
            ),
            Input("packing", "Share of fibre in the round", Kind.NUMBER, default="0.9", most=1),
        ),
        "diameter = length / turns; by fineness √(4·mass of a metre / (π·density·packing))",
        "Common practice, no source. The nominal sizes are from memory and differ between makers; the "
        "density is that of nylon 6.6, the packing a guess.",
        _size,
    ),
)
