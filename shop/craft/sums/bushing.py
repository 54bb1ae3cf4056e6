"""Calculators for what fills the gap between a blank and a reel seat."""

from shop.craft.faults import SumFault
from shop.craft.fit.bushing import (
    MOST_TAPE_NM,
    OPEN_ENDS_NM,
    RING_WIDTHS_NM,
    Bushing,
    arbor,
    place_rings,
    tape_bushing,
)
from shop.craft.fit.shoulder import LEAST_WALL_NM
from shop.craft.saying import say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values
from shop.craft.sums.taper import stations_input, stations_of
from shop.craft.taper import largest_od

GROUP = "Grips and seats"
NO_SOURCE = "Common practice, no source."
RING_COLUMNS = (
    Column("number", "Ring", Kind.COUNT),
    Column("start", "Begins, from the seat's butt end", Kind.LENGTH),
    Column("od", "Blank there", Kind.FINE),
    Column("turns", "Turns", Kind.COUNT),
    Column("finished_od", "Finished", Kind.FINE),
    Column("clearance_left", "Clearance left a side", Kind.FINE),
    Column("tape_length", "Tape", Kind.LENGTH),
)


def _tape(values: Values) -> Outcome:
    """The ring nearest the butt is the one worked through; the table has them all."""
    starts, gap = _starts(values)
    ods = _ods(values, starts)
    seat, tape, clearance = values["seat_bore"], values["tape"], values["clearance"]
    made = [tape_bushing(seat, od, tape, clearance) for od in ods]
    first = made[0]
    figures: list[Figure | Table] = [
        Figure("turns", "Turns of tape", Kind.COUNT, first.turns),
        Figure("finished_od", "Finished diameter", Kind.FINE, first.finished_od_nm),
        Figure("clearance_left", "Clearance left a side", Kind.FINE, first.clearance_left_nm),
        Figure("fill", "To be filled a side", Kind.FINE, first.fill_nm),
        Figure("tape_length", "Tape for a ring", Kind.LENGTH, first.tape_length_nm),
    ]
    if starts:
        rows = [(start, od, *_row(one)) for start, od, one in zip(starts, ods, made, strict=True)]
        total = sum(one.tape_length_nm for one in made)
        figures += [
            Figure("tape_total", "Tape in all", Kind.LENGTH, total),
            Figure("gap", "Gap between rings", Kind.LENGTH, gap),
            Table("rings", "Rings", RING_COLUMNS, tuple((n, *row) for n, row in enumerate(rows, 1))),
        ]
    working = (
        f"Turns = ⌊(seat bore ÷ 2 − clearance − OD ÷ 2) ÷ tape⌋ = ⌊({say_fine(seat)} ÷ 2 − "
        f"{say_fine(clearance)} − {say_fine(ods[0])} ÷ 2) ÷ {say_fine(tape)}⌋ = {first.turns}.",
        f"Finished = OD + 2 × turns × tape = {say_fine(ods[0])} + 2 × {first.turns} × {say_fine(tape)} = "
        f"{say_fine(first.finished_od_nm)}.",
        f"Tape = π × turns × (OD + turns × tape) = {say_length(first.tape_length_nm)}.",
    )
    return Outcome(tuple(figures), working, _tape_warnings(values, made))


def _row(one: Bushing) -> tuple[int, int, int, int]:
    return one.turns, one.finished_od_nm, one.clearance_left_nm, one.tape_length_nm


def _starts(values: Values) -> tuple[tuple[int, ...], int | None]:
    """Where the rings begin along the seat, and the gap between them; none without a seat length."""
    if values["seat_length"] is None:
        return (), None
    found = place_rings(values["seat_length"], values["ring_width"], values["open_end"], values["rings"])
    return found.starts_nm, found.gap_nm


def _ods(values: Values, starts: tuple[int, ...]) -> list[int]:
    """The blank under each ring, where it is thickest; under one ring, if none are placed."""
    if not values["stations"]:
        if values["od"] is None:
            raise SumFault({"od": "Give the diameter of the blank, or its stations and the seat's place."})
        return [values["od"]] * max(1, len(starts))
    if values["od"] is not None:
        raise SumFault({"od": "The stations tell this already; leave it empty."})
    needed = {"seat_at": "its butt end lies", "seat_length": "its tip end lies"}
    missing = {name: f"With stations, the seat needs to say where {end}." for name, end in needed.items()}
    missing = {name: said for name, said in missing.items() if values[name] is None}
    if missing:
        raise SumFault(missing)
    stations, seat, width = stations_of(values["stations"]), values["seat_at"], values["ring_width"]
    return [largest_od(stations, seat + start, seat + start + width, "seat_at") for start in starts]


