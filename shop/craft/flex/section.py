"""How stiff a blank is along its length: the bending stiffness EI of a solid or a tube with straight tapers.

I = π/64·(D⁴ − (D − 2w)⁴), for a solid π/64·D⁴ (second moment of area of a circle about its diameter, any
text on strength of materials). Diameters run straight between stations, as in the shop's taper sums; they
are taken here as floats from stations that were checked, since a shape asks for them hundreds of times.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import pi

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_MM
from shop.craft.saying import say_fine, say_length

Station = tuple[int, int]
MPA_PER_GPA = 1000.0
DEFAULT_MODULUS_GPA = 40.0


@dataclass(frozen=True, slots=True)
class Section:
    """The cross-section of a blank from its butt to its tip.

    `breaks_mm` are the stations from the butt; `od_mm` and `bore_mm` hold a diameter each, and a bore of
    nothing means solid. `modulus_gpa` is Young's modulus of the wall as it bends.
    """

    breaks_mm: tuple[float, ...]
    od_mm: tuple[float, ...]
    bore_mm: tuple[float, ...]
    modulus_gpa: float

    def scaled(self, by: float) -> "Section":
        """The same blank, so many times as stiff everywhere."""
        return replace(self, modulus_gpa=self.modulus_gpa * by)

    def od_at(self, from_butt_mm: float) -> float:
        """Outer diameter in mm at a place from the butt in mm, which must lie on the blank."""
        breaks, ods = self.breaks_mm, self.od_mm
        end = bisect_right(breaks, from_butt_mm, 1, len(breaks) - 1)
        start, first = breaks[end - 1], ods[end - 1]
        return first + (ods[end] - first) / (breaks[end] - start) * (from_butt_mm - start)

    def stiffness_at(self, from_butt_mm: float) -> float:
        """Bending stiffness EI in N·mm² at a place from the butt in mm, which must lie on the blank."""
        span = bisect_right(self.breaks_mm, from_butt_mm, 1, len(self.breaks_mm) - 1) - 1
        return 1.0 / self.flexibility(span, from_butt_mm, from_butt_mm, 1)[0]

    def flexibility(
        self, span: int, first_mm: float, last_mm: float, steps: int, times: float = 1.0
    ) -> list[float]:
        """`times`/EI, EI in N·mm², at `steps` + 1 even places of the span that begins at station `span`."""
        breaks, ods, bores = self.breaks_mm, self.od_mm, self.bore_mm
        start, od, bore = breaks[span], ods[span], bores[span]
        share = 1.0 / (breaks[span + 1] - start)
        od_by, bore_by = (ods[span + 1] - od) * share, (bores[span + 1] - bore) * share
        od += od_by * (first_mm - start)
        bore += bore_by * (first_mm - start)
        step = (last_mm - first_mm) / steps
        od_by *= step
        bore_by *= step
        whole = times * 64.0 / (pi * self.modulus_gpa * MPA_PER_GPA)
        found = []
        for _ in range(steps + 1):
            square, hollow = od * od, bore * bore
            found.append(whole / ((square - hollow) * (square + hollow)))
            od += od_by
            bore += bore_by
        return found

    def softness(self) -> list[tuple[float, float]]:
        """1/EI in 1/(N·mm²) at the butt's end and at the tip's end of every span."""
        whole = 64.0 / (pi * self.modulus_gpa * MPA_PER_GPA)
        squares = ((od * od, bore * bore) for od, bore in zip(self.od_mm, self.bore_mm, strict=True))
        found = [whole / ((square - hollow) * (square + hollow)) for square, hollow in squares]
        return list(pairwise(found))


def section_of(
    stations: Sequence[Station],
    modulus_gpa: float,
    wall_butt_nm: int | None = None,
    wall_tip_nm: int | None = None,
) -> Section:
    """The section of a blank from stations of (from butt, OD) in nm, first at its butt, last at its tip.

    The wall runs straight from the first station to the last; without walls the blank is solid. Raises
    `SumFault` on `stations`, `stations.N.from_butt`, `stations.N.od`, `wall_butt`, `wall_tip` and
    `modulus_gpa`.
    """
    _check_stations(stations)
    if not 0.0 < modulus_gpa <= 1000.0:
        raise SumFault({"modulus_gpa": f"A modulus of {modulus_gpa:g} GPa is none of any blank's material."})
    breaks = tuple(at / NM_PER_MM for at, _ in stations)
    ods = tuple(od / NM_PER_MM for _, od in stations)
    if wall_butt_nm is None and wall_tip_nm is None:
        return Section(breaks, ods, (0.0,) * len(ods), modulus_gpa)
    if wall_butt_nm is None or wall_tip_nm is None:
        missing, given = ("wall_butt", "tip") if wall_butt_nm is None else ("wall_tip", "butt")
        raise SumFault(
            {missing: f"The wall at the {given} is given alone; give both ends, or neither for a solid."}
        )
    return Section(breaks, ods, _bores(stations, wall_butt_nm, wall_tip_nm), modulus_gpa)


def _check_stations(stations: Sequence[Station]) -> None:
    if len(stations) < 2:
        raise SumFault(
            {"stations": "A blank needs at least two stations, one at its butt and one at its tip."}
        )
    errors = {}
    for number, (at, od) in enumerate(stations, 1):
        if od <= 0:
            errors[f"stations.{number}.od"] = f"The diameter at {say_length(at)} must be more than nothing."
        if number > 1 and at <= stations[number - 2][0]:
            errors[f"stations.{number}.from_butt"] = (
                f"The station at {say_length(at)} does not lie past the one before it, at "
                f"{say_length(stations[number - 2][0])}."
            )
    if stations[0][0] != 0:
        errors["stations.1.from_butt"] = (
            f"The first station is {say_length(stations[0][0])} from the butt; measure one at the butt, 0 in."
        )
    if errors:
        raise SumFault(errors)


def _bores(stations: Sequence[Station], wall_butt_nm: int, wall_tip_nm: int) -> tuple[float, ...]:
    length = stations[-1][0]
    errors = {}
    bores = []
    for at, od in stations:
        wall = wall_butt_nm + (wall_tip_nm - wall_butt_nm) * at / length
        bores.append((od - 2 * wall) / NM_PER_MM)
        # Wall and diameter are both straight between stations, so that the stations decide.
        if wall <= 0 or 2 * wall >= od:
            blamed = "wall_butt" if 2 * at < length else "wall_tip"
            errors[blamed] = (
                f"The wall is {say_fine(round(wall))} at {say_length(at)}, where the diameter is "
                f"{say_fine(od)}; a tube's wall is more than nothing and less than half of its diameter."
            )
    if errors:
        raise SumFault(errors)
    return tuple(bores)
