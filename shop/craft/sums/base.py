"""What a bench calculator is made of: its inputs, and the figures, the working and the warnings it answers.

The formulas themselves are plain functions in the modules of `shop.craft`; a calculator reads inputs
(`reading`), calls them, and writes down how the figures came about (`saying`).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class Kind(StrEnum):
    """What an input or a figure is, and in which unit its value is held.

    `length` and `fine` are whole nanometres (fractions of an inch, or thousandths where a diameter or a
    wall is meant); `mass` is g, `volume` mL, `angle` degrees, `number` a float in the unit named beside it,
    `count` a whole number, `money` whole cents, `day` a date, `yes` a bool, `choice` and `text` words,
    `table` a tuple of rows, each a mapping by the names of its columns.
    """

    LENGTH = "length"
    FINE = "fine"
    MASS = "mass"
    VOLUME = "volume"
    ANGLE = "angle"
    NUMBER = "number"
    COUNT = "count"
    MONEY = "money"
    DAY = "day"
    YES = "yes"
    CHOICE = "choice"
    TEXT = "text"
    TABLE = "table"


@dataclass(frozen=True, slots=True)
class Input:
    """One thing a calculator asks for.

    `default` is written as people type it. An input without one is needed, unless it is `optional`; then
    its value is none. A value must lie above nothing, unless `zero` lets it be nothing or `signed` lets it
    be less; `most` is the largest that can be, in the unit of the kind.
    """

    name: str
    label: str
    kind: Kind
    hint: str = ""
    default: str = ""
    optional: bool = False
    zero: bool = False
    signed: bool = False
    most: float | None = None
    unit: str = ""
    options: tuple[str, ...] = ()
    columns: tuple["Input", ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table of figures."""

    name: str
    label: str
    kind: Kind
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of an answer, in the unit of its kind; none where there is nothing to say."""

    name: str
    label: str
    kind: Kind
    value: Any
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Figures in rows; each row holds one value a column."""

    name: str
    label: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a calculator answers. `working` is the sum with its figures put in, a line a step."""

    figures: tuple[Figure | Table, ...]
    working: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def value(self, name: str) -> Any:
        """The value of the figure of that name, or the rows of the table. Raises `LookupError`."""
        for figure in self.figures:
            if figure.name == name:
                return figure.rows if isinstance(figure, Table) else figure.value
        raise LookupError(f"There is no figure “{name}” in this answer.")


Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Sum:
    """A calculator. `work` takes the values that `reading.read_inputs` gives; it may raise `SumFault`.

    `formula` is written with the names of the inputs in words; `source` says where it is from, or that it
    is common practice without one.
    """

    name: str
    title: str
    group: str
    about: str
    inputs: tuple[Input, ...]
    formula: str
    source: str
    work: Callable[[Values], Outcome]
