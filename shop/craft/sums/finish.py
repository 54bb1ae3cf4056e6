"""Calculators of finish: what the coats take, and whether the brushing fits into the pot life."""

from shop.craft.finish import MOST_SHARE_PERCENT, area_mm2, brush_time, coat_ml, void_depth_nm
from shop.craft.lengths import format_mm as mm
from shop.craft.saying import plain, say_fine
from shop.craft.sums.base import Figure, Input, Kind, Outcome, Sum, Values

GROUP = "Finish"
MM2_PER_IN2 = 645.16


def _volume(values: Values) -> Outcome:
    od, length, cup, coats = values["od"], values["length"], values["cup"], values["coats"]
    void = void_depth_nm(values["thread"])
    area = area_mm2(od, length)
    first = coat_ml(od, length, values["first_film"], void)
    later = coat_ml(od, length, values["later_film"]) if coats > 1 else None
    later_mix = None if later is None else later + cup
    total = first + cup + (coats - 1) * (later_mix or 0)
    figures = (
        Figure("area_cm2", "Area", Kind.NUMBER, area / 100, "cm²"),
        Figure("void_depth", "Hollows of the thread, as a film", Kind.FINE, void),
        Figure("first_ml", "First coat, on the wraps", Kind.VOLUME, first),
        Figure("first_mix_ml", "First coat, to mix", Kind.VOLUME, first + cup),
        Figure("later_ml", "Each later coat, on the wraps", Kind.VOLUME, later),
        Figure("later_mix_ml", "Each later coat, to mix", Kind.VOLUME, later_mix),
        Figure("total_ml", "All coats, to mix", Kind.VOLUME, total),
    )
    working = [
        f"Area: π × {mm(od)} × {mm(length)} mm = {plain(area / 100)} cm² ({plain(area / MM2_PER_IN2)} in²)",
        f"Hollows of the thread: {say_fine(values['thread'])} × (1 − π/4) = {say_fine(void)}",
        f"First coat: {plain(area / 100)} cm² × ({mm(values['first_film'])} + {mm(void)}) mm = "
        f"{plain(first)} mL; + {plain(cup)} mL in cup and brush = {plain(first + cup)} mL",
    ]
    if later is not None and later_mix is not None:
        working += [
            f"Later coat: {plain(area / 100)} cm² × {mm(values['later_film'])} mm = {plain(later)} mL; + "
            f"{plain(cup)} mL = {plain(later_mix)} mL",
            f"In all: {plain(first + cup)} + {coats - 1} × {plain(later_mix)} = {plain(total)} mL",
        ]
    return Outcome(figures, tuple(working))


def _time(values: Values) -> Outcome:
    wraps, each, life, share = (values[name] for name in ("wraps", "minutes_each", "pot_life", "most_share"))
    time = brush_time(wraps, each, life, share)
    figures = (
        Figure("minutes", "Brushing", Kind.NUMBER, time.minutes, "min"),
        Figure("share_percent", "Share of the pot life", Kind.NUMBER, time.share_percent, "%"),
        Figure("wraps_that_fit", "Wraps that one mix does", Kind.COUNT, time.wraps_that_fit),
        Figure("mixes", "Mixes", Kind.COUNT, time.mixes),
    )
    working = (
        f"{wraps} × {plain(each)} min = {plain(time.minutes)} min, {plain(time.share_percent)} % of "
        f"{plain(life)} min",
        f"⌊{plain(share)} % × {plain(life)} min / {plain(each)} min⌋ = {time.wraps_that_fit} wraps a mix",
    )
    warnings: tuple[str, ...] = ()
    if time.mixes is None:
        warnings = (
            f"Not even one wrap fits into {plain(share)} % of the pot life: it takes a slower finish, a "
            "cooler room or a quicker hand.",
        )
    elif time.wraps_that_fit < wraps:
        warnings = (
            f"{plain(time.minutes)} min is more than {plain(share)} % of a pot life of {plain(life)} min: "
            f"brush at most {time.wraps_that_fit} wraps from one mix, {time.mixes} mixes for {wraps} wraps.",
        )
    return Outcome(figures, working, warnings)


SUMS: tuple[Sum, ...] = (
    Sum(
        "finish-volume",
        "Finish for the wraps",
        GROUP,
        "What each coat leaves on the wraps, and what to mix for it with cup and brush.",
        (
            Input("od", "Mean OD over the wraps", Kind.FINE),
            Input("length", "Length of all wraps", Kind.LENGTH, "Both feet of every guide, and the trims."),
            Input("coats", "Coats", Kind.COUNT, default="2", most=10),
            Input("thread", "Thread diameter", Kind.FINE, default="0.006 in", most=2_000_000),
            Input("first_film", "Film of the first coat", Kind.FINE, default="0.006 in", most=2_000_000),
            Input("later_film", "Film of a later coat", Kind.FINE, default="0.008 in", most=2_000_000),
            Input("cup", "Left in cup and brush", Kind.VOLUME, "For each coat.", "1 mL", zero=True, most=100),
        ),
        "π × mean OD × length × film, the first coat's film with the hollows of the thread, "
        "thread × (1 − π/4); + cup and brush for each coat",
        "Closed form of round, touching turns; the films, and cup and brush: common practice, no source.",
        _volume,
    ),
    Sum(
        "brush-time",
        "Brushing beside pot life",
        GROUP,
        "Whether the wraps can be brushed while the mix still flows, and how many mixes to plan.",
        (
            Input("wraps", "Wraps", Kind.COUNT, "Each foot of a guide is one."),
            Input("minutes_each", "Minutes a wrap", Kind.NUMBER, default="1.2", most=120, unit="min"),
            Input(
                "pot_life", "Brushing pot life", Kind.NUMBER, "At the room's warmth.", most=1440, unit="min"
            ),
            Input(
                "most_share",
                "Most of it to plan for",
                Kind.NUMBER,
                default=f"{MOST_SHARE_PERCENT:g}",
                most=100,
                unit="%",
            ),
        ),
        "wraps × minutes a wrap, beside the pot life; ⌊share × pot life / minutes a wrap⌋ wraps a mix",
        "Common practice, no source.",
        _time,
    ),
)
