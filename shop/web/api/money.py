"""Money, percentages and hours as the API takes and gives them: whole cents, JSON numbers, exact inside."""

from typing import Annotated

from pydantic import Field

from shop.rules.quotes import MOST_CENTS, MOST_COUNT, MOST_HOURS
from shop.web.api.base import Number, OnlyNumber

CENTS = "Whole cents of the build's currency."
PER_CENT = "Per cent, of at most four decimal places."
HOURS = "Hours, of at most two decimal places."
CentsIn = Annotated[int, Field(ge=0, le=MOST_CENTS, description=CENTS), OnlyNumber]
AmountIn = Annotated[int, Field(ge=1, le=MOST_CENTS, description=CENTS, examples=[388_67]), OnlyNumber]
CountIn = Annotated[int, Field(ge=1, le=MOST_COUNT, description="How many of it.", examples=[1]), OnlyNumber]
ShareIn = Annotated[Number, Field(ge=0, le=1000, description=PER_CENT, examples=[30])]
WholeShareIn = Annotated[Number, Field(ge=0, le=100, description=PER_CENT, examples=[50])]
HoursIn = Annotated[
    Number,
    Field(ge=0, le=MOST_HOURS, description=HOURS, examples=[6.5]),
]
CentsOut = Annotated[int, Field(description=CENTS)]
ShareOut = Annotated[float, Field(description="Per cent.")]
