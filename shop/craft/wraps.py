"""Thread: turns of a wrap, its length on the blank, what a whole rod takes, and how thick a thread is.

Lengths in whole nanometres. A wrap is one close layer: each turn lies against the last, so that the pitch
is the thread's own diameter. Thread packs flatter under tension; a measured diameter includes that.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot, isfinite, pi, sqrt

from shop.craft.faults import SumFault
from shop.craft.saying import say_fine
from shop.craft.volumes import need_figures, need_lengths

NM_PER_YARD = 914_400_000
NM_PER_METRE = 1_000_000_000


@dataclass(frozen=True, slots=True)
class ThreadSize:
    """A nominal size of wrapping thread, by its letter, and the diameters that makers give it."""

    name: str
    least_nm: int
    most_nm: int


# From memory, nominal: the letters differ between makers and from those of sewing thread; measure 20 turns.
SIZES = (
    ThreadSize("00", 101_600, 101_600),
    ThreadSize("A", 152_400, 152_400),
    ThreadSize("B", 190_500, 190_500),
    ThreadSize("C", 215_900, 215_900),
    ThreadSize("D", 254_000, 279_400),
    ThreadSize("E", 304_800, 355_600),
)


@dataclass(frozen=True, slots=True)
class Wrap:
    """So many like wraps of a rod: the length of each along the blank and the diameter under them, in nm."""

    count: int
    length_nm: int
    od_nm: int


@dataclass(frozen=True, slots=True)
class ThreadForRod:
    """Thread for a rod, in nm: each row's wraps by themselves, all on the rod, and with the factors."""

    rows_nm: tuple[int, ...]
    on_rod_nm: int
    needed_nm: int
    spools: int
    left_nm: int


def turns(length_nm: int, thread_nm: int) -> float:
    """Turns of a close wrap: length / thread. Raises `SumFault` (`length`, `thread`). Closed form."""
    need_lengths(length=length_nm, thread=thread_nm)
    if length_nm < thread_nm:
        raise SumFault({"length": _too_short("wrap", length_nm, thread_nm)})
    return length_nm / thread_nm


def helix_nm(turn_count: float, diameter_nm: float, pitch_nm: float) -> int:
    """The length of a helix, in nm: n·√((πD)² + p²), D the diameter of its centre line.

    Raises `SumFault` (`turns`, `diameter`, `pitch`). Source: unrolled, each turn is the long side of a
    right triangle (TIMSS 1995, advanced mathematics, the string around a rod).
    """
    need_figures(turns=turn_count, diameter=diameter_nm, pitch=pitch_nm)
    return round(turn_count * hypot(pi * diameter_nm, pitch_nm))


def wrap_thread_nm(length_nm: int, od_nm: int, thread_nm: int) -> int:
    """The thread on one close wrap, in nm: a helix at OD + thread diameter, its pitch the thread.

    Raises `SumFault` (`length`, `od`, `thread`). Source: as `helix_nm`.
    """
    need_lengths(length=length_nm, od=od_nm, thread=thread_nm)
    return helix_nm(turns(length_nm, thread_nm), od_nm + thread_nm, thread_nm)


def thread_for_rod(
    wraps: Iterable[Wrap], thread_nm: int, feet_factor: float, waste_factor: float, spool_nm: int
) -> ThreadForRod:
    """Thread for all the wraps of a rod: Σ count × thread of one, × feet × waste, and whole spools of it.

    `feet_factor` is for thread that climbs over guide feet, `waste_factor` for tag ends and wraps done
    again. Raises `SumFault` (`wraps`, `wraps.2.od` and the like, `thread`, `feet_factor`, `waste_factor`,
    `spool`). Common practice, no source.
    """
    need_lengths(thread=thread_nm, spool=spool_nm)
    for name, factor in (("feet_factor", feet_factor), ("waste_factor", waste_factor)):
        if not isfinite(factor) or factor < 1:
            raise SumFault(
                {name: f"A factor of {factor:g} would buy less than lies on the rod; it is 1 or more."}
            )
    rows_nm = tuple(_row_nm(number, wrap, thread_nm) for number, wrap in enumerate(wraps, 1))
    if not rows_nm:
        raise SumFault({"wraps": "There is no wrap to reckon thread for."})
    on_rod_nm = sum(rows_nm)
    needed_nm = round(on_rod_nm * feet_factor * waste_factor)
    spools = -(-needed_nm // spool_nm)
    return ThreadForRod(rows_nm, on_rod_nm, needed_nm, spools, spools * spool_nm - needed_nm)


def _row_nm(number: int, wrap: Wrap, thread_nm: int) -> int:
    errors = {
        f"wraps.{number}.{name}": f"In row {number} the {name} must be more than nothing."
        for name, value in (("count", wrap.count), ("length", wrap.length_nm), ("od", wrap.od_nm))
        if value <= 0
    }
    if not errors and wrap.length_nm < thread_nm:
        errors[f"wraps.{number}.length"] = _too_short(f"wrap in row {number}", wrap.length_nm, thread_nm)
    if errors:
        raise SumFault(errors)
    return wrap.count * wrap_thread_nm(wrap.length_nm, wrap.od_nm, thread_nm)


def _too_short(words: str, length_nm: int, thread_nm: int) -> str:
    return f"The {words} is {say_fine(length_nm)} long, less than one turn of thread, {say_fine(thread_nm)}."


def measured_thread_nm(turn_count: int, laid_nm: int) -> int:
    """A thread's diameter from turns laid side by side, in nm: length / turns.

    Raises `SumFault` (`turns`, `measured`). Common practice, no source.
    """
    need_figures(turns=turn_count)
    need_lengths(measured=laid_nm)
    thread_nm = round(laid_nm / turn_count)
    if thread_nm == 0:
        raise SumFault({"measured": f"{turn_count} turns of a thread cannot be as short as that together."})
    return thread_nm


def thread_diameter_nm(tex: float, density_kg_m3: float, packing: float) -> int:
    """A thread's diameter from its fineness, in nm: d = √(4·m/(π·ρ·φ)), m the mass of a metre.

    `tex` is g per km; `packing` is the share of the round that is fibre. Raises `SumFault` (`tex`,
    `fibre_density`, `packing`). Closed form; the packing is a guess, so the answer is one.
    """
    need_figures(tex=tex, fibre_density=density_kg_m3, packing=packing)
    if packing > 1:
        raise SumFault({"packing": f"A packing of {packing:g} is more fibre than thread; it is at most 1."})
    return round(sqrt(4 * tex * 1e-6 / (pi * density_kg_m3 * packing)) * NM_PER_METRE)


def nearest_sizes(diameter_nm: int) -> tuple[tuple[ThreadSize, ...], int]:
    """The nominal size whose diameters lie nearest, or both where two are as near, and how far off it is.

    The distance in nm is 0 within a size, above where the thread is thicker and below where it is thinner
    than the first size given. Raises `SumFault` (`diameter`). The sizes are from memory.
    """
    need_lengths(diameter=diameter_nm)
    off_nm = {size: _off_nm(size, diameter_nm) for size in SIZES}
    nearest = min(abs(off) for off in off_nm.values())
    sizes = tuple(size for size, off in off_nm.items() if abs(off) == nearest)
    return sizes, off_nm[sizes[0]]


def _off_nm(size: ThreadSize, diameter_nm: int) -> int:
    return diameter_nm - min(max(diameter_nm, size.least_nm), size.most_nm)
