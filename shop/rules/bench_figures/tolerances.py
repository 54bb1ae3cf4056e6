"""By how much a measured figure may differ from what is meant. Common practice, no source."""

from shop.craft.lengths import NM_PER_INCH
from shop.craft.quantities import MILLION, Dimension, Quantity


def _inch(numerator: int, denominator: int) -> Quantity:
    return Quantity(Dimension.LENGTH, NM_PER_INCH * numerator // denominator)


BLANK_LENGTH = _inch(1, 4)
BLANK_MASS = Quantity(Dimension.MASS, MILLION)
LAYOUT = _inch(1, 16)
HANDLE_LENGTH = _inch(1, 8)
CUT = _inch(1, 32)
BORE = _inch(3, 1000)
SHOULDER_DIAMETER = _inch(3, 1000)
SHOULDER_LENGTH = _inch(1, 64)
GUIDE = _inch(1, 16)
FINISHED_MASS = Quantity(Dimension.MASS, 2 * MILLION)
BALANCE_POINT = _inch(1, 4)
