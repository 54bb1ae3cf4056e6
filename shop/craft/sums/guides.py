"""The bench calculators for how many guides there are and where they go, from the tip and from the butt."""

from collections.abc import Sequence

from shop.craft.faults import SumFault
from shop.craft.guides.count import count_rules
from shop.craft.guides.spacing import Clash, Search, Train, clashes, clear_train, nearest_ferrule, train
from shop.craft.lengths import half_away
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values

_MOST_GUIDES = 60
_CLEAR = Input(
    "clear",
    "Clear of a ferrule",
    Kind.LENGTH,
    hint="How far the middle of a guide must keep from the middle of a ferrule.",
    default="2 in",
    zero=True,
)
_COUNT = Input(
    "count", "Number of guides", Kind.COUNT, hint="The tip-top is not counted.", most=float(_MOST_GUIDES)
)
_LAST = Input("last", "Last guide from the tip", Kind.LENGTH, hint="The butt guide; it lands exactly there.")
_BLANK = Input(
    "blank_length",
    "Length of the blank",
    Kind.LENGTH,
    hint="Joined up. With it the positions are given from the butt too.",
    optional=True,
)


def _ferrules(optional: bool) -> Input:
    return Input(
        "ferrules",
        "Ferrules",
        Kind.TABLE,
        optional=optional,
        columns=(Input("from_tip", "Ferrule from the tip", Kind.LENGTH),),
    )


def _count(values: Values) -> Outcome:
    casting = values["rod_kind"] in ("casting", "boat")
    rules = count_rules(values["length"], casting, values["running"], values["last"])
    columns = (
        Column("rule", "Rule", Kind.TEXT),
        Column("counts", "Guides counted", Kind.TEXT),
        Column("least", "At least", Kind.COUNT),
        Column("most", "At most", Kind.COUNT),
        Column("source", "Kind of source", Kind.TEXT),
    )
    rows = tuple((rule.rule, rule.counts, rule.least, rule.most, rule.source) for rule in rules)
    working = [
        f"{rule.rule}: {plain(float(rule.figure))}, so {_from_to(rule.least, rule.most)} ({rule.source})"
        for rule in rules
    ]
    return Outcome(
        (Table("rules", "Guides by each rule, the tip-top not counted", columns, rows),), (*working,)
    )


def _from_to(least: int, most: int) -> str:
    return str(least) if least == most else f"{least} to {most}"


GUIDE_COUNT = Sum(
    name="guide-count",
    title="How many guides",
    group="Guides",
    about="The rules side by side. Start from one of them, then bend the taped blank and see.",
    inputs=(
        Input("length", "Length of the rod", Kind.LENGTH),
        Input(
            "rod_kind",
            "Kind of rod",
            Kind.CHOICE,
            optional=True,
            options=("casting", "spinning", "fly", "surf", "boat"),
        ),
        Input(
            "running",
            "Last reduction guide to the tip-top",
            Kind.LENGTH,
            hint="For the rule of the running guides.",
            optional=True,
        ),
        Input(
            "last",
            "Butt guide from the tip",
            Kind.LENGTH,
            hint="For the rule of one guide every 5 in.",
            optional=True,
        ),
    ),
    formula="length in feet + 1; casting 1 or 2 more; (butt guide − 4 in) ÷ 5 in + 1; running ÷ 5 in + 1",
    source="Rules of thumb; each row names its kind of source.",
    work=_count,
)


def _spacing(values: Values) -> Outcome:
    laid = train(values["count"], values["first"], values["last"])
    ferrules = _checked_ferrules(values)
    near = clashes(laid, ferrules, values["clear"])
    warnings = [_near(clash, values["clear"]) for clash in near]
    if near:
        warnings.append("Lay out the whole train anew with another first gap; do not nudge one guide.")
    return Outcome(_train_figures(laid, ferrules, values["blank_length"]), _train_working(laid), (*warnings,))


def _checked_ferrules(values: Values) -> list[int]:
    """The ferrules, all on the blank where its length is known, as the last guide is."""
    ferrules = [row["from_tip"] for row in values["ferrules"]]
    blank = values["blank_length"]
    if blank is None:
        return ferrules
    errors = {
        f"ferrules.{number}.from_tip": f"Ferrule {number}, {say_length(ferrule)} from the tip, lies beyond "
        f"the blank of {say_length(blank)}."
        for number, ferrule in enumerate(ferrules, 1)
        if ferrule >= blank
    }
    if values["last"] >= blank:
        errors["last"] = (
            f"The last guide, {say_length(values['last'])} from the tip, lies beyond the blank of "
            f"{say_length(blank)}."
        )
    if errors:
        raise SumFault(errors)
    return ferrules


def _near(clash: Clash, clear_nm: int) -> str:
    return (
        f"Guide {clash.guide} at {say_length(clash.from_tip_nm)} from the tip is only "
        f"{say_length(clash.apart_nm)} from the ferrule at {say_length(clash.ferrule_nm)}; "
        f"{say_length(clear_nm)} is wanted."
    )


