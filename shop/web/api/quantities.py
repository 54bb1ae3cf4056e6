"""Measured figures as the API takes and gives them (the sums are in `shop.craft.quantities`)."""

from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from shop.craft.quantities import Dimension, Quantity, format_quantity, is_fine, parse_quantity
from shop.web.api.lengths import LENGTH_SCHEMA, MOST_TEXT, length_out, read_length


def read_quantity(value: Any) -> Quantity:
    """A figure as sent: text with its unit, or a length as an object. Raises `ValueError`."""
    if isinstance(value, str) and len(value) <= MOST_TEXT:
        return parse_quantity(value)
    return Quantity(Dimension.LENGTH, read_length(value))


QuantityIn = Annotated[
    Any, BeforeValidator(read_quantity), WithJsonSchema({**LENGTH_SCHEMA, "examples": ["8 3/16 in", "62 g"]})
]


def quantity_out(quantity: Quantity, tolerance: Quantity | None = None) -> Any:
    """A figure as the API gives it: a length in both units, anything else as text with its unit.

    With the `tolerance` that it is held to given, inches are as fine as that asks for.
    """
    if quantity.dimension is Dimension.LENGTH:
        fine = tolerance is not None and is_fine(tolerance)
        return length_out(quantity.amount, fine).model_dump(by_alias=True)
    return format_quantity(quantity)
