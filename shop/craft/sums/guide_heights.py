"""The bench calculators for how tall guides are, and how far apart they may stand on a bent blank."""

from shop.craft.faults import SumFault
from shop.craft.guides.gap import (
    clearance_left,
    clearance_on_arc,
    height_needed,
    longest_gap,
    longest_gap_on_arc,
)
from shop.craft.guides.heights import SPOOLS_TO_CHOKE, Placed, StockGuide, choke_of_spool, place_guides
from shop.craft.saying import say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values


def _heights(values: Values) -> Outcome:
    choke, how = _choke(values)
    stock = [StockGuide(row["name"], row["centre_height"]) for row in values["stock"]]
    height = values["spool_height"]
    placed = place_guides([row["from_spool"] for row in values["guides"]], height, choke, stock)
    _check_on_blank(values)
    columns = (
        Column("guide", "Guide, counted from the reel", Kind.COUNT),
        Column("from_spool", "From the spool", Kind.LENGTH),
        Column("from_butt", "From the butt", Kind.LENGTH),
        Column("from_tip", "From the tip", Kind.LENGTH),
        Column("wanted", "Wanted height of the ring's centre", Kind.FINE),
        Column("chosen", "Guide", Kind.TEXT),
        Column("chosen_height", "Its height", Kind.FINE),
        Column("off", "Taller than wanted by", Kind.FINE),
    )
    rows = tuple((number, *_row(place, values)) for number, place in enumerate(placed, 1))
    figures = (
        Figure("choke", "Choke guide from the spool", Kind.LENGTH, choke),
        Table("guides", "Guides from the reel toward the tip", columns, rows),
    )
    working = (how, *(_line(number, place, height, choke) for number, place in enumerate(placed, 1)))
    return Outcome(figures, working, _too_tall(placed, stock))


def _choke(values: Values) -> tuple[int, str]:
    """The choke's distance from the spool and how it came about: what is stated goes before the rule."""
    stated, spool = values["choke"], values["spool_diameter"]
    if stated is None and spool is None:
        raise SumFault(
            {"spool_diameter": "Give the diameter of the spool, or the distance of the choke guide."}
        )
    if spool is None:
        return stated, f"choke guide, as stated: {say_length(stated)} from the spool"
    by_rule = choke_of_spool(spool)
    rule = f"{SPOOLS_TO_CHOKE} × {say_length(spool)} = {say_length(by_rule)}"
    if stated is None:
        return by_rule, f"choke guide = {rule} from the spool"
    return (
        stated,
        f"choke guide, as stated: {say_length(stated)} from the spool (by the rule of thumb {rule})",
    )


def _row(place: Placed, values: Values) -> tuple[int | str | None, ...]:
    spool, blank, guide = values["spool_from_butt"], values["blank_length"], place.guide
    from_butt = None if spool is None else spool + place.from_spool_nm
    from_tip = None if from_butt is None or blank is None else blank - from_butt
    tall = None if guide is None else guide.centre_height_nm
    off = None if tall is None or place.wanted_nm is None else tall - place.wanted_nm
    name = None if guide is None else guide.name
    return place.from_spool_nm, from_butt, from_tip, place.wanted_nm, name, tall, off


def _line(number: int, place: Placed, height_nm: int, choke_nm: int) -> str:
    at = f"guide {number}, {say_length(place.from_spool_nm)} from the spool"
    if place.wanted_nm is None:
        return f"{at}: at or beyond the choke, an equal small runner"
    return (
        f"{at}: {say_fine(height_nm)} × (1 − {say_length(place.from_spool_nm)} ÷ {say_length(choke_nm)}) = "
        f"{say_fine(place.wanted_nm)}"
    )


def _check_on_blank(values: Values) -> None:
    spool, blank = values["spool_from_butt"], values["blank_length"]
    if spool is None or blank is None:
        return
    from_butt = [spool + row["from_spool"] for row in values["guides"]]
    errors = {
        f"guides.{number}.from_spool": f"Guide {number} would stand {say_length(at)} from the butt, beyond "
        f"the blank of {say_length(blank)}."
        for number, at in enumerate(from_butt, 1)
        if at >= blank
    }
    if errors:
        raise SumFault(errors)


def _too_tall(placed: tuple[Placed, ...], stock: list[StockGuide]) -> tuple[str, ...]:
    """A warning for each place that asks for more height than any guide at hand has."""
    tallest = max((guide.centre_height_nm for guide in stock), default=None)
    return tuple(
        f"Guide {number} wants {say_fine(place.wanted_nm)}; the tallest at hand has {say_fine(tallest)}."
        for number, place in enumerate(placed, 1)
        if tallest is not None and place.wanted_nm is not None and place.wanted_nm > tallest
    )


