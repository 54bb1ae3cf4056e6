"""Calculators for the taper of a blank, and for the sections of one put together."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from shop.craft.faults import SumFault
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values
from shop.craft.taper import (
    Make,
    Section,
    Station,
    joined,
    mass_centre_nm,
    mass_share,
    od_at,
    span_at,
    taper_rate,
)

MADE = {
    "tube": "a tube with one wall all along, mass per length in step with OD − wall",
    "solid": "solid, or a wall in step with the diameter, mass per length in step with OD²",
}


def stations_input(optional: bool = False, hint: str = "") -> Input:
    """The table of stations that a calculator asks for."""
    return Input(
        "stations",
        "Stations",
        Kind.TABLE,
        hint or "Measured outside diameters, from the butt towards the tip; at least two.",
        optional=optional,
        columns=(
            Input("from_butt", "From the butt", Kind.LENGTH, zero=True),
            Input("od", "Outside diameter", Kind.FINE),
        ),
    )


def stations_of(rows: Sequence[Mapping[str, Any]]) -> tuple[Station, ...]:
    """The stations of a table that was read."""
    return tuple((row["from_butt"], row["od"]) for row in rows)


def _taper(values: Values) -> Outcome:
    stations = stations_of(values["stations"])
    at, to = values["at"], values["to"]
    od, rate = od_at(stations, at), taper_rate(stations, at)
    (start, below), (end, above) = span_at(stations, at)
    make, wall = Make(values["made"]), values["wall"] or 0
    figures = [
        Figure("od", "Outside diameter there", Kind.FINE, od),
        Figure("taper_rate", "Taper towards the tip", Kind.NUMBER, float(rate), "in/in"),
        Figure("taper_mm_per_m", "The same in millimetres", Kind.NUMBER, float(rate * 1000), "mm/m"),
        Figure("mass_centre", "Bare blank balances at", Kind.LENGTH, mass_centre_nm(stations, make, wall)),
    ]
    span = f"({say_length(end)} − {say_length(start)})"
    working = [
        f"OD at {say_length(at)} = {say_fine(below)} + ({say_fine(above)} − {say_fine(below)}) × "
        f"({say_length(at)} − {say_length(start)}) ÷ {span} = {say_fine(od)}.",
        f"Taper there = ({say_fine(below)} − {say_fine(above)}) ÷ {span} = {plain(float(rate))} in/in.",
        f"Balance of the bare blank, between the outer stations, taken as {MADE[make]}: Σ mass × place "
        "÷ Σ mass over the spans.",
    ]
    if to is not None:
        od_to = od_at(stations, to, "to")
        lower, upper = sorted((at, to))
        share = float(mass_share(stations, lower, upper, make, wall)) * 100
        figures += [
            Figure("od_to", "Outside diameter at the second place", Kind.FINE, od_to),
            Figure("mass_share_percent", "Share of the blank's mass between", Kind.NUMBER, share, "%"),
        ]
        working.append(
            f"Between {say_length(lower)} and {say_length(upper)} lies {plain(share)} % of the mass between "
            "the outer stations."
        )
    return Outcome(tuple(figures), tuple(working), _growing(stations))


def _growing(stations: Sequence[Station]) -> tuple[str, ...]:
    """A warning where the blank grows towards the tip, which few blanks do."""
    return tuple(
        f"The blank is thicker at {say_length(place)} than at the station before it; was it measured right?"
        for (_, before), (place, od) in pairwise(stations)
        if od > before
    )


TAPER = Sum(
    name="taper",
    title="Diameter and taper",
    group="Blank",
    about="The outside diameter at any place between two measured stations, how fast the blank tapers there, "
    "and how much of its mass lies between two places.",
    inputs=(
        stations_input(),
        Input("at", "At, from the butt", Kind.LENGTH, zero=True),
        Input(
            "to", "And to, from the butt", Kind.LENGTH, "A second place, if wanted.", optional=True, zero=True
        ),
        Input(
            "made",
            "Made as",
            Kind.CHOICE,
            "Tube: one wall all along. Solid: also a wall in step with the diameter.",
            default="tube",
            options=tuple(MADE),
        ),
        Input("wall", "Wall", Kind.FINE, "Of a tube; left empty, it counts as thin.", optional=True),
    ),
    formula="OD = OD below + (OD above − OD below) × (place − place below) ÷ (place above − place below)",
    source="Straight line between stations: common practice, no source. Mass and balance of a frustum: "
    "MathWorld, “Conical Frustum” (Eshbach 1975, Beyer 1987); of a tube, the integral of OD − wall.",
    work=_taper,
)


def _sections(values: Values) -> Outcome:
    rows = values["sections"]
    over = values["ferrule"] == "tip over butt"
    measured = any(row[name] is not None for row in rows for name in ("butt_od", "tip_od"))
    sections = tuple(_section(row, number, over, measured) for number, row in enumerate(rows, 1))
    whole = joined(sections)
    numbered = list(enumerate(zip(sections, whole.starts_nm, strict=True), 1))
    ends = [start + section.length_nm for section, start in zip(sections, whole.starts_nm, strict=True)]
    figures: list[Figure | Table] = [
        Figure("joined_length", "Length put together", Kind.LENGTH, whole.length_nm),
        Table(
            "starts",
            "Where each section begins",
            (
                Column("section", "Section", Kind.COUNT),
                Column("start", "Butt end, from the butt", Kind.LENGTH),
                Column("end", "Tip end, from the butt", Kind.LENGTH),
            ),
            tuple((number, start, start + section.length_nm) for number, (section, start) in numbered),
        ),
        Table(
            "joints",
            "Where each joint is seen",
            (Column("joint", "Joint", Kind.COUNT), Column("from_butt", "From the butt", Kind.LENGTH)),
            tuple(enumerate(whole.ferrules_nm, 1)),
        ),
    ]
    if whole.stations:
        columns = (Column("from_butt", "From the butt", Kind.LENGTH), Column("od", "Diameter", Kind.FINE))
        figures.append(Table("stations", "Outside as it is seen", columns, whole.stations))
    working = [
        f"Section {number} begins at {say_length(ends[number - 2])} − {say_length(section.insertion_nm)} "
        f"= {say_length(start)}."
        for number, (section, start) in numbered[1:]
    ]
    working.append(
        f"Length = Σ lengths − Σ overlaps = {say_length(sum(ends) - sum(whole.starts_nm))} − "
        f"{say_length(sum(section.insertion_nm for section in sections))} = {say_length(whole.length_nm)}."
    )
    return Outcome(tuple(figures), tuple(working))


def _section(row: Mapping[str, Any], number: int, over: bool, measured: bool) -> Section:
    """A section of the table; all of them are measured, or none. Raises `SumFault`."""
    missing = [name for name in ("butt_od", "tip_od") if row[name] is None]
    if measured and missing:
        said = f"Section {number} is not measured, while others are; measure it at both ends too."
        raise SumFault({f"sections.{number}.{name}": said for name in missing})
    stations = ((0, row["butt_od"]), (row["length"], row["tip_od"])) if measured else ()
    return Section(row["length"], stations, row["insertion"], over and number > 1)


SECTIONS = Sum(
    name="sections",
    title="Sections put together",
    group="Blank",
    about="How long the sections of a blank are once joined, where each begins and where each joint is seen, "
    "all from the butt end of the lowest one.",
    inputs=(
        Input(
            "sections",
            "Sections",
            Kind.TABLE,
            "From the butt section to the tip section.",
            columns=(
                Input("length", "Length", Kind.LENGTH),
                Input("insertion", "Overlap at its butt end", Kind.LENGTH, default="0 in", zero=True),
                Input("butt_od", "Diameter at its butt end", Kind.FINE, optional=True),
                Input("tip_od", "Diameter at its tip end", Kind.FINE, optional=True),
            ),
        ),
        Input(
            "ferrule",
            "How they join",
            Kind.CHOICE,
            "The outer part is what is seen. Over a spigot counts as tip over butt.",
            default="tip over butt",
            options=("tip over butt", "tip into butt"),
        ),
    ),
    formula="Begin of a section = end of the one below − overlap; length = Σ lengths − Σ overlaps",
    source="Common practice, no source.",
    work=_sections,
)

SUMS: tuple[Sum, ...] = (TAPER, SECTIONS)
