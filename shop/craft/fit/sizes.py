"""Refuses sizes of parts that cannot be, before a sum is done with them."""

from collections.abc import Mapping

from shop.craft.faults import SumFault


def check_sizes(above_nothing: Mapping[str, int], nothing_or_more: Mapping[str, int] | None = None) -> None:
    """Raises `SumFault` by name for a size in nm that is not above nothing, or that is below nothing."""
    errors = {
        name: f"{_said(name)} must be more than nothing." for name, nm in above_nothing.items() if nm <= 0
    }
    for name, nm in (nothing_or_more or {}).items():
        if nm < 0:
            errors[name] = f"{_said(name)} cannot be less than nothing."
    if errors:
        raise SumFault(errors)


def _said(name: str) -> str:
    return f"The {name.replace('_', ' ')}"
