"""Progressive guide spacing: every gap longer than the one before it by the same step, from the tip down.

All positions are measured from the tip. Arithmetic is exact; a position is rounded to a whole nanometre
only at the end, so the last guide lands exactly where it was asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_64TH, half_away
from shop.craft.saying import say_length

MOST_TRIALS = 2000


@dataclass(frozen=True, slots=True)
class Train:
    """Guides from the tip to the butt: `step_nm` is what each gap has more than the one before it."""

    first_nm: int
    step_nm: Fraction
    from_tip_nm: tuple[int, ...]

    @property
    def count(self) -> int:
        """How many guides there are, the tip-top not counted."""
        return len(self.from_tip_nm)

    @property
    def gaps_nm(self) -> tuple[int, ...]:
        """The gap before each guide; the first is from the tip to guide 1."""
        return tuple(
            here - before for before, here in zip((0, *self.from_tip_nm), self.from_tip_nm, strict=False)
        )


@dataclass(frozen=True, slots=True)
class Clash:
    """A guide that stands nearer to a ferrule than it may. Guide 1 is the one next to the tip."""

    guide: int
    from_tip_nm: int
    ferrule_nm: int

    @property
    def apart_nm(self) -> int:
        """How far the guide is from the ferrule."""
        return abs(self.from_tip_nm - self.ferrule_nm)


def train(count: int, first_nm: int, last_nm: int) -> Train:
    """`count` guides, the first `first_nm` and the last exactly `last_nm` from the tip.

    D_k = k·a + d·k(k−1)/2 with d = 2(D_n − n·a)/(n(n−1)), the sum of an arithmetic progression; published
    for fly rods in club articles. A single guide has one distance only. Raises `SumFault` on `count`,
    `first` or `last`, also where d would be below nothing: the gaps would shrink toward the butt.
    """
    _check_ends(count, first_nm, last_nm)
    if count == 1:
        return Train(first_nm, Fraction(0), (first_nm,))
    step = Fraction(2 * (last_nm - count * first_nm), count * (count - 1))
    if step < 0:
        raise SumFault({"first": _shrinking(count, first_nm, last_nm)})
    positions = (half_away(k * first_nm + step * (k * (k - 1) // 2)) for k in range(1, count + 1))
    return Train(first_nm, step, tuple(positions))


def _check_ends(count: int, first_nm: int, last_nm: int) -> None:
    errors = {}
    if count < 1:
        errors["count"] = f"There is at least one guide; {count} cannot be spaced."
    if first_nm <= 0:
        errors["first"] = "The first gap, from the tip to the first guide, must be more than nothing."
    elif count == 1 and last_nm != first_nm:
        errors["last"] = (
            f"One guide has one distance from the tip: it cannot stand at both {say_length(first_nm)} and "
            f"{say_length(last_nm)}."
        )
    elif count > 1 and last_nm <= first_nm:
        errors["last"] = (
            f"The last guide, {say_length(last_nm)} from the tip, must be farther from it than the first, "
            f"{say_length(first_nm)}."
        )
    if errors:
        raise SumFault(errors)


def _shrinking(count: int, first_nm: int, last_nm: int) -> str:
    most_first_nm = last_nm // count // NM_PER_64TH * NM_PER_64TH
    ways = [f"take a first gap of at most {say_length(most_first_nm)}"] if most_first_nm else []
    most_count = last_nm // first_nm
    if most_count > 1:
        ways.append(f"at most {most_count} guides")
    return (
        f"{count} guides with a first gap of {say_length(first_nm)} reach {say_length(count * first_nm)} "
        f"even with equal gaps, past the last at {say_length(last_nm)}: the gaps would have to shrink toward "
        f"the butt. {', or '.join(ways).capitalize() or 'Take fewer guides'}."
    )


def clashes(laid: Train, ferrules_nm: Sequence[int], clear_nm: int) -> tuple[Clash, ...]:
    """The guides nearer than `clear_nm` to a ferrule, all measured from the tip, the tip's first."""
    return tuple(
        Clash(number, position, ferrule)
        for number, position in enumerate(laid.from_tip_nm, 1)
        for ferrule in ferrules_nm
        if abs(position - ferrule) < clear_nm
    )


