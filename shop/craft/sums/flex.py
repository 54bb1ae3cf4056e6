"""The bench calculators for how a blank bends under a load at its tip, and how stiff a measured one is."""

from collections.abc import Sequence
from itertools import pairwise
from math import degrees

from shop.craft.faults import SumFault
from shop.craft.flex.beam import GRAVITY_M_S2, STEEPEST_DEG, bend, newtons_of
from shop.craft.flex.fitting import Loaded, fitted_to, third_length_load
from shop.craft.flex.section import DEFAULT_MODULUS_GPA, Section, section_of
from shop.craft.flex.shape import Shape
from shop.craft.lengths import NM_PER_MM
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values

GROUP = "Flex"
SOURCE = (
    "Bernoulli–Euler beam with large deflections, Bisshopp and Drucker, Quarterly of Applied Mathematics 3 "
    "(1945) 272–275, here with a stiffness that varies along the blank."
)
BEAM = "EI·dφ/ds = load × level distance to the tip; EI = E·π/64·(D⁴ − (D − 2·wall)⁴)"
CARE = (
    "An estimate from a model of the blank as a beam, without its own weight; test the blank itself, and "
    "load it no further than its maker allows.",
    "Wear eye protection and stand out of the arc of the tip: a loaded blank can break without warning.",
)
_SHOWN = 40
_SHOWN_IN_TEST = 20
_REPEATS = 0.03

STATIONS = Input(
    "stations",
    "Taper stations",
    Kind.TABLE,
    hint="From the butt at 0 in to the tip.",
    columns=(
        Input("from_butt", "From butt", Kind.LENGTH, zero=True),
        Input("od", "Outer diameter", Kind.FINE),
    ),
)
WALLS = (
    Input("wall_butt", "Wall at the butt", Kind.FINE, hint="Leave both out for a solid.", optional=True),
    Input("wall_tip", "Wall at the tip", Kind.FINE, optional=True),
)
MODULUS = Input(
    "modulus_gpa",
    "Modulus of the wall, lengthwise",
    Kind.NUMBER,
    hint="Blanks differ widely; a measured sag says more.",
    default=f"{DEFAULT_MODULUS_GPA:g}",
    most=1000.0,
    unit="GPa",
)
CLAMP = Input("clamp_from_butt", "Clamped at, from the butt", Kind.LENGTH, default="0 in", zero=True)
TEST_LOAD = Input("test_load", "Load of a measured sag", Kind.MASS, optional=True)
TEST_SAG = Input(
    "test_sag",
    "Sag measured under it",
    Kind.LENGTH,
    hint="How far the tip came down, the blank clamped level at the same place.",
    optional=True,
)
BLANK = (STATIONS, *WALLS, MODULUS, TEST_LOAD, TEST_SAG, CLAMP)
BUTT_ANGLE = Input(
    "butt_angle",
    "Butt above level",
    Kind.ANGLE,
    default="0°",
    signed=True,
    most=STEEPEST_DEG,
)
MOST_LOAD = Input(
    "most_load", "Most load the blank is made for", Kind.MASS, hint="As its maker states it.", optional=True
)
LOADED = (*BLANK, BUTT_ANGLE, Input("load", "Load at the tip", Kind.MASS), MOST_LOAD)


def blank_of(values: Values) -> tuple[Section, list[str]]:
    """The blank that the inputs of `BLANK` describe, and how its stiffness came about. Raises `SumFault`."""
    assumed = _assumed(values)
    load, sag = values["test_load"], values["test_sag"]
    if load is None and sag is None:
        return assumed, [_stiffness_line(assumed, values["modulus_gpa"])]
    if load is None or sag is None:
        missing, other = ("test_load", "sag") if load is None else ("test_sag", "load")
        raise SumFault({missing: f"The {other} of a measured sag is given alone; give both, or neither."})
    fitted = fitted_to(assumed, load, sag / NM_PER_MM, mm(values["clamp_from_butt"]))
    line = (
        f"stiffness that sags {say_length(sag)} under {plain(load)} g: {plain(fitted.times)} × the one for "
        f"{plain(values['modulus_gpa'])} GPa"
    )
    return fitted.blank, [line, _stiffness_line(fitted.blank, fitted.blank.modulus_gpa)]


def _assumed(values: Values) -> Section:
    stations = [(row["from_butt"], row["od"]) for row in values["stations"]]
    return section_of(stations, values["modulus_gpa"], values["wall_butt"], values["wall_tip"])


