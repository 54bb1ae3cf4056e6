"""What a bent blank costs beside scipy's boundary-value solver at the same accuracy.

Run alone with `python -m tests.benchmarks.flex`. Both are held against a shape solved very finely, and
scipy is given the loosest tolerance at which it is as near to that as ours. It is measured as it is usually
called, from a few nodes and without derivatives, and then as fast as it was found to go, trying finer
starts and its derivatives too. Who solves a layout by scipy evens out the same way, on points of its shape.
Both find ready what hangs on the blank alone: we keep the meshes of the blanks that were bent last, scipy is
handed its mesh, and the section as arrays. Measured besides are blanks that neither has met, and three shapes
in a row, as a static test asks for, when the processor still knows the work.
"""

import statistics
import sys
import time
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from math import hypot
from typing import Any, NamedTuple

from shop.craft.flex.beam import bend
from shop.craft.flex.layout import even_out
from shop.craft.flex.line import Guide, Rig
from shop.craft.flex.shape import Shape

if find_spec("scipy") is not None:
    import numpy

    from tests.craft.flex_blanks import Solver, blank

LOADS_N = (0.3, 1.0, 2.5, 5.0, 10.0)
POINTS = 200
LAYOUT_POINTS = 60
TURNS = 30
IN_A_ROW = 3
FEW_NODES = 9
STARTS = (FEW_NODES, 25, 50, 100, POINTS)
TOLERANCES = tuple(10 ** -(half / 2) for half in range(6, 21))
TARGET = "≥ 20"
RIG = Rig(True, 3.0, Guide(250.0, 25.0))


class Line(NamedTuple):
    """A line of the table."""

    what: str
    figure: str
    target: str
    detail: str


class Way(NamedTuple):
    """How scipy is called, and how far off it then is, in parts of the length."""

    nodes: int
    tolerance: float
    derivatives: bool
    off: float


def has_scipy() -> bool:
    """Whether the other side can be measured here."""
    return find_spec("scipy") is not None


def lines() -> Iterator[Line]:
    """Shapes of 200 points and one layout of ten guides, each beside scipy."""
    if not has_scipy():
        yield Line("bent blank", "not measured", TARGET, "scipy is not installed")
        return
    shapes, new, rows, layouts, tuned = [], [], [], [], []
    for load_n in LOADS_N:
        exact = bend(blank(), load_n, points=20_000, within=1e-12)
        ours = bend(blank(), load_n, points=POINTS)
        off = _off(exact, ours.from_butt_mm, ours.x_mm, ours.y_mm)
        ways = _ways(load_n, exact, off)
        shapes.append((load_n, off, *_beside(load_n, ways[0]), ways[0]))
        tuned.append(min(((*_beside(load_n, way), way) for way in ways), key=lambda found: found[1]))
        new.append(_new_beside(load_n, ways[0]))
        rows.append(_beside(load_n, ways[0], IN_A_ROW))
        layouts.append(_layouts_beside(load_n, ways[0]))
    what = f"a bent blank of {POINTS} points, scipy / ours"
    detail = "; ".join(
        f"{load:g} N: ours {ms:.2f} ms off {off:.0e}, scipy {other:.2f} ms off {way.off:.0e}"
        for load, off, ms, other, way in shapes
    )
    yield Line(f"{what}, from a few nodes", _ratio([(s[2], s[3]) for s in shapes]), TARGET, detail)
    detail = "; ".join(
        f"scipy {other:.2f} ms from {way.nodes} nodes{', derivatives' if way.derivatives else ''}"
        for _, other, way in tuned
    )
    yield Line(f"{what}, the fastest call found", _ratio([(t[0], t[1]) for t in tuned]), TARGET, detail)
    for how, pairs in (("of a blank never met", new), (f"{IN_A_ROW} in a row", rows)):
        yield Line(f"{what}, {how}", _ratio(pairs), TARGET, _both(pairs))
    yield Line("ten guides evened out, scipy / ours", _ratio(layouts), TARGET, _both(layouts))


def _both(pairs: list[tuple[float, float]]) -> str:
    return "; ".join(f"ours {ours:.2f} ms, scipy {other:.2f} ms" for ours, other in pairs)


def _ratio(pairs: list[tuple[float, float]]) -> str:
    ratios = sorted(other / ours for ours, other in pairs)
    return f"{statistics.median(ratios):.1f} ({ratios[0]:.1f} to {ratios[-1]:.1f})"


