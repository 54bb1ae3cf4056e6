"""Calculators of balance: where a rod balances with its reel on, and the weight that moves that."""

from shop.craft.balance import Part, balance_nm, counterweight_g, mass_g, moment_g_nm
from shop.craft.faults import SumFault
from shop.craft.lengths import format_mm as mm
from shop.craft.saying import plain, say_length
from shop.craft.sums.base import Figure, Input, Kind, Outcome, Sum, Values

GROUP = "Weight and balance"
# A part may lie behind the butt end of the blank, in a cap: its position is then less than nothing.
MOST_POSITION_NM = 6_000_000_000
NM_G_PER_MM_G = 1_000_000


def _parts(values: Values) -> list[Part]:
    return [Part(row["part"] or "Part", row["mass"], row["position"]) for row in values["parts"]]


def _reel(values: Values) -> list[Part]:
    mass, position = values["reel_mass"], values["reel_position"]
    if mass is None and position is None:
        return []
    if mass is None or position is None:
        missing = "reel_mass" if mass is None else "reel_position"
        raise SumFault({missing: "The reel counts with its mass and its position; fill in both or neither."})
    return [Part("Reel", mass, position)]


def _balance_line(parts: list[Part]) -> str:
    moments = " + ".join(f"{plain(part.mass_g)} × {mm(part.position_nm)}" for part in parts)
    return (
        f"({moments}) g·mm / {plain(mass_g(parts))} g = {plain(moment_g_nm(parts) / NM_G_PER_MM_G)} / "
        f"{plain(mass_g(parts))} mm = {say_length(balance_nm(parts))}"
    )


def _balance(values: Values) -> Outcome:
    bare, reel = _parts(values), _reel(values)
    together = [*bare, *reel]
    figures = (
        Figure("mass_g", "Rod", Kind.MASS, mass_g(bare)),
        Figure("balance", "Balances, from the butt", Kind.LENGTH, balance_nm(bare)),
        Figure("mass_with_reel_g", "With the reel", Kind.MASS, mass_g(together) if reel else None),
        Figure(
            "balance_with_reel",
            "Balances with the reel, from the butt",
            Kind.LENGTH,
            balance_nm(together) if reel else None,
        ),
    )
    working = [f"Rod: {_balance_line(bare)}"]
    if reel:
        working.append(f"With the reel: {_balance_line(together)}")
    return Outcome(figures, tuple(working))


def _counterweight(values: Values) -> Outcome:
    parts = [*_parts(values), *_reel(values)]
    target, place = values["target"], values["weight_position"]
    weight = counterweight_g(parts, target, place)
    figures = (
        Figure("balance_now", "Balances now, from the butt", Kind.LENGTH, balance_nm(parts)),
        Figure("counterweight_g", "Weight to add", Kind.MASS, weight),
        Figure("mass_after_g", "Everything, with the weight", Kind.MASS, mass_g(parts) + weight),
    )
    working = [f"Now: {_balance_line(parts)}"]
    if weight == 0:
        return Outcome(figures, tuple(working), ("It balances there already; no weight is needed.",))
    working.append(
        f"({plain(moment_g_nm(parts) / NM_G_PER_MM_G)} − {mm(target)} × {plain(mass_g(parts))}) / "
        f"({mm(target)} − {_signed(place)}) = {plain(weight)} g at {say_length(place)}"
    )
    return Outcome(figures, tuple(working))


def _signed(nm: int) -> str:
    return f"({mm(nm)})" if nm < 0 else mm(nm)


_WHAT_IS_WEIGHED = (
    Input(
        "parts",
        "Parts",
        Kind.TABLE,
        "Everything but the reel.",
        columns=(
            Input("part", "Part", Kind.TEXT, optional=True),
            Input("mass", "Mass", Kind.MASS, most=20_000),
            Input(
                "position",
                "Middle of it, from the butt",
                Kind.LENGTH,
                "Its own point of balance; behind the butt end, with a minus.",
                signed=True,
                most=MOST_POSITION_NM,
            ),
        ),
    ),
    Input("reel_mass", "Reel", Kind.MASS, "With line.", optional=True, most=20_000),
    Input(
        "reel_position",
        "Reel, from the butt",
        Kind.LENGTH,
        optional=True,
        zero=True,
        most=MOST_POSITION_NM,
    ),
)

SUMS: tuple[Sum, ...] = (
    Sum(
        "balance",
        "Where a rod balances",
        GROUP,
        "What the parts weigh together and where they balance from the butt, bare and with the reel on.",
        _WHAT_IS_WEIGHED,
        "Σ mass × position / Σ mass",
        "Equilibrium of moments.",
        _balance,
    ),
    Sum(
        "counterweight",
        "Weight for a wanted balance",
        GROUP,
        "The weight that, at a stated place, makes the rod balance where it is wanted.",
        (
            *_WHAT_IS_WEIGHED,
            Input("target", "Wanted balance, from the butt", Kind.LENGTH, most=MOST_POSITION_NM),
            Input(
                "weight_position",
                "Weight, from the butt",
                Kind.LENGTH,
                "Its own middle; behind the butt end, with a minus.",
                "1/2 in",
                signed=True,
                most=MOST_POSITION_NM,
            ),
        ),
        "(Σ mass × position − wanted × Σ mass) / (wanted − position of the weight)",
        "Equilibrium of moments.",
        _counterweight,
    ),
)
