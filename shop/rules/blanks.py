"""Whether a blank's measurements can be: pure checks, one sentence a field. Lengths in nanometres."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from shop.craft.lengths import NM_PER_MM, format_inches, format_mm

MOST_LENGTH_NM = 8000 * NM_PER_MM
MOST_OD_NM = 100 * NM_PER_MM
MOST_PIECES = 8
MOST_STATIONS = 60
GROWS = "diameters_confirmed"

Station = tuple[int, int]


class MassError(ValueError):
    """A mass that cannot be kept; its text is a sentence for a person."""


def mg_of_grams(grams: float) -> int:
    """Grams as whole milligrams, by the decimal that was written. Raises `MassError` for a finer figure."""
    milligrams = Decimal(str(grams)) * 1000
    if milligrams != milligrams.to_integral_value():
        raise MassError("A mass is kept to the milligram; write the grams with at most 3 decimals.")
    return int(milligrams)


def faults_of_blank(
    model: str, length_nm: int | None, pieces: int, mass_mg: int | None, stations: Sequence[Station]
) -> dict[str, str]:
    """Everything that keeps a blank's facts from being right, by field; empty when they are."""
    errors = {}
    if not 1 <= len(model.strip()) <= 120:
        errors["model"] = "The blank needs a model or name of 1 to 120 characters."
    if length_nm is None or not 0 < length_nm <= MOST_LENGTH_NM:
        errors["length"] = "The length must lie above nothing and at most at 8 m."
    if not 1 <= pieces <= MOST_PIECES:
        errors["pieces"] = f"A blank has 1 to {MOST_PIECES} pieces."
    if mass_mg is not None and not 0 < mass_mg <= 5_000_000:
        errors["mass_g"] = "The mass must lie above nothing and at most at 5 kg."
    # Beside a length that cannot be, no station can be judged.
    fault = "" if length_nm is None or "length" in errors else _fault_of_stations(length_nm, stations)
    if fault:
        errors["stations"] = fault
    return errors


def _fault_of_stations(length_nm: int, stations: Sequence[Station]) -> str:
    if len(stations) > MOST_STATIONS:
        return f"At most {MOST_STATIONS} stations fit."
    for from_butt, od in stations:
        if from_butt < 0 or from_butt > length_nm:
            return f"A station {_said(from_butt)} from the butt does not lie on the blank."
        if not 0 < od <= MOST_OD_NM:
            return f"The diameter {_said(od)} at {_said(from_butt)} from the butt cannot be."
    for (before, _), (after, _) in pairwise(stations):
        if after == before:
            return f"There are two stations {_said(after)} from the butt; one diameter is enough."
        if after < before:
            return f"The station {_said(after)} from the butt is out of order; go from butt to tip."
    return ""


def growing_station(stations: Sequence[Station]) -> str:
    """The question to ask where a diameter grows toward the tip; empty where none does."""
    for (_, od_before), (from_butt, od) in pairwise(stations):
        if od > od_before:
            return (
                f"The diameter grows to {_said(od)} at {_said(from_butt)} from the butt, toward the tip. "
                "Measure again, or confirm that it really does."
            )
    return ""


def _said(nm: int) -> str:
    return f"{format_inches(nm)} in ({format_mm(nm)} mm)"