def _stiffness_line(blank: Section, modulus_gpa: float) -> str:
    od, bore = (round(size[0] * NM_PER_MM) for size in (blank.od_mm, blank.bore_mm))
    hollow = f" − ({say_fine(bore)})⁴" if bore else ""
    return (
        f"EI at the butt = {plain(modulus_gpa)} GPa × π/64 × (({say_fine(od)})⁴{hollow}) = "
        f"{plain(_butt_stiffness(blank))} N·m²"
    )


def _butt_stiffness(blank: Section) -> float:
    return blank.stiffness_at(0.0) / 1e6


def bent(values: Values, load_g: float, field: str = "load") -> tuple[Section, Shape, list[str]]:
    """The blank, its shape under a load, and the working. Raises `SumFault`, of the load on `field`."""
    blank, working = blank_of(values)
    shape = _shape_of(blank, values, load_g, field)
    return blank, shape, [*working, *_bending_lines(shape, load_g)]


def _shape_of(blank: Section, values: Values, load_g: float, field: str) -> Shape:
    most = values["most_load"]
    if most is not None and load_g > most:
        raise SumFault(
            {field: f"A load of {plain(load_g)} g is more than the {plain(most)} g the blank is made for."}
        )
    try:
        return bend(blank, newtons_of(load_g), mm(values["clamp_from_butt"]), values["butt_angle"])
    except SumFault as fault:
        raise SumFault(
            {field if name == "load" else name: words for name, words in fault.errors.items()}
        ) from fault


def _bending_lines(shape: Shape, load_g: float) -> list[str]:
    return [
        f"load = {plain(load_g)} g ÷ 1000 × {GRAVITY_M_S2} m/s² = {plain(newtons_of(load_g))} N",
        f"over {say_length(nm(shape.free_mm))} from clamp to tip, EI·dφ/ds = load × level distance to the "
        f"tip: the tip comes down {say_length(nm(shape.tip_drop_mm))} and points "
        f"{plain(round(shape.tip_angle_deg, 2))}° below level",
    ]


def mm(length_nm: int) -> float:
    """A stored length in mm, to bend with."""
    return length_nm / NM_PER_MM


def nm(length_mm: float) -> int:
    """A length in mm as whole nanometres, to show."""
    return round(length_mm * NM_PER_MM)


def shape_table(name: str, label: str, shape: Shape, pieces: int) -> Table:
    """The bent blank at even places from its clamp to its tip."""
    first, last = shape.from_butt_mm[0], shape.from_butt_mm[-1]
    evenly = (first + (last - first) * n / pieces for n in range(pieces))
    rows = []
    for at in (*evenly, last):
        x, y, angle = shape.at(at)
        rows.append((nm(at), nm(x), nm(y), degrees(angle)))
    columns = (
        Column("from_butt", "From butt, along the blank", Kind.LENGTH),
        Column("x", "Level from the clamp", Kind.LENGTH),
        Column("y", "Below the clamp", Kind.LENGTH),
        Column("angle", "Below level", Kind.ANGLE),
    )
    return Table(name, label, columns, tuple(rows))


def _tip_figures(shape: Shape, before: str = "", said: str = "") -> tuple[Figure, ...]:
    return (
        Figure(f"{before}tip_drop", f"{said}Tip comes down", Kind.LENGTH, nm(shape.tip_drop_mm)),
        Figure(f"{before}pull_in", f"{said}Tip comes back", Kind.LENGTH, nm(shape.pull_in_mm)),
        Figure(f"{before}tip_angle", f"{said}Tip points below level", Kind.ANGLE, shape.tip_angle_deg),
    )


def _flex(values: Values) -> Outcome:
    _, shape, working = bent(values, values["load"])
    table = shape_table("shape", "The bent blank, from its clamp to its tip", shape, _SHOWN)
    return Outcome((*_tip_figures(shape), table), (*working,), CARE)


FLEX = Sum(
    name="flex",
    title="Bend of a blank under a load",
    group=GROUP,
    about="What shape a blank takes with a mass hung from its tip. An estimate, to be tested.",
    inputs=LOADED,
    formula=BEAM,
    source=SOURCE,
    work=_flex,
)


_STAGES = (("light", "Light load"), ("middle", "Middle load"), ("heavy", "Heavy load"))


def _static_test(values: Values) -> Outcome:
    _check_stages(values)
    figures: list[Figure | Table] = []
    blank, working = blank_of(values)
    for name, label in _STAGES:
        shape = _shape_of(blank, values, values[name], name)
        figures += _tip_figures(shape, f"{name}_", f"{label}: ")
        figures.append(shape_table(name, f"{label}: the bent blank", shape, _SHOWN_IN_TEST))
        working += _bending_lines(shape, values[name])
    return Outcome((*figures,), (*working,), CARE)


