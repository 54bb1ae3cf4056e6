"""The taper of a blank: its diameter at any place, its mass between two places, its sections on one axis.

Places are whole nanometres from the butt end of the blank, diameters whole nanometres. Between two
stations the outside runs in a straight line; nothing is guessed beyond the first and the last one.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from shop.craft.faults import SumFault
from shop.craft.lengths import half_away
from shop.craft.saying import say_fine, say_length

Station = tuple[int, int]
"""A measured place: (distance from the butt end, outside diameter), both in nm."""


class Make(StrEnum):
    """How the mass per length follows the outside diameter.

    `tube`: one wall all along, so it goes with OD − wall (with OD, where the wall is thin). `solid`: a
    solid blank, or a tube whose wall keeps step with its diameter, so it goes with OD².
    """

    TUBE = "tube"
    SOLID = "solid"


def check_stations(stations: Sequence[Station], field: str = "stations") -> None:
    """Raises `SumFault` unless there are two stations or more, rising from the butt, each with a diameter.

    Rows are named `field.N.from_butt` and `field.N.od`, N counted from 1.
    """
    if len(stations) < 2:
        raise SumFault({field: "The taper needs at least two stations, each a place and its diameter."})
    errors: dict[str, str] = {}
    before = -1
    for number, (place, od) in enumerate(stations, 1):
        if place < 0:
            errors[f"{field}.{number}.from_butt"] = f"Station {number} lies below the butt end."
        elif place <= before:
            errors[f"{field}.{number}.from_butt"] = (
                f"Station {number}, at {say_length(place)}, must lie nearer the tip than the one "
                f"before it, at {say_length(before)}."
            )
        if od <= 0:
            errors[f"{field}.{number}.od"] = f"Station {number} must have a diameter of more than nothing."
        before = place
    if errors:
        raise SumFault(errors)


def span_at(stations: Sequence[Station], from_butt_nm: int, field: str = "at") -> tuple[Station, Station]:
    """The stations on both sides of a place; at a station, it and the next towards the tip.

    Raises `SumFault` by `field` for a place outside the stations, and for stations that cannot be.
    """
    check_stations(stations)
    first, last = stations[0][0], stations[-1][0]
    if not first <= from_butt_nm <= last:
        where, nearest = ("before the first", first) if from_butt_nm < first else ("past the last", last)
        raise SumFault(
            {
                field: f"{say_length(from_butt_nm)} from the butt lies {where} station, which is at "
                f"{say_length(nearest)}; measure the diameter there too, it is not guessed."
            }
        )
    index = min(bisect_right([place for place, _ in stations], from_butt_nm), len(stations) - 1)
    return stations[index - 1], stations[index]


def exact_od(stations: Sequence[Station], from_butt_nm: int, field: str = "at") -> Fraction:
    """The outside diameter at a place, in nm, not rounded: a straight line between stations.

    Raises as `span_at` does.
    """
    (start, butt_od), (end, tip_od) = span_at(stations, from_butt_nm, field)
    return butt_od + Fraction((tip_od - butt_od) * (from_butt_nm - start), end - start)


def od_at(stations: Sequence[Station], from_butt_nm: int, field: str = "at") -> int:
    """The outside diameter at a place, in whole nm, halves away from zero. Raises as `span_at` does."""
    return half_away(exact_od(stations, from_butt_nm, field))


def largest_od(stations: Sequence[Station], lower_nm: int, upper_nm: int, field: str = "at") -> int:
    """The largest outside diameter from one place to another, in nm. Raises as `span_at` does."""
    between = [od for place, od in stations if lower_nm < place < upper_nm]
    return max(od_at(stations, lower_nm, field), od_at(stations, upper_nm, field), *between)


def taper_rate(stations: Sequence[Station], from_butt_nm: int, field: str = "at") -> Fraction:
    """Diameter lost per length towards the tip at a place: in/in, or mm/mm; less than nothing if it grows.

    At a station it is the rate on its tip side, at the last station the rate up to it. Raises as
    `span_at` does.
    """
    (start, butt_od), (end, tip_od) = span_at(stations, from_butt_nm, field)
    return Fraction(butt_od - tip_od, end - start)


def frustum_mass(
    length_nm: Fraction | int,
    butt_od_nm: Fraction | int,
    tip_od_nm: Fraction | int,
    make: Make = Make.TUBE,
    wall_nm: int = 0,
) -> tuple[Fraction, Fraction]:
    """Mass of one straight taper and its first moment about its butt end, exact, in units of the make.

    The unit of mass is π/4 · density for `solid` (so the first figure is OD² · length, in nm³) and
    π · wall · density for `tube` (OD − wall, times length, in nm²). Of a solid, L(a² + ab + b²)/3 and
    L²(a² + 2ab + 3b²)/12; of a tube, L(a + b)/2 − Lw and L²(a + 2b)/6 − L²w/2, with a and b the diameters
    (the integrals of OD² and of OD − w; centroid of the solid: MathWorld, “Conical Frustum”).
    """
    length, a, b = Fraction(length_nm), Fraction(butt_od_nm), Fraction(tip_od_nm)
    if make is Make.SOLID:
        return length * (a * a + a * b + b * b) / 3, length**2 * (a * a + 2 * a * b + 3 * b * b) / 12
    return length * ((a + b) / 2 - wall_nm), length**2 * ((a + 2 * b) / 6 - Fraction(wall_nm, 2))


def mass_share(
    stations: Sequence[Station], lower_nm: int, upper_nm: int, make: Make = Make.TUBE, wall_nm: int = 0
) -> Fraction:
    """The share of the blank's mass between two places, 0 to 1, of what lies between the outer stations.

    Frustum by frustum, see `frustum_mass`. Raises `SumFault` by `at` and `to` for places outside the
    stations or in the wrong order, by `wall` for a wall that does not fit the diameters.
    """
    _check_wall(stations, make, wall_nm)
    if lower_nm > upper_nm:
        raise SumFault({"to": "The second place must lie nearer the tip than the first."})
    cut = [(lower_nm, exact_od(stations, lower_nm, "at"))]
    cut += [(place, Fraction(od)) for place, od in stations if lower_nm < place < upper_nm]
    cut.append((upper_nm, exact_od(stations, upper_nm, "to")))
    return _mass(cut, make, wall_nm)[0] / _mass(stations, make, wall_nm)[0]


def mass_centre_nm(stations: Sequence[Station], make: Make = Make.TUBE, wall_nm: int = 0) -> int:
    """Where the bare blank balances, in nm from the butt end, of what lies between the outer stations.

    Raises `SumFault` for stations that cannot be, and by `wall` for a wall that does not fit them.
    """
    _check_wall(stations, make, wall_nm)
    mass, moment = _mass(stations, make, wall_nm)
    return half_away(moment / mass)


def _mass(
    stations: Sequence[tuple[int, Fraction | int]], make: Make, wall_nm: int
) -> tuple[Fraction, Fraction]:
    """Mass and first moment about the butt end of the blank, over every span."""
    mass, moment = Fraction(0), Fraction(0)
    for (start, butt_od), (end, tip_od) in pairwise(stations):
        part, turning = frustum_mass(end - start, butt_od, tip_od, make, wall_nm)
        mass += part
        moment += turning + part * start
    return mass, moment


def _check_wall(stations: Sequence[Station], make: Make, wall_nm: int) -> None:
    check_stations(stations)
    least = min(od for _, od in stations)
    if wall_nm < 0:
        raise SumFault({"wall": "The wall cannot be less than nothing."})
    if make is Make.SOLID and wall_nm:
        raise SumFault({"wall": "A solid blank has no wall; leave it empty, or choose the tube."})
    if 2 * wall_nm > least:
        raise SumFault(
            {
                "wall": f"A wall of {say_fine(wall_nm)} does not fit in the least diameter, "
                f"{say_fine(least)}: twice the wall is more than that."
            }
        )


@dataclass(frozen=True, slots=True)
class Section:
    """One piece of a blank. `stations` are from its own butt end; none where it was not measured.

    `insertion_nm` is how far its butt end overlaps the section below: into that one, or `over` it. The
    outer part of the two is what is seen. The lowest section has none.
    """

    length_nm: int
    stations: tuple[Station, ...] = ()
    insertion_nm: int = 0
    over: bool = False


@dataclass(frozen=True, slots=True)
class Joined:
    """A blank put together, all in nm from the butt end of the lowest section.

    `starts_nm` is where the butt end of each section lies, hidden or not; `ferrules_nm` is where each joint
    is seen, the edge of the outer part; `stations` is the outside as it is seen, none if not measured.
    """

    length_nm: int
    starts_nm: tuple[int, ...]
    ferrules_nm: tuple[int, ...]
    stations: tuple[Station, ...]


def joined(sections: Sequence[Section]) -> Joined:
    """The sections, the lowest first, on one axis: each starts an insertion short of the end below it.

    Where the outside steps at a joint, the station below its edge is 1 nm before the edge, so that
    stations still rise. Raises `SumFault` by `sections.N.length`, `.insertion` and `.stations`: for an
    insertion that is negative, or that leaves nothing of a section, and for a section that is measured
    while another is not, or not as far as its joints.
    """
    if not sections:
        raise SumFault({"sections": "A blank has at least one section."})
    starts = _starts(sections)
    ends = [start + section.length_nm for start, section in zip(starts, sections, strict=True)]
    edges = tuple(
        starts[index] if section.over else ends[index - 1] for index, section in enumerate(sections) if index
    )
    return Joined(ends[-1], tuple(starts), edges, _seen(sections, starts, edges))


def _starts(sections: Sequence[Section]) -> list[int]:
    """Where each section's butt end lies. Raises `SumFault`."""
    _check_sections(sections)
    errors: dict[str, str] = {}
    starts: list[int] = []
    # The end of the section below, and of the one below that: past it the section must begin.
    end, end_below = 0, 0
    for number, section in enumerate(sections, 1):
        start = end - section.insertion_nm
        if number > 1 and start <= end_below:
            errors[f"sections.{number}.insertion"] = (
                f"Section {number} overlaps by {say_length(section.insertion_nm)}, which leaves nothing to "
                f"be seen of section {number - 1}."
            )
        starts.append(start)
        end, end_below = start + section.length_nm, end
    if errors:
        raise SumFault(errors)
    return starts


