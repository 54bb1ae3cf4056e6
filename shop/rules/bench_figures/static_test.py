"""Figures of the static test: how far the tip should come down under each load, and how the line should lie.

Only for a blank whose walls or whose sag under a load are on file; a guess at both would say nothing.
"""

from typing import Any

from shop.craft.lengths import typable
from shop.craft.saying import say_fine, say_length
from shop.craft.spine import USUAL_RULES, Side
from shop.craft.sums.base import Kind, Outcome
from shop.craft.sums.flex import CARE
from shop.craft.sums.saying import say
from shop.rules.bench_figures.base import BenchFigure, BenchSheet, Trouble
from shop.rules.bench_figures.texts import grams, stations_of
from shop.rules.make_up import Bare, MakeUp

TOPIC = "static test"
STAGES = ("light", "middle", "heavy")


def static_test_figures(make_up: MakeUp, sheet: BenchSheet) -> None:
    """The three bent shapes, then the line through the guides under the middle load."""
    blank = make_up.blank
    if blank is None or not blank.stations:
        return
    if blank.wall_butt_nm is None and blank.test_load_mg is None:
        return
    given = {**_blank(blank), **{stage: grams(_load_mg(make_up, stage)) for stage in STAGES}}
    answer = _asked(sheet, "static-test", given)
    sheet.bent = answer
    if answer is not None:
        for stage in STAGES:
            sheet.add(_shape(stage, given, answer))
        _line(make_up, blank, sheet)


def _asked(sheet: BenchSheet, calculator: str, given: dict[str, Any]) -> Outcome | None:
    """The answer, its warnings noted but for the cautions that stand at the stage anyway."""
    answer = sheet.ask(TOPIC, calculator, given, warn=False)
    if answer is not None:
        warnings = (warning for warning in answer.warnings if warning not in CARE)
        sheet.troubles.extend(Trouble(TOPIC, warning, calculator, given) for warning in warnings)
    return answer


def _blank(blank: Bare) -> dict[str, Any]:
    given: dict[str, Any] = {"stations": stations_of(blank)}
    if blank.wall_butt_nm is not None:
        given["wall_butt"] = typable(blank.wall_butt_nm)
        given["wall_tip"] = typable(blank.wall_tip_nm or blank.wall_butt_nm)
    if blank.test_load_mg is not None and blank.test_sag_nm is not None:
        given |= {"test_load": grams(blank.test_load_mg), "test_sag": typable(blank.test_sag_nm)}
    if blank.most_load_mg is not None:
        given["most_load"] = grams(blank.most_load_mg)
    return given


def _load_mg(make_up: MakeUp, stage: str) -> int:
    ways = make_up.ways
    return {"light": ways.light_load_mg, "middle": ways.middle_load_mg, "heavy": ways.heavy_load_mg}[stage]


def _shape(stage: str, given: dict[str, Any], answer: Outcome) -> BenchFigure:
    drop, angle = answer.value(f"{stage}_tip_drop"), answer.value(f"{stage}_tip_angle")
    said = f"{given[stage]}: the tip comes down {say_length(drop)} and points {angle:.0f}° below level"
    return BenchFigure(TOPIC, f"{stage} load", said, calculator="static-test", given=given)


def _is_on_top(rod_kind: str) -> bool:
    """Whether reel and guides stand on top, as is usual for the kind; a repair's are taken to hang below."""
    usual = USUAL_RULES.get(rod_kind)
    return usual is not None and usual.reel_side is Side.TOP


def _line(make_up: MakeUp, blank: Bare, sheet: BenchSheet) -> None:
    """Turns and room under the middle load, where every guide's height is on file."""
    train = make_up.train
    if not train or any("centre_height" not in guide.sizes for guide in train):
        return
    given: dict[str, Any] = {
        **_blank(blank),
        "load": grams(make_up.ways.middle_load_mg),
        "guides": [
            {"from_tip": typable(guide.from_tip_nm), "height": typable(guide.sizes["centre_height"])}
            for guide in train
        ],
        "side": "top" if _is_on_top(make_up.rod_kind) else "below",
    }
    if make_up.tip_top is not None and "height" in make_up.tip_top.sizes:
        given["tip_top_height"] = typable(make_up.tip_top.sizes["height"])
    if make_up.ways.reel_from_butt_nm is not None:
        given["reel_from_butt"] = typable(make_up.ways.reel_from_butt_nm)
    answer = _asked(sheet, "line-path", given)
    if answer is not None:
        turn, gap = say(Kind.ANGLE, answer.value("most_turn")), say_fine(answer.value("least_gap"))
        said = f"turns {turn} at most at one guide; {gap} of room between line and blank at least"
        sheet.add(BenchFigure(TOPIC, "line, middle load", said, calculator="line-path", given=given))
