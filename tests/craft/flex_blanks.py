"""Blanks and outside solvers that the tests of the bent blank share."""

from collections.abc import Callable
from dataclasses import dataclass
from math import pi, radians
from typing import Any

import numpy
from scipy.integrate import solve_bvp

from shop.craft.flex.section import Section, section_of

MM = 1_000_000
# A 2 m blank of seven tapers, in mm from the butt and across; made up.
STATIONS_MM = (
    (0, 12.5), (300, 11.0), (600, 9.6), (900, 8.0), (1200, 6.4), (1500, 4.8), (1800, 3.2), (2000, 2.2),
)  # fmt: skip


def blank() -> Section:
    """A tube of 1 mm wall at the butt and 0.6 mm at the tip, 2 m long."""
    stations = [(at * MM, round(od * MM)) for at, od in STATIONS_MM]
    return section_of(stations, 40.0, MM, 600_000)


def uniform(length_mm: float = 1000.0, od_mm: float = 6.0) -> Section:
    """A solid rod of one diameter."""
    od = round(od_mm * MM)
    return section_of([(0, od), (round(length_mm * MM), od)], 40.0)


@dataclass(frozen=True)
class Power:
    """A rod 1000 mm long whose EI goes as a power of a straight diameter; 1 N·mm² at its butt."""

    ratio: float
    power: int
    breaks_mm: tuple[float, ...] = (0.0, 1000.0)

    def flexibility(
        self, span: int, first_mm: float, last_mm: float, steps: int, times: float = 1.0
    ) -> list[float]:
        """`times`/EI at even places."""
        assert span == 0
        places = [first_mm + (last_mm - first_mm) * n / steps for n in range(steps + 1)]
        slope = (1.0 / self.ratio - 1.0) / 1000.0
        return [times / (1.0 + slope * at) ** self.power for at in places]

    def softness(self) -> list[tuple[float, float]]:
        """1/EI at both ends."""
        return [(1.0, self.ratio**self.power)]


@dataclass(frozen=True)
class Steps:
    """A rod of pieces, each of one EI in N·mm²."""

    breaks_mm: tuple[float, ...]
    stiffness: tuple[float, ...]

    def flexibility(
        self, span: int, _first_mm: float, _last_mm: float, steps: int, times: float = 1.0
    ) -> list[float]:
        """`times`/EI, the same all along."""
        return [times / self.stiffness[span]] * (steps + 1)

    def softness(self) -> list[tuple[float, float]]:
        """1/EI at both ends of every piece."""
        return [(1.0 / value, 1.0 / value) for value in self.stiffness]


class Solver:
    """scipy's boundary-value solver on the same beam: angle, arm to the tip and y, in parts of the length."""

    def __init__(
        self, section: Section, load_n: float, clamp_mm: float = 0.0, butt_angle_deg: float = 0.0
    ) -> None:
        self._breaks, self._ods, self._bores = (
            numpy.array(values) for values in (section.breaks_mm, section.od_mm, section.bore_mm)
        )
        self._clamp_mm, self._butt = clamp_mm, radians(butt_angle_deg)
        self._free_mm = section.breaks_mm[-1] - clamp_mm
        self._whole = load_n * self._free_mm**2 * 64.0 / pi / section.modulus_gpa / 1000.0

    def mesh(self, nodes: int) -> Any:
        """Even nodes, with one at each station; twice nearly the same place could not be stepped over."""
        inner = (self._breaks[self._breaks > self._clamp_mm] - self._clamp_mm) / self._free_mm
        even = [part for part in numpy.linspace(0, 1, nodes) if min(abs(inner - part)) > 1e-6]
        return numpy.sort(numpy.concatenate((even, inner)))

    def solved(self, mesh: Any, tol: float, derivatives: bool = False) -> Any:
        """The solution as a function of the part of the free length."""
        start = numpy.vstack((mesh - self._butt * (1 - mesh), 0.8 * (1 - mesh), 0.5 * mesh))
        more = {"fun_jac": self._rates_by_y, "bc_jac": self._ends_by_y} if derivatives else {}
        found = solve_bvp(self._rates, self._ends, mesh, start, tol=tol, max_nodes=50_000, **more)
        assert found.status == 0, found.message
        return found.sol

    def _soft(self, part: Any) -> Any:
        at = self._clamp_mm + part * self._free_mm
        od = numpy.interp(at, self._breaks, self._ods)
        return self._whole / (od**4 - numpy.interp(at, self._breaks, self._bores) ** 4)

    def _rates(self, part: Any, y: Any) -> Any:
        return numpy.vstack((y[1] * self._soft(part), -numpy.cos(y[0]), numpy.sin(y[0])))

    def _ends(self, butt: Any, tip: Any) -> Any:
        return numpy.array([butt[0] + self._butt, tip[1], butt[2]])

    def _rates_by_y(self, part: Any, y: Any) -> Any:
        found = numpy.zeros((3, 3, part.size))
        found[0, 1], found[1, 0], found[2, 0] = self._soft(part), numpy.sin(y[0]), numpy.cos(y[0])
        return found

    def _ends_by_y(self, _butt: Any, _tip: Any) -> Any:
        return numpy.diag([1.0, 0.0, 1.0]), numpy.array([[0, 0, 0], [0, 1.0, 0], [0, 0, 0]])


def by_solve_bvp(
    section: Section, load_n: float, clamp_mm: float = 0.0, butt_angle_deg: float = 0.0
) -> Callable[[Any], Any]:
    """scipy's answer: angle, x and y (in parts of the free length) at places from the butt in mm."""
    solver = Solver(section, load_n, clamp_mm, butt_angle_deg)
    solution = solver.solved(solver.mesh(60), 1e-9)
    free_mm, out = section.breaks_mm[-1] - clamp_mm, solution(0.0)[1]

    def at(places_mm: Any) -> Any:
        angle, arm, down = solution((numpy.asarray(places_mm) - clamp_mm) / free_mm)
        return angle, out - arm, down

    return at
