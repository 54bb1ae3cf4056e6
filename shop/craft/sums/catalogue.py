"""Every calculator there is, by name, in the order in which a rod needs them."""

from shop.craft.sums.base import Sum

GROUPS: tuple[tuple[Sum, ...], ...] = ()
SUMS: dict[str, Sum] = {calculator.name: calculator for group in GROUPS for calculator in group}
