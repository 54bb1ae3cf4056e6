"""What a figure of the bench ticket is, and how one is asked of a calculator.

Every figure names the calculator it is from and what was put in, so that it can be followed to its formula.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from shop.craft.faults import SumFault
from shop.craft.quantities import Dimension, Quantity, format_quantity, is_fine
from shop.craft.saying import say_fine, say_length
from shop.craft.sums.base import Outcome
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import read_inputs
from shop.craft.taper import od_at
from shop.rules.make_up import Bare


@dataclass(frozen=True, slots=True)
class BenchFigure:
    """A figure meant for a rod, shown at the stages that show its `topic` (`rules.sequences.FIGURES`).

    `said` is the figure in words. Where it can be measured, `meant` and `tolerance` are what a measurement of
    that `name` is compared with. `place` is set for a figure of one joint (topic `glue`). `calculator` and
    `given` lead to the sum; both are empty where the figure is read off what is on file.
    """

    topic: str
    name: str
    said: str
    meant: Quantity | None = None
    tolerance: Quantity | None = None
    place: str = ""
    calculator: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)

    @property
    def tolerance_said(self) -> str:
        """By how much it may differ, in words; empty where it is not measured."""
        if self.tolerance is None:
            return ""
        if self.tolerance.dimension is not Dimension.LENGTH:
            return f"± {format_quantity(self.tolerance)}"
        nm = self.tolerance.amount
        return f"± {say_fine(nm) if is_fine(self.tolerance) else say_length(nm)}"


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that cannot be or should be looked at: a sentence, and the sum that says so."""

    topic: str
    sentence: str
    calculator: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)


@dataclass
class BenchSheet:
    """Figures and troubles, topic by topic, in the order in which they were worked out.

    `bent` has the shapes of the static test, to be drawn; none where the blank's stiffness is not known.
    """

    figures: list[BenchFigure] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)
    bent: Outcome | None = None

    def add(self, figure: BenchFigure) -> None:
        """Note a figure."""
        self.figures.append(figure)

    def ask(self, topic: str, calculator: str, given: Mapping[str, Any], warn: bool = True) -> Outcome | None:
        """The answer of a calculator; none, and a trouble noted, where the sum cannot be done.

        Its warnings are noted too, unless `warn` says that they are dealt with otherwise.
        """
        known = SUMS[calculator]
        try:
            outcome = known.work(read_inputs(known, given))
        except SumFault as fault:
            sentences = fault.errors.values()
            self.troubles.extend(Trouble(topic, sentence, calculator, given) for sentence in sentences)
            return None
        if warn:
            self.troubles.extend(Trouble(topic, warning, calculator, given) for warning in outcome.warnings)
        return outcome

    def od_nm(self, topic: str, blank: Bare, from_butt_nm: int) -> int | None:
        """The blank's diameter at a place; none, and a trouble noted, where no station tells it."""
        try:
            return od_at(blank.stations, from_butt_nm)
        except SumFault as fault:
            self.troubles.extend(Trouble(topic, sentence) for sentence in fault.errors.values())
            return None