def _train_figures(laid: Train, ferrules: Sequence[int], blank_nm: int | None) -> tuple[Figure | Table, ...]:
    columns = (
        Column("guide", "Guide, counted from the tip", Kind.COUNT),
        Column("from_tip", "From the tip", Kind.LENGTH),
        Column("from_butt", "From the butt", Kind.LENGTH),
        Column("gap", "Gap before it, on the tip side", Kind.LENGTH),
        Column("to_ferrule", "To the nearest ferrule", Kind.LENGTH),
    )
    rows = tuple(
        (number, at, None if blank_nm is None else blank_nm - at, gap, nearest_ferrule(at, ferrules))
        for number, (at, gap) in enumerate(zip(laid.from_tip_nm, laid.gaps_nm, strict=True), 1)
    )
    return (
        Figure("step", "Each gap is longer by", Kind.FINE, half_away(laid.step_nm)),
        Table("guides", "Guides from the tip", columns, rows),
    )


def _train_working(laid: Train) -> tuple[str, ...]:
    count, last = laid.count, laid.from_tip_nm[-1]
    if count == 1:
        return (f"One guide, {say_length(last)} from the tip; there are no gaps to grow.",)
    step = say_fine(half_away(laid.step_nm))
    return (
        f"step d = 2 × (last − n × first) ÷ (n × (n − 1)) = 2 × ({say_length(last)} − {count} × "
        f"{say_length(laid.first_nm)}) ÷ ({count} × {count - 1}) = {step}",
        *(
            f"guide {k} = {k} × first + {k * (k - 1) // 2} × d = {say_length(at)} from the tip"
            for k, at in enumerate(laid.from_tip_nm, 1)
        ),
    )


_SPACING_FORMULA = "D of guide k = k × first + d × k(k − 1)/2, with d = 2(last − n × first) ÷ (n(n − 1))"

GUIDE_SPACING = Sum(
    name="guide-spacing",
    title="Progressive guide spacing",
    group="Guides",
    about="From the tip, each gap is longer than the one before by the same step. The bent blank decides.",
    inputs=(
        _COUNT,
        Input("first", "First guide from the tip", Kind.LENGTH, default="4 in"),
        _LAST,
        _ferrules(optional=True),
        _CLEAR,
        _BLANK,
    ),
    formula=_SPACING_FORMULA,
    source="Club articles on fly rods; the sum of an arithmetic progression.",
    work=_spacing,
)


def _clear(values: Values) -> Outcome:
    ferrules = _checked_ferrules(values)
    search = Search(values["clear"], values["range"], values["step"])
    laid = clear_train(values["count"], values["first"], values["last"], ferrules, search)
    nearest = min((nearest_ferrule(at, ferrules) or 0) for at in laid.from_tip_nm)
    figures = (
        Figure("first", "First guide from the tip", Kind.LENGTH, laid.first_nm),
        Figure("nearest", "Nearest any guide comes to a ferrule", Kind.LENGTH, nearest),
        *_train_figures(laid, ferrules, values["blank_length"]),
    )
    return Outcome(figures, (*_why_moved(values, ferrules, laid), *_train_working(laid)))


def _why_moved(values: Values, ferrules: Sequence[int], laid: Train) -> list[str]:
    """What stood in the way of the wanted first gap."""
    count, wanted, last = values["count"], values["first"], values["last"]
    if laid.first_nm == wanted:
        return [f"The wanted first gap, {say_length(wanted)}, keeps every guide clear."]
    taken = f"Nearest first gap that is clear: {say_length(laid.first_nm)}; the whole train is laid out anew."
    if count * wanted > last:
        over = f"{count} × {say_length(wanted)} = {say_length(count * wanted)} is past {say_length(last)}"
        return [f"With the wanted first gap the gaps would shrink toward the butt: {over}.", taken]
    near = clashes(train(count, wanted, last), ferrules, values["clear"])
    return [*(f"With {say_length(wanted)}: {_near(clash, values['clear'])}" for clash in near), taken]


GUIDES_CLEAR_OF_FERRULES = Sum(
    name="guides-clear-of-ferrules",
    title="Guides clear of the ferrules",
    group="Guides",
    about="Moves the first gap, and with it the whole train, until every guide stands clear of the ferrules.",
    inputs=(
        _COUNT,
        Input("first", "Wanted first guide from the tip", Kind.LENGTH, default="4 in"),
        _LAST,
        _ferrules(optional=False),
        _CLEAR,
        Input(
            "range",
            "Most the first gap may move",
            Kind.LENGTH,
            hint="Shorter or longer than wanted.",
            default="1 in",
            zero=True,
        ),
        Input("step", "Steps it moves in", Kind.LENGTH, default="1/8 in"),
        _BLANK,
    ),
    formula=f"{_SPACING_FORMULA}; the first gap nearest to the wanted one that keeps every guide clear",
    source="Spacing from club articles on fly rods; keeping clear is common practice, no source.",
    work=_clear,
)

SUMS: tuple[Sum, ...] = (GUIDE_COUNT, GUIDE_SPACING, GUIDES_CLEAR_OF_FERRULES)
