"""The calculator that says in which order parts slide on."""

from shop.craft.fit.sliding import GoesOn, Part, slide_on_order
from shop.craft.sums.base import Column, Input, Kind, Outcome, Sum, Table, Values
from shop.craft.sums.taper import stations_input, stations_of


def _slide_on(values: Values) -> Outcome:
    parts = [
        Part(
            name=row["name"],
            from_butt_nm=row["from_butt"],
            goes_on=GoesOn(row["goes_on"]),
            length_nm=row["length"],
            bore_nm=row["bore"],
            outside_nm=row["outside"],
        )
        for row in values["parts"]
    ]
    steps = slide_on_order(parts, stations_of(values["stations"]))
    columns = (
        Column("number", "Order", Kind.COUNT),
        Column("name", "Part", Kind.TEXT),
        Column("goes_on", "From", Kind.TEXT),
        Column("from_butt", "Butt end, from the butt", Kind.LENGTH),
        Column("reason", "Why", Kind.TEXT),
    )
    rows = tuple(
        (number, step.part.name, str(step.part.goes_on), step.part.from_butt_nm, step.reason)
        for number, step in enumerate(steps, 1)
    )
    working = tuple(f"{step.part.name}: {step.reason}" for step in steps)
    return Outcome((Table("order", "In this order", columns, rows),), working, _unmeasured(parts, values))


def _unmeasured(parts: list[Part], values: Values) -> tuple[str, ...]:
    """A warning for bores that were not compared with the blank."""
    sliding = [part for part in parts if part.goes_on is not GoesOn.WRAPPED]
    if values["stations"]:
        bare = ", ".join(f"“{part.name}”" for part in sliding if part.bore_nm is None)
        return (f"Without a bore, whether it passes the blank was not checked: {bare}.",) if bare else ()
    if any(part.bore_nm is not None for part in sliding):
        return ("Without stations, the bores were not compared with the blank.",)
    return ()


SLIDE_ON = Sum(
    name="slide-on",
    title="Order of sliding on",
    group="Grips and seats",
    about="Which part must be on the blank before which, so that none is left over when a guide, the tip-top "
    "or a glued grip shuts the way.",
    inputs=(
        Input(
            "parts",
            "Parts",
            Kind.TABLE,
            "Everything on the blank, guides and ferrule wraps too; the tip-top goes on from the tip.",
            columns=(
                Input("name", "Part", Kind.TEXT),
                Input("from_butt", "Butt end, from the butt", Kind.LENGTH, zero=True),
                Input("length", "Length", Kind.LENGTH, "Nothing for a ring.", default="0 in", zero=True),
                Input("bore", "Least bore", Kind.FINE, "Of a reamed grip, at its tip end.", optional=True),
                Input(
                    "outside",
                    "Outside",
                    Kind.FINE,
                    "What a part must be wider than to pass over it; empty where none can.",
                    optional=True,
                ),
                Input(
                    "goes_on",
                    "Goes on from",
                    Kind.CHOICE,
                    default=GoesOn.TIP.value,
                    options=tuple(end.value for end in GoesOn),
                ),
            ),
        ),
        stations_input(optional=True, hint="To compare the bores with the blank."),
    ),
    formula="From the tip, nearest the butt first; from the butt, nearest the tip first; each before what it "
    "cannot pass over",
    source="Common practice, no source.",
    work=_slide_on,
)

SUMS: tuple[Sum, ...] = (SLIDE_ON,)