def nearest_ferrule(from_tip_nm: int, ferrules_nm: Sequence[int]) -> int | None:
    """How far the nearest ferrule is from a point, both measured from the tip; none without ferrules."""
    return min((abs(from_tip_nm - ferrule) for ferrule in ferrules_nm), default=None)


@dataclass(frozen=True, slots=True)
class Search:
    """How far a guide keeps from a ferrule, and which first gaps are tried: wanted ± range, by the step."""

    clear_nm: int
    range_nm: int
    step_nm: int


def clear_train(count: int, first_nm: int, last_nm: int, ferrules_nm: Sequence[int], search: Search) -> Train:
    """The train that keeps clear of every ferrule with the first gap nearest to the wanted `first_nm`.

    The whole train is laid out anew for each first gap and none of its guides is ever nudged alone; of two
    first gaps equally near, the shorter is taken. Ferrules are measured from the tip. Raises `SumFault`
    where the butt guide itself stands too near a ferrule (`last`), where no first gap of the range will do
    (`first`), or on `count`, `ferrules.1.from_tip`, `clear`, `range`, `step`. Common practice, no source.
    """
    _check_search(ferrules_nm, search)
    _check_ends(count, first_nm, last_nm)
    for ferrule in ferrules_nm:
        if abs(last_nm - ferrule) < search.clear_nm:
            raise SumFault({"last": _butt_guide_too_near(last_nm, ferrule, search.clear_nm)})
    firsts = [first_nm] if count == 1 else _firsts(first_nm, search)
    trains = [train(count, first, last_nm) for first in firsts if count * first <= last_nm]
    if not trains:
        raise SumFault({"first": _shrinking(count, first_nm, last_nm)})
    for laid in trains:
        if not clashes(laid, ferrules_nm, search.clear_nm):
            return laid
    raise SumFault({"first": _none_clear(first_nm, trains, ferrules_nm, search)})


def _firsts(first_nm: int, search: Search) -> list[int]:
    """The first gaps to try: the wanted one, then the nearest, the shorter of a pair before the longer."""
    pairs = (
        (first_nm - number * search.step_nm, first_nm + number * search.step_nm)
        for number in range(1, search.range_nm // search.step_nm + 1)
    )
    return [first_nm, *(first for pair in pairs for first in pair if first > 0)]


def _check_search(ferrules_nm: Sequence[int], search: Search) -> None:
    errors = {
        f"ferrules.{number}.from_tip": f"Ferrule {number} must lie down the blank from the tip."
        for number, ferrule in enumerate(ferrules_nm, 1)
        if ferrule <= 0
    }
    if search.clear_nm < 0:
        errors["clear"] = "The clearance cannot be less than nothing."
    if search.range_nm < 0:
        errors["range"] = "The range of first gaps cannot be less than nothing."
    if search.step_nm <= 0:
        errors["step"] = "The step between first gaps must be more than nothing."
    elif search.range_nm // search.step_nm > MOST_TRIALS:
        errors["step"] = f"Steps of {say_length(search.step_nm)} are too many to try; take longer ones."
    if errors:
        raise SumFault(errors)


def _butt_guide_too_near(last_nm: int, ferrule_nm: int, clear_nm: int) -> str:
    apart, clear = say_length(abs(last_nm - ferrule_nm)), say_length(clear_nm)
    return (
        f"The last guide itself, {say_length(last_nm)} from the tip, is {apart} from the ferrule at "
        f"{say_length(ferrule_nm)}; no first gap brings it {clear} clear. Move the last guide."
    )


def _none_clear(first_nm: int, trains: Sequence[Train], ferrules_nm: Sequence[int], search: Search) -> str:
    def room(laid: Train) -> int:
        return min(abs(at - ferrule) for at in laid.from_tip_nm for ferrule in ferrules_nm)

    best = max(trains, key=room)
    return (
        f"No first gap within {say_length(search.range_nm)} of {say_length(first_nm)} keeps every guide "
        f"{say_length(search.clear_nm)} from the ferrules; the best is {say_length(best.first_nm)}, which "
        f"leaves {say_length(room(best))}. Try another number of guides, a wider range or less clearance."
    )