def _ways(load_n: float, exact: Shape, off: float) -> list[Way]:
    """Ways to call scipy that are as near as ours: the usual one first, then from finer starts and so on."""
    solver = Solver(blank(), load_n)
    length_mm = exact.from_butt_mm[-1]
    parts = numpy.linspace(0.0, 1.0, POINTS)
    found = []
    for derivatives in (False, True):
        for nodes in STARTS:
            for tolerance in TOLERANCES:
                angle_arm_down = solver.solved(solver.mesh(nodes), tolerance, derivatives)(parts) * length_mm
                x, y = angle_arm_down[1][0] - angle_arm_down[1], angle_arm_down[2]
                apart = _off(exact, (parts * length_mm).tolist(), x.tolist(), y.tolist())
                if apart <= off:
                    found.append(Way(nodes, tolerance, derivatives, apart))
                    break
    return found


def _off(exact: Shape, along: Any, xs: Any, ys: Any) -> float:
    """The largest distance from where a point should be, in parts of the length."""
    length_mm = exact.from_butt_mm[-1]
    places = (exact.at(min(at, length_mm)) for at in along)
    return max(hypot(x - p[0], y - p[1]) for p, x, y in zip(places, xs, ys, strict=True)) / length_mm


def _beside(load_n: float, way: Way, in_a_row: int = 1) -> tuple[float, float]:
    """Milliseconds for so many shapes of a blank whose section is known: ours and scipy's."""
    section, times = blank(), range(in_a_row)

    def by_us() -> object:
        return [bend(section, load_n, points=POINTS) for _ in times]

    by_scipy = _by_scipy(load_n, way)
    return _medians(by_us, lambda: [by_scipy() for _ in times])


def _new_beside(load_n: float, way: Way) -> tuple[float, float]:
    """The same for one of a blank of which nothing is ready but its stations."""
    # Stiffer by so little that nothing but its being another blank is changed.
    ready = [blank().scaled(1.0 + turn * 1e-9) for turn in range(TURNS + 1)]
    return _medians(lambda: bend(ready.pop(), load_n, points=POINTS), lambda: _by_scipy(load_n, way)())


def _by_scipy(load_n: float, way: Way) -> Callable[[], object]:
    solver = Solver(blank(), load_n)
    mesh, parts = solver.mesh(way.nodes), numpy.linspace(0.0, 1.0, POINTS)
    return lambda: solver.solved(mesh, way.tolerance, way.derivatives)(parts)


def _layouts_beside(load_n: float, way: Way) -> tuple[float, float]:
    """Milliseconds for a layout of ten guides, the shape solved for included."""
    section, solver = blank(), Solver(blank(), load_n)
    mesh, parts = solver.mesh(way.nodes), numpy.linspace(0.0, 1.0, LAYOUT_POINTS)
    step = 2 * (1450.0 - 10 * 80.0) / 90
    guides = [Guide(2000.0 - (k * 80.0 + step * k * (k - 1) / 2), 4.0 + k * k / 6.0) for k in range(1, 11)]

    def by_scipy() -> object:
        angle, arm, down = solver.solved(mesh, way.tolerance, way.derivatives)(parts)
        x, y = (arm[0] - arm) * 2000.0, down * 2000.0
        along, xs, ys, angles = (tuple(column.tolist()) for column in (parts * 2000.0, x, y, angle))
        shape = Shape(along, xs, ys, angles, 0.0, 0.0)
        return even_out(shape, section.od_at, guides, RIG)

    def by_us() -> object:
        return even_out(bend(section, load_n, points=LAYOUT_POINTS), section.od_at, guides, RIG)

    return _medians(by_us, by_scipy)


def _medians(ours: Callable[[], object], other: Callable[[], object]) -> tuple[float, float]:
    """Median milliseconds of both, in turns."""
    times: tuple[list[float], list[float]] = ([], [])
    for turn in range(TURNS + 1):
        for side, work in enumerate((ours, other)):
            began = time.perf_counter()
            work()
            if turn:  # the first warms both up
                times[side].append((time.perf_counter() - began) * 1000)
    return statistics.median(times[0]), statistics.median(times[1])


if __name__ == "__main__":
    sys.stdout.write("| what | ratio | target | beside it |\n| --- | --- | --- | --- |\n")
    for line in lines():
        sys.stdout.write(f"| {line.what} | **{line.figure}** | {line.target} | {line.detail} |\n")
