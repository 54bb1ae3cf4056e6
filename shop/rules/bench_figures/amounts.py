"""How much of a product one place of a rod takes, read back from the bench figures of its make-up."""

from shop.craft.sums.base import Outcome
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import read_inputs
from shop.rules.bench_figures.base import BenchFigure, BenchSheet

_JOINTS = frozenset({"grip-film", "glue-joint"})
_COATS = "finish-volume"


def joint_ml(sheet: BenchSheet, place: str) -> float | None:
    """What to mix for one joint of the handle, in mL; none where its sizes are not on file."""
    for figure in sheet.figures:
        if figure.place == place and figure.calculator in _JOINTS:
            return float(_worked(figure).value("volume_ml"))
    return None


def coat_ml(sheet: BenchSheet, is_first: bool) -> float | None:
    """What one coat of all the wraps takes, in mL, without what stays in cup and brush; none if not known."""
    answer = _coats(sheet)
    return None if answer is None else float(answer.value("first_ml" if is_first else "later_ml"))


def leftover_ml(sheet: BenchSheet) -> float:
    """What of a cup of finish stays in cup and brush, in mL; it is lost once a cup, not once a rod."""
    answer = _coats(sheet)
    return 0.0 if answer is None else float(answer.value("first_mix_ml") - answer.value("first_ml"))


def _coats(sheet: BenchSheet) -> Outcome | None:
    return next((_worked(figure) for figure in sheet.figures if figure.calculator == _COATS), None)


def _worked(figure: BenchFigure) -> Outcome:
    known = SUMS[figure.calculator]
    return known.work(read_inputs(known, figure.given))
