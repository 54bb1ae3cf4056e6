"""Finish for the wraps of a rod: how much a coat takes, and how long brushing lasts beside the pot life.

Lengths in whole nanometres, volumes in mL, times in minutes. What a coat may lie on, and when the next may
follow, is for the cure clocks.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, pi

from shop.craft.faults import SumFault
from shop.craft.volumes import film_ml, need_figures, need_lengths

# Common practice, no source: whoever plans to use more of the pot life ends on finish that no longer flows.
MOST_SHARE_PERCENT = 70.0


@dataclass(frozen=True, slots=True)
class BrushTime:
    """Minutes of brushing for the wraps planned, and how many wraps one mix does within its share."""

    minutes: float
    share_percent: float
    wraps_that_fit: int
    mixes: int | None


def void_depth_nm(thread_nm: int) -> int:
    """The depth of finish that the hollows of one close layer of round thread take up, in nm: d·(1 − π/4).

    Each turn fills a circle of π/4·d² in a square of d by d, as the wrap is cut along the blank; the
    hollows are the rest, half of them against the blank and half between the crests. All of them fill
    where the coat is thin enough to soak to the blank; thread that packs flat leaves less. Raises
    `SumFault` (`thread`). Closed form of round, touching turns.
    """
    need_lengths(thread=thread_nm)
    return round(thread_nm * (1 - pi / 4))


def area_mm2(od_nm: int, length_nm: int) -> float:
    """The area under the finish, in mm²: π·D·L. Raises `SumFault` (`od`, `length`). Closed form."""
    need_lengths(od=od_nm, length=length_nm)
    return pi * od_nm * length_nm / 1e12


def coat_ml(od_nm: int, length_nm: int, film_nm: int, void_nm: int = 0) -> float:
    """What one coat leaves on the wraps, in mL: π·D·L·(film + hollows of the thread).

    Raises `SumFault` (`od`, `length`, `film`). Closed form; film thicknesses are common practice.
    """
    need_lengths(od=od_nm, length=length_nm, film=film_nm)
    if void_nm < 0:
        raise SumFault({"thread": "The hollows of the thread cannot hold less than nothing."})
    return film_ml(od_nm, length_nm, film_nm + void_nm)


def brush_time(
    wraps: int, minutes_each: float, pot_life: float, most_share_percent: float = MOST_SHARE_PERCENT
) -> BrushTime:
    """Wraps × minutes each beside the pot life (the time that it brushes well), in minutes.

    `wraps_that_fit` is how many one mix does within `most_share_percent` of it, `mixes` how many mixes
    that takes, none where not even one wrap fits. Raises `SumFault` (`wraps`, `minutes_each`, `pot_life`,
    `most_share`). Common practice, no source.
    """
    need_figures(wraps=wraps, minutes_each=minutes_each, pot_life=pot_life, most_share=most_share_percent)
    if most_share_percent > 100:
        raise SumFault(
            {"most_share": "No more than all of the pot life can be used; the share is at most 100 %."}
        )
    # By the decimals that were typed, so that the last wrap that just fits is counted.
    each, life = Fraction(str(minutes_each)), Fraction(str(pot_life))
    fit = floor(life * Fraction(str(most_share_percent)) / 100 / each)
    minutes = wraps * each
    return BrushTime(
        float(minutes), float(100 * minutes / life), fit, ceil(Fraction(wraps, fit)) if fit else None
    )
