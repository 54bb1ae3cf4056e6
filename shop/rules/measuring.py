"""What a measured figure should be, and what is wrong with one that is not.

A hold may have a figure of its own; else the make-up of the build says it. What follows from a figure that is
not as it should be is `shop.rules.decide`.
"""

from shop.craft.quantities import Dimension, Quantity, format_quantity, is_fine, within
from shop.rules.facts import Facts, Meant
from shop.rules.sequences import Hold


def meant_by(hold: Hold, facts: Facts) -> Meant | None:
    """What a `measurement` hold compares with: its own figure, else the make-up's, or none if nobody said.

    Raises `ValueError` for a hold with half a figure, which no sequence on file has.
    """
    if (hold.nominal is None) != (hold.tolerance is None):
        raise ValueError(f"The measurement hold on “{hold.name}” has half a figure to compare with.")
    if hold.nominal is None or hold.tolerance is None:
        return facts.meant.get(hold.name)
    return Meant(hold.nominal, hold.tolerance)


def meant_words(meant: Meant) -> str:
    """A figure with its tolerance: `62 g ± 1 g`."""
    return f"{figure_words(meant.nominal, meant)} ± {figure_words(meant.tolerance, meant)}"


def figure_words(figure: Quantity, meant: Meant | None) -> str:
    """A figure, measured or meant, written as finely as the tolerance of what is meant asks for."""
    return format_quantity(figure, fine=meant is not None and is_fine(meant.tolerance))


def is_comparable(measured: Quantity, meant: Meant) -> bool:
    """Whether both are of one dimension; a figure in grams says nothing of a length."""
    return measured.dimension is meant.nominal.dimension


def is_as_meant(measured: Quantity, meant: Meant) -> bool:
    """Whether a figure lies within its tolerance, the ends included."""
    return is_comparable(measured, meant) and within(measured, meant.nominal, meant.tolerance)


def amiss(name: str, measured: Quantity, meant: Meant) -> str:
    """What is wrong with a figure that is not as meant, in a sentence."""
    if is_comparable(measured, meant):
        return f"“{name}” measures {figure_words(measured, meant)}; it should be {meant_words(meant)}."
    if measured.dimension is Dimension.COUNT:
        said = f"was measured as {format_quantity(measured)} without a unit"
    else:
        said = f"is on record as {figure_words(measured, meant)}"
    return f"“{name}” {said}; it should be {meant_words(meant)}."
