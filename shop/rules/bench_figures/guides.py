"""Figures of the guides: where each ring stands, from the tip and from the butt."""

from shop.craft.lengths import typable
from shop.craft.quantities import Dimension, Quantity
from shop.craft.saying import say_fine, say_length
from shop.rules.bench_figures import tolerances
from shop.rules.bench_figures.base import BenchFigure, BenchSheet, Trouble
from shop.rules.make_up import MakeUp

TOPIC = "guides"


def guide_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """The tip-top's size, then each guide from tip to butt; one that would lie on a joint is said."""
    _tip_top(make_up, sheet)
    for number, guide in enumerate(make_up.train, 1):
        at = make_up.from_butt(guide)
        said = f"{say_length(guide.from_tip_nm)} from the tip"
        said += "" if at is None else f", {say_length(at)} from the butt"
        said += f": {guide.name}"
        meant = Quantity(Dimension.LENGTH, guide.from_tip_nm)
        sheet.add(BenchFigure(TOPIC, f"guide {number} from the tip", said, meant, tolerances.GUIDE))
    _near_joints(make_up, sheet)


def _tip_top(make_up: MakeUp, sheet: BenchSheet) -> None:
    """The size by the last station, where that was measured at the tip itself."""
    blank = make_up.blank
    if blank is None or not blank.stations or blank.stations[-1][0] != blank.length_nm:
        return
    given = {"tip_od": typable(blank.stations[-1][1])}
    if make_up.tip_top is not None and "tube_bore" in make_up.tip_top.sizes:
        given["tube_bore"] = typable(make_up.tip_top.sizes["tube_bore"])
    answer = sheet.ask(TOPIC, "tip-top-size", given)
    if answer is not None:
        bore = say_fine(answer.value("tube_bore"))
        said = f"size {answer.value('size_64ths'):g} in 64ths of an inch, bore {bore}"
        sheet.add(BenchFigure(TOPIC, "tip-top", said, calculator="tip-top-size", given=given))


def _near_joints(make_up: MakeUp, sheet: BenchSheet) -> None:
    """A foot reaches as far as the guide is long; a joint needs its whole wrap."""
    joints = () if make_up.blank is None else make_up.blank.joints
    for number, guide in enumerate(make_up.train, 1):
        at = make_up.from_butt(guide)
        reach = guide.sizes.get("length", guide.sizes.get("foot_length", 0)) + make_up.ways.wrap_nm
        for joint, _insertion in joints:
            if at is not None and abs(at - joint) < reach:
                apart = say_length(abs(at - joint))
                sentence = f"Guide {number} stands {apart} from a joint; its wrap would lie on the joint's."
                sheet.troubles.append(Trouble(TOPIC, sentence))
