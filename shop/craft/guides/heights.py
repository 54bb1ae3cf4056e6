"""Guide heights for a spinning reel: a straight line from the spool's axis down to the choke guide.

Distances are from the spool toward the tip, heights from the blank to the centre of the ring. The line is a
first layout, to be proved by a test cast: the upsweep of a reel moves it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from shop.craft.faults import SumFault
from shop.craft.lengths import half_away
from shop.craft.saying import say_length

SPOOLS_TO_CHOKE = 27


@dataclass(frozen=True, slots=True)
class StockGuide:
    """A guide there is to choose from; its height is from the blank to the centre of the ring."""

    name: str
    centre_height_nm: int


@dataclass(frozen=True, slots=True)
class Placed:
    """What the layout asks for at one place, and the guide chosen for it.

    No height is wanted at the choke and beyond it: there the guides are equal small runners. No guide is
    chosen where there is none to choose from.
    """

    from_spool_nm: int
    wanted_nm: int | None
    guide: StockGuide | None


def choke_of_spool(spool_diameter_nm: int) -> int:
    """How far from the spool the choke guide stands: 27 spool diameters.

    A rule of thumb of builders; measuring the reel is better. Raises `SumFault` on `spool_diameter`.
    """
    if spool_diameter_nm <= 0:
        raise SumFault({"spool_diameter": "The spool must be wider than nothing."})
    return SPOOLS_TO_CHOKE * spool_diameter_nm


def height_at(from_spool_nm: int, spool_height_nm: int, choke_nm: int) -> int | None:
    """The ring's height at a distance from the spool: h(x) = h0(1 − x/X), none at the choke and beyond.

    `spool_height_nm` is h0, the spool's axis above the blank; `choke_nm` is X. A straight line, common
    practice. Raises `SumFault` on `from_spool`, `spool_height` or `choke`.
    """
    for name, words, given in (
        ("from_spool", "The distance from the spool", from_spool_nm),
        ("spool_height", "The height of the spool's axis", spool_height_nm),
        ("choke", "The distance of the choke guide", choke_nm),
    ):
        if given <= 0:
            raise SumFault({name: f"{words} must be more than nothing; {say_length(given)} is not."})
    if from_spool_nm >= choke_nm:
        return None
    return half_away(spool_height_nm * (1 - Fraction(from_spool_nm, choke_nm)))


def place_guides(
    from_spool_nm: Sequence[int], spool_height_nm: int, choke_nm: int, stock: Sequence[StockGuide] = ()
) -> tuple[Placed, ...]:
    """A guide for each place, by the height of its centre: the nearest before the choke, runners from there.

    Of two equally near the lower is taken, of two equally tall the first named; the runner is the lowest.
    The wanted height only falls, so no chosen guide is taller than the one before it. Raises `SumFault` on
    `guides.1.from_spool`, `stock.1.centre_height`, `spool_height` or `choke`.
    """
    errors = {
        f"stock.{number}.centre_height": f"Guide “{guide.name}” must stand above the blank."
        for number, guide in enumerate(stock, 1)
        if guide.centre_height_nm <= 0
    }
    for number, (before, here) in enumerate(zip((0, *from_spool_nm), from_spool_nm, strict=False), 1):
        if here <= before:
            errors[f"guides.{number}.from_spool"] = (
                f"Guide {number}, {say_length(here)} from the spool, must be farther from it than the one "
                f"before, {say_length(before)}."
                if number > 1
                else "Guide 1 must stand ahead of the spool."
            )
    if errors:
        raise SumFault(errors)
    wanted = [height_at(x, spool_height_nm, choke_nm) for x in from_spool_nm]
    return tuple(
        Placed(x, height, _nearest(height, stock)) for x, height in zip(from_spool_nm, wanted, strict=True)
    )


def _nearest(height_nm: int | None, stock: Sequence[StockGuide]) -> StockGuide | None:
    """The guide nearest to a height by its centre; the lowest where no height is wanted."""
    by_height = sorted(stock, key=lambda guide: guide.centre_height_nm)
    return min(by_height, key=lambda guide: abs(guide.centre_height_nm - (height_nm or 0)), default=None)
