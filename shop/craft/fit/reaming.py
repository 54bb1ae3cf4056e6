"""Reaming a grip to the blank: the bores wanted, where a straight bore stops, and how to open it.

All lengths and diameters are whole nanometres; places are from the butt end of the blank. A grip slides on
from the tip. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from shop.craft.faults import SumFault
from shop.craft.fit.sizes import check_sizes
from shop.craft.lengths import half_away
from shop.craft.saying import say_fine, say_length
from shop.craft.taper import Station, check_stations, od_at

MOST_STEPS = 60


@dataclass(frozen=True, slots=True)
class Bores:
    """The bores of a grip at its two ends, in nm."""

    butt_nm: int
    tip_nm: int


@dataclass(frozen=True, slots=True)
class Stop:
    """Where the butt end of a grip comes to rest, in nm from the butt of the blank; none if nowhere.

    `short_nm` is how far short of its mark that is; nothing where it reaches the mark.
    """

    stops_at_nm: int | None
    short_nm: int


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass of reaming by halves, exact, in nm: how far short it stops before and after it."""

    short_before_nm: Fraction
    short_after_nm: Fraction
    travel_nm: Fraction
    bore_growth_nm: Fraction


def bores(stations: Sequence[Station], butt_end_nm: int, length_nm: int, clearance_nm: int) -> Bores:
    """The bores wanted at both ends of a grip in its place: OD there + 2 × clearance a side, in nm.

    Raises `SumFault` by `butt_end` or `length` for an end outside the stations. Common practice, no source.
    """
    check_sizes({"length": length_nm}, {"butt_end": butt_end_nm, "clearance": clearance_nm})
    return Bores(
        od_at(stations, butt_end_nm, "butt_end") + 2 * clearance_nm,
        od_at(stations, butt_end_nm + length_nm, "length") + 2 * clearance_nm,
    )


def where_it_stops(stations: Sequence[Station], bore_nm: int, mark_nm: int, clearance_nm: int = 0) -> Stop:
    """Where a grip with a straight bore stops on its way from the tip, and how far short of its mark.

    The butt end of the bore comes first to every place, and the blank grows towards the butt; so that end
    stops where OD = bore − 2 × clearance. Raises `SumFault` by `mark` for a mark outside the stations and
    by `bore` for a bore that stops before the last station, where nothing was measured.
    """
    check_stations(stations)
    check_sizes({"bore": bore_nm}, {"mark": mark_nm, "clearance": clearance_nm})
    od_at(stations, mark_nm, "mark")
    passes = bore_nm - 2 * clearance_nm
    place, od = stations[-1]
    if od > passes:
        raise SumFault(
            {
                "bore": f"The bore, {say_fine(bore_nm)}, does not let the blank's {say_fine(od)} at the last "
                f"station, {say_length(place)}, through; where it stops nearer the tip was not measured."
            }
        )
    stop = _stop(stations, passes)
    return Stop(stop, 0 if stop is None else max(0, stop - mark_nm))


def _stop(stations: Sequence[Station], passes_nm: int) -> int | None:
    """The place nearest the tip at which the blank is as thick as what passes."""
    if stations[-1][1] == passes_nm:
        return stations[-1][0]
    for (start, butt_od), (end, tip_od) in reversed(tuple(pairwise(stations))):
        if butt_od >= passes_nm:
            return half_away(end - Fraction((end - start) * (passes_nm - tip_od), butt_od - tip_od))
    return None


def pilot_steps(bore_nm: int, wanted_nm: int, step_nm: int) -> tuple[int, ...]:
    """The bores to open one after the other, in nm, from a drilled bore to the wanted one.

    Each step is followed on a pilot that fits the bore before it; the last is the wanted bore, by a part
    of a step if need be. There is none where the bore is as wanted. Raises `SumFault` by `bore` where it
    is wider than wanted, by `step` for too many steps. Common practice, no source.
    """
    check_sizes({"bore": bore_nm, "wanted": wanted_nm, "step": step_nm})
    if bore_nm > wanted_nm:
        raise SumFault(
            {
                "bore": f"The bore, {say_fine(bore_nm)}, is already wider than the one wanted, "
                f"{say_fine(wanted_nm)}."
            }
        )
    if wanted_nm - bore_nm > MOST_STEPS * step_nm:
        raise SumFault({"step": f"Steps of {say_fine(step_nm)} would be more than {MOST_STEPS}."})
    return (*range(bore_nm + step_nm, wanted_nm, step_nm), *([wanted_nm] if bore_nm < wanted_nm else []))


def halving(short_nm: int, limit_nm: int, taper: Fraction) -> tuple[Pass, ...]:
    """Reaming by halves: measure how far the grip stops short, ream for half of it, try again, in nm.

    It takes ⌈log2(short / limit)⌉ passes until no more than `limit_nm` is left for the hand; each opens
    the bore by travel × taper. `taper` is the diameter lost per length. Raises `SumFault` by `taper` where
    the blank does not thin towards the tip: then the grip never stops short of its mark by the taper, and
    the bore is to be opened straight to the blank. Common practice, no source.
    """
    check_sizes({"limit": limit_nm}, {"short": short_nm})
    if taper <= 0:
        raise SumFault(
            {
                "taper": "The blank does not grow thinner towards the tip here, so halving tells nothing; "
                "open the bore straight to the diameter of the blank."
            }
        )
    passes: list[Pass] = []
    before = Fraction(short_nm)
    while before > limit_nm:
        half = before / 2
        passes.append(Pass(before, half, half, half * taper))
        before = half
    return tuple(passes)