def _check_sections(sections: Sequence[Section]) -> None:
    errors: dict[str, str] = {}
    for number, section in enumerate(sections, 1):
        field = f"sections.{number}.insertion"
        if section.length_nm <= 0:
            errors[f"sections.{number}.length"] = f"Section {number} must be longer than nothing."
        elif section.insertion_nm < 0:
            errors[field] = f"Section {number} cannot overlap by less than nothing."
        elif number == 1 and section.insertion_nm:
            errors[field] = "Nothing lies below the first section for it to join."
        elif section.insertion_nm >= section.length_nm:
            errors[field] = (
                f"Section {number} overlaps by {say_length(section.insertion_nm)}, but it is only "
                f"{say_length(section.length_nm)} long."
            )
    if errors:
        raise SumFault(errors)


def _seen(sections: Sequence[Section], starts: Sequence[int], edges: Sequence[int]) -> tuple[Station, ...]:
    """The stations of what is seen of each section. Raises `SumFault`."""
    if not any(section.stations for section in sections):
        return ()
    seen: dict[int, int] = {}
    for index, (section, start) in enumerate(zip(sections, starts, strict=True)):
        field = f"sections.{index + 1}.stations"
        check_stations(section.stations, field)
        if section.stations[-1][0] > section.length_nm:
            raise SumFault({field: f"A station of section {index + 1} lies past the end of the section."})
        first = edges[index - 1] - start if index else section.stations[0][0]
        last = edges[index] - start - 1 if index < len(edges) else section.stations[-1][0]
        inner = [place for place, _ in section.stations if first < place < last]
        for place in (first, *inner, last):
            seen[start + place] = od_at(section.stations, place, field)
    return tuple(seen.items())