def _tape_warnings(values: Values, made: list[Bushing]) -> tuple[str, ...]:
    warnings = []
    if any(one.wants_arbor for one in made):
        fill = max(one.fill_nm for one in made)
        warnings.append(
            f"There are {say_fine(fill)} a side to fill, more than {say_length(MOST_TAPE_NM)}: use an arbor."
        )
    if any(one.turns == 0 for one in made):
        warnings.append("There is no room for one turn of this tape; glue alone fills the gap.")
    if values["seat_length"] is not None:
        for name, what, (least, most) in (
            ("ring_width", "Rings", RING_WIDTHS_NM),
            ("open_end", "Open ends", OPEN_ENDS_NM),
        ):
            if not least <= values[name] <= most:
                warnings.append(f"{what} are commonly {say_length(least)} to {say_length(most)} wide.")
    return tuple(warnings)


TAPE_BUSHING = Sum(
    name="tape-bushing",
    title="Tape bushing",
    group=GROUP,
    about="How many turns of tape fill a seat, and where the rings go. With stations, every ring is worked "
    "for the blank under it. The gaps and the ends stay open so that glue bonds the seat to the blank.",
    inputs=(
        Input("seat_bore", "Bore of the seat", Kind.FINE),
        Input("tape", "Thickness of the tape", Kind.FINE, "Wind ten turns, measure, divide."),
        Input("clearance", "Clearance a side", Kind.FINE, default="0.005 in", zero=True),
        Input("od", "Diameter of the blank", Kind.FINE, "Or give the stations.", optional=True),
        Input("seat_length", "Length of the seat", Kind.LENGTH, "To place rings along it.", optional=True),
        Input("rings", "Rings", Kind.COUNT, default="3", most=40),
        Input("ring_width", "Width of a ring", Kind.LENGTH, default="3/8 in"),
        Input("open_end", "Open at each end", Kind.LENGTH, default="3/16 in", zero=True),
        stations_input(
            optional=True, hint="Instead of the diameter; the seat's place and length are needed too."
        ),
        Input("seat_at", "Butt end of the seat, from the butt", Kind.LENGTH, optional=True, zero=True),
    ),
    formula="Turns = ⌊(seat bore ÷ 2 − clearance − OD ÷ 2) ÷ tape⌋; tape used = π × turns × "
    "(OD + turns × tape)",
    source=NO_SOURCE,
    work=_tape,
)


def _arbor(values: Values) -> Outcome:
    seat, od = values["seat_bore"], values["od"]
    clearance, allowance = values["clearance"], values["allowance"]
    found = arbor(seat, od, clearance, allowance)
    figures = (
        Figure("arbor_od", "Outside of the arbor", Kind.FINE, found.od_nm),
        Figure("arbor_bore", "Bore of the arbor", Kind.FINE, found.bore_nm),
        Figure("wall", "Wall of the arbor", Kind.FINE, found.wall_nm),
    )
    working = (
        f"Outside = seat bore − 2 × clearance = {say_fine(seat)} − 2 × {say_fine(clearance)} = "
        f"{say_fine(found.od_nm)}.",
        f"Bore = OD of the blank + allowance = {say_fine(od)} + {say_fine(allowance)} = "
        f"{say_fine(found.bore_nm)}.",
        f"Wall = (outside − bore) ÷ 2 = {say_fine(found.wall_nm)}.",
    )
    warnings: tuple[str, ...] = ()
    if seat - od - 2 * clearance <= 2 * MOST_TAPE_NM:
        warnings = (f"The gap to fill is no more than {say_length(MOST_TAPE_NM)} a side; tape does there.",)
    least = LEAST_WALL_NM[values["material"]]
    if found.wall_nm < least:
        warnings += (
            f"A wall of {say_fine(found.wall_nm)} is thin: {values['material']} wants {say_fine(least)}.",
        )
    return Outcome(figures, working, warnings)


ARBOR = Sum(
    name="arbor",
    title="Arbor",
    group=GROUP,
    about="The sleeve between blank and seat where the gap is too wide for tape. Take the blank where it is "
    "thickest under the seat, and ream the bore to its taper.",
    inputs=(
        Input("seat_bore", "Bore of the seat", Kind.FINE),
        Input("od", "Diameter of the blank", Kind.FINE, "Where it is thickest under the seat."),
        Input("clearance", "Clearance to the seat, a side", Kind.FINE, default="0.005 in", zero=True),
        Input(
            "allowance",
            "Bore over the blank",
            Kind.FINE,
            "Across, both sides.",
            default="0.006 in",
            zero=True,
        ),
        Input("material", "Material", Kind.CHOICE, default="foam", options=tuple(LEAST_WALL_NM)),
    ),
    formula="Outside = seat bore − 2 × clearance; bore = OD + allowance; wall = (outside − bore) ÷ 2",
    source=NO_SOURCE,
    work=_arbor,
)

SUMS: tuple[Sum, ...] = (TAPE_BUSHING, ARBOR)