GUIDE_HEIGHTS = Sum(
    name="guide-heights",
    title="Guide heights for a spinning reel",
    group="Guides",
    about="A straight line from the spool's axis to the choke guide. A first layout: prove it with a test "
    "cast, since the upsweep of a reel moves it.",
    inputs=(
        Input(
            "spool_height",
            "Spool's axis above the blank",
            Kind.FINE,
            hint="Measured at the front of the spool.",
        ),
        Input(
            "spool_diameter",
            "Diameter of the spool",
            Kind.FINE,
            hint="Sets the choke guide by the rule of thumb.",
            optional=True,
        ),
        Input(
            "choke",
            "Choke guide from the spool",
            Kind.LENGTH,
            hint="Where it was measured; it goes before the rule of thumb.",
            optional=True,
        ),
        Input(
            "guides",
            "Places of the guides, from the reel on",
            Kind.TABLE,
            columns=(Input("from_spool", "Guide from the spool", Kind.LENGTH),),
        ),
        Input(
            "stock",
            "Guides at hand",
            Kind.TABLE,
            optional=True,
            columns=(
                Input("name", "Guide", Kind.TEXT),
                Input("centre_height", "Height of the ring's centre", Kind.FINE),
            ),
        ),
        Input("spool_from_butt", "Front of the spool from the butt", Kind.LENGTH, optional=True),
        Input("blank_length", "Length of the blank", Kind.LENGTH, hint="Joined up.", optional=True),
    ),
    formula="height = height of the spool's axis × (1 − distance ÷ choke); choke = 27 × spool diameter",
    source="27 spool diameters: rule of thumb of builders. Straight line: common practice, no source.",
    work=_heights,
)


def _safe_gap(values: Values) -> Outcome:
    radius, height, span = values["radius"], values["ring_height"], values["span"]
    longest, on_arc = longest_gap(radius, height), longest_gap_on_arc(radius, height)
    figures = [
        Figure("longest", "Longest gap", Kind.LENGTH, longest),
        Figure("longest_on_arc", "Longest gap on a true arc", Kind.LENGTH, on_arc),
    ]
    working = [
        f"longest = √(8 × {say_length(radius)} × {say_fine(height)}) = {say_length(longest)}",
        f"on a true arc = 2 × R × arccos(R ÷ (R + h)) = {say_length(on_arc)}",
    ]
    warnings = []
    if span is not None:
        needed, left = height_needed(span, radius), clearance_left(span, radius, height)
        left_on_arc = clearance_on_arc(span, radius, height)
        figures += [
            Figure("needed", "Ring height needed for the gap", Kind.FINE, needed),
            Figure("left", "Left between line and blank", Kind.FINE, left),
            Figure("left_on_arc", "Left on a true arc", Kind.FINE, left_on_arc),
            Figure("clears", "The line clears the blank", Kind.YES, left_on_arc > 0),
        ]
        working += [
            f"needed = gap² ÷ 8R = {say_length(span)}² ÷ (8 × {say_length(radius)}) = {say_fine(needed)}",
            f"left = {say_fine(height)} − {say_fine(needed)} = {say_fine(left)}",
            f"left on a true arc = (R + h) × cos(gap ÷ 2R) − R = {say_fine(left_on_arc)}",
        ]
        if left_on_arc <= 0:
            warnings.append(f"A gap of {say_length(span)} is too long: the line touches the blank midway.")
    return Outcome((*figures,), (*working,), (*warnings,))


SAFE_GAP = Sum(
    name="safe-gap",
    title="Longest safe gap between guides on top",
    group="Guides",
    about="How far apart two guides of one height may stand before the line touches the bent blank.",
    inputs=(
        Input(
            "radius",
            "Radius of the bend there",
            Kind.LENGTH,
            hint="Of the loaded blank between the two guides.",
        ),
        Input("ring_height", "Height of the rings", Kind.FINE, hint="From the blank to the line."),
        Input("span", "Gap between the guides", Kind.LENGTH, hint="Along the blank.", optional=True),
    ),
    formula="left = height − gap² ÷ (8 × radius); longest gap = √(8 × radius × height)",
    source="Sag of a shallow arc; the true arc beside it is plane geometry.",
    work=_safe_gap,
)

SUMS: tuple[Sum, ...] = (GUIDE_HEIGHTS, SAFE_GAP)
