"""Lengths as the API takes and gives them (the sums are in `shop.craft.lengths`)."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from shop.craft.lengths import format_inches, mm_of, nm_of_mm, parse_length
from shop.craft.saying import fine_inches

MOST_TEXT = 60
LENGTH_SCHEMA = {
    "anyOf": [
        {
            "type": "string",
            "description": "With its unit",
            "maxLength": MOST_TEXT,
            "examples": ["8 3/16 in", "207.9625 mm"],
        },
        {
            "type": "object",
            "properties": {"mm": {"type": "number", "description": "Millimetres."}},
            "required": ["mm"],
            "additionalProperties": False,
        },
    ]
}


def read_length(value: Any) -> int:
    """A length as sent, in whole nanometres. Raises `ValueError` with a sentence."""
    if isinstance(value, str) and len(value) <= MOST_TEXT:
        return parse_length(value)
    if isinstance(value, dict) and set(value) == {"mm"} and _is_number(value["mm"]):
        return nm_of_mm(value["mm"])
    raise ValueError('a length is "8 3/16 in", "207.9625 mm" or {"mm": 207.9625}')


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


LengthIn = Annotated[int, BeforeValidator(read_length), WithJsonSchema(LENGTH_SCHEMA)]


class LengthOut(BaseModel):
    """A length in both units: millimetres exactly, inches to the nearest 1/64.

    A measured figure that is held closer than that has its inches in decimals.
    """

    model_config = ConfigDict(populate_by_name=True)

    mm: float
    inches: str = Field(
        serialization_alias="in", description="Inches and 64ths, or decimals.", examples=["8 3/16"]
    )


def length_out(nm: int, fine: bool = False) -> LengthOut:
    """A stored length as the API gives it; a `fine` one in decimals of an inch."""
    return LengthOut(mm=float(mm_of(nm)), inches=fine_inches(nm) if fine else format_inches(nm))
