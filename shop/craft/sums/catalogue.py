"""Every calculator there is, by name, in the order in which a rod needs them."""

from shop.craft.sums import (
    balance,
    bushing,
    cutting,
    finish,
    flex,
    flex_line,
    guide_heights,
    guides,
    mix,
    quote,
    reaming,
    sliding,
    spine,
    taper,
    tip_top,
    wraps,
)
from shop.craft.sums.base import Sum

GROUPS: tuple[tuple[Sum, ...], ...] = (
    taper.SUMS,
    spine.SUMS,
    cutting.SUMS,
    reaming.SUMS,
    bushing.SUMS,
    sliding.SUMS,
    mix.SUMS,
    guides.SUMS,
    guide_heights.SUMS,
    tip_top.SUMS,
    flex.SUMS,
    flex_line.SUMS,
    wraps.SUMS,
    finish.SUMS,
    balance.SUMS,
    quote.SUMS,
)
SUMS: dict[str, Sum] = {calculator.name: calculator for group in GROUPS for calculator in group}