def _check_stages(values: Values) -> None:
    for (lighter, _), (heavier, label) in pairwise(_STAGES):
        if values[heavier] <= values[lighter]:
            raise SumFault(
                {
                    heavier: f"{label}: {plain(values[heavier])} g is not more than the "
                    f"{plain(values[lighter])} g before it; the three loads rise."
                }
            )


STATIC_TEST = Sum(
    name="static-test",
    title="What a static test should look like",
    group=GROUP,
    about="Three shapes to hold the bent blank against: tip guides are tuned at the light load, butt "
    "guides at the heavy one.",
    inputs=(
        *BLANK, BUTT_ANGLE, *(Input(name, label, Kind.MASS) for name, label in _STAGES), MOST_LOAD,
    ),
    formula=BEAM,
    source=SOURCE,
    work=_static_test,
)  # fmt: skip


def _number(values: Values) -> Outcome:
    blank, working = blank_of(values)
    third = third_length_load(blank, mm(values["clamp_from_butt"]))
    figures = [
        Figure("load", "Load that sags the tip by a third", Kind.MASS, third.load_g),
        Figure("sag", "A third of the free length", Kind.LENGTH, nm(third.shape.tip_drop_mm)),
        Figure("tip_angle", "Tip points below level then", Kind.ANGLE, third.shape.tip_angle_deg),
    ]
    working += [
        f"sag = {say_length(nm(third.shape.free_mm))} ÷ 3 = {say_length(nm(third.shape.free_mm / 3))}",
        *_bending_lines(third.shape, third.load_g),
    ]
    compared, warnings = _compare(third, values["measured_load"])
    return Outcome((*figures, *compared), (*working,), (*warnings, *CARE))


def _compare(third: Loaded, measured_g: float | None) -> tuple[Sequence[Figure], Sequence[str]]:
    if measured_g is None:
        return (), ()
    off = measured_g / third.load_g - 1.0
    figure = Figure("difference", "Measured load beside it", Kind.NUMBER, 100.0 * off, "%")
    if abs(off) <= _REPEATS:
        return (figure,), ()
    return (figure,), (
        f"The measured {plain(measured_g)} g is {plain(abs(round(100.0 * off, 1)))} % "
        f"{'more' if off > 0 else 'less'} than the model's; a careful test repeats within {_REPEATS:.0%}.",
    )


STIFFNESS_NUMBER = Sum(
    name="stiffness-number",
    title="Stiffness number of a blank",
    group=GROUP,
    about="The load that sags the tip by a third of the free length, clamped level, and the tip's angle.",
    inputs=(
        *BLANK,
        Input("measured_load", "Load that was measured to do so", Kind.MASS, optional=True),
    ),
    formula=f"{BEAM}; sag = free length ÷ 3",
    source=f"The measure is common practice, no source. {SOURCE}",
    work=_number,
)


def _fit(values: Values) -> Outcome:
    assumed = _assumed(values)
    clamp_mm = mm(values["clamp_from_butt"])
    blank, working = blank_of(values)
    shape = bend(blank, newtons_of(values["test_load"]), clamp_mm)
    figures = (
        Figure("butt_stiffness", "EI at the butt", Kind.NUMBER, _butt_stiffness(blank), "N·m²"),
        Figure("modulus_gpa", "Modulus that agrees with the sag", Kind.NUMBER, blank.modulus_gpa, "GPa"),
        Figure("times", "Times as stiff as assumed", Kind.NUMBER, blank.modulus_gpa / assumed.modulus_gpa),
        Figure("tip_angle", "Tip points below level in the test", Kind.ANGLE, shape.tip_angle_deg),
    )
    return Outcome(figures, (*working, *_bending_lines(shape, values["test_load"])), CARE)


FIT_STIFFNESS = Sum(
    name="fit-stiffness",
    title="Stiffness from a measured sag",
    group=GROUP,
    about="How stiff a blank is that came down so far under a known load, clamped level.",
    inputs=(
        STATIONS,
        *WALLS,
        MODULUS,
        Input("test_load", TEST_LOAD.label, Kind.MASS),
        Input("test_sag", TEST_SAG.label, Kind.LENGTH, hint=TEST_SAG.hint),
        CLAMP,
    ),
    formula=f"{BEAM}; stiffness × (load that sags so far by the model → load that was measured)",
    source=SOURCE,
    work=_fit,
)

SUMS: tuple[Sum, ...] = (FLEX, STATIC_TEST, STIFFNESS_NUMBER, FIT_STIFFNESS)
