"""Masses and loads as people write them, in grams, and as they are kept: whole milligrams."""

from decimal import Decimal

MOST_MASS_MG = 5_000_000
MOST_LOAD_MG = 100_000_000


class MassError(ValueError):
    """A mass that cannot be kept; its text is a sentence for a person."""


def mg_of_grams(grams: float) -> int:
    """Grams as whole milligrams, by the decimal that was written. Raises `MassError` for a finer figure."""
    milligrams = Decimal(str(grams)) * 1000
    if milligrams != milligrams.to_integral_value():
        raise MassError("A mass is kept to the milligram; write the grams with at most 3 decimals.")
    return int(milligrams)


def grams_of(mass_mg: int) -> str:
    """A mass in grams, without trailing zeros: `58.125`."""
    return f"{mass_mg / 1000:.12g}"


def fault_of_mass(mass_mg: int | None) -> str:
    """Why a blank or a part cannot weigh that; empty when it can, or was not weighed."""
    if mass_mg is None or 0 < mass_mg <= MOST_MASS_MG:
        return ""
    return f"The mass must lie above nothing and at most at {MOST_MASS_MG // 1_000_000} kg."


def fault_of_load(what: str, load_mg: int | None) -> str:
    """Why a load cannot be, called `what` (`test load`); empty when it can, or none is stated."""
    if load_mg is None or 0 < load_mg <= MOST_LOAD_MG:
        return ""
    return f"The {what} must lie above nothing and at most at {MOST_LOAD_MG // 1_000_000} kg."
