"""Masses and loads as the API takes and gives them, in grams (what may be is in `shop.rules.masses`)."""

from typing import Annotated

from pydantic import AfterValidator, Field

from shop.rules.masses import MOST_LOAD_MG, MOST_MASS_MG, mg_of_grams
from shop.web.api.base import Number

DECIMALS = "At most 3 decimals."

MassIn = Annotated[
    Number, Field(gt=0, le=MOST_MASS_MG / 1000, description=DECIMALS), AfterValidator(mg_of_grams)
]
LoadIn = Annotated[
    Number, Field(gt=0, le=MOST_LOAD_MG / 1000, description=DECIMALS), AfterValidator(mg_of_grams)
]


def grams_out(mass_mg: int | None) -> float | None:
    """A stored mass or load as the API gives it; null where there is none."""
    return None if mass_mg is None else mass_mg / 1000
