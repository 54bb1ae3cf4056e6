"""How many guides a rod needs: the rules builders use, side by side, since none is right for every blank.

The tip-top is never counted. Where the guides then go is for `spacing`; whether they are enough shows the
loaded blank.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_INCH
from shop.craft.saying import say_length

FOOT_NM = 12 * NM_PER_INCH
RUNNING_STEP_NM = 5 * NM_PER_INCH
FIRST_OF_EVERY_FIVE_NM = 4 * NM_PER_INCH
CASTING_MORE = (1, 2)


@dataclass(frozen=True, slots=True)
class CountRule:
    """What one rule says, and from what kind of source it is.

    `figure` is what the rule gives before anybody rounds it; `least` and `most` are the whole numbers about
    it, the same one where it is whole. `counts` says which guides are counted.
    """

    rule: str
    counts: str
    source: str
    figure: Fraction
    least: int
    most: int


def count_rules(
    length_nm: int,
    casting: bool = False,
    running_nm: int | None = None,
    last_nm: int | None = None,
) -> tuple[CountRule, ...]:
    """The rules that can be asked of a rod of `length_nm`, each with its count.

    `casting` adds the rule for rods with the reel on top. `running_nm` is the distance from the last
    reduction guide to the tip-top, `last_nm` that of the butt guide from the tip; without them their rules
    are left out. Raises `SumFault` on `length`, `running` or `last`. Common practice; each rule names its
    kind of source.
    """
    _check(length_nm, running_nm, last_nm)
    per_foot = Fraction(length_nm, FOOT_NM) + 1
    rules = [_whole("one for each foot of length, plus one", "all", "club and blog articles", per_foot)]
    if casting:
        more, most = CASTING_MORE
        words = "casting: one or two more than one a foot plus one"
        least = floor(per_foot) + more
        rules.append(
            CountRule(words, "all", "common practice", per_foot + more, least, ceil(per_foot) + most)
        )
    if last_nm is not None:
        every = Fraction(last_nm - FIRST_OF_EVERY_FIVE_NM, RUNNING_STEP_NM) + 1
        words = "one every 5 in from a first at 4 in from the tip"
        rules.append(_whole(words, "all", "trade-library article", every))
    if running_nm is not None:
        running = Fraction(running_nm, RUNNING_STEP_NM) + 1
        words = "running guides: distance ÷ 5 in, plus one"
        rules.append(_whole(words, "running guides only", "component supplier's page", running))
    return tuple(rules)


def _check(length_nm: int, running_nm: int | None, last_nm: int | None) -> None:
    errors = {} if length_nm > 0 else {"length": "The rod must be longer than nothing."}
    for name, words, given in (
        ("running", "The distance of the running guides", running_nm),
        ("last", "The butt guide's distance from the tip", last_nm),
    ):
        if given is not None and not 0 < given < length_nm:
            errors[name] = (
                f"{words}, {say_length(given)}, must lie within the rod of {say_length(length_nm)}."
            )
    if last_nm is not None and 0 < last_nm < FIRST_OF_EVERY_FIVE_NM:
        errors["last"] = (
            f"The butt guide cannot stand {say_length(last_nm)} from the tip: the first is at 4 in."
        )
    if errors:
        raise SumFault(errors)


def _whole(rule: str, counts: str, source: str, figure: Fraction) -> CountRule:
    return CountRule(rule, counts, source, figure, floor(figure), ceil(figure))
