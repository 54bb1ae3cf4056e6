"""A cure that was carried from one zone to another, as into the warm cabinet and back.

Its age is what it gained in each zone while it lay there, by that zone's own running sums
(`shop.craft.ageing`); so an answer costs O(log n) for each stay. Times are seconds since 1970 (UTC).
"""

from bisect import bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from shop.craft.ageing import Ages
from shop.craft.cure import CureTimes, Sheet, ZoneClock, check_instant, cure_times


class Stay(NamedTuple):
    """Where a cure lies from an instant on; whatever the first one says, it begins with the cure."""

    since: float
    clock: ZoneClock


class CarriedAgeing:
    """Age along the lines of several zones, one after the other; see `shop.craft.ageing.Ages`.

    `stays` are the sums of each zone with the instant from which they count, in the order of the instants.
    Raises `ValueError` for none or for instants out of order.
    """

    def __init__(self, stays: Sequence[tuple[float, Ages]]) -> None:
        since = [at for at, _ in stays]
        if not stays or since != sorted(since):
            raise ValueError("A cure lies in one zone after another, in the order of their instants.")
        self._since = since[1:]
        self._ageings = [ageing for _, ageing in stays]
        # What to add to a zone's own age so that the age goes on where it was when the cure was carried.
        self._added = [0.0]
        for at, before, after in zip(self._since, self._ageings, self._ageings[1:], strict=False):
            self._added.append(self._added[-1] + before.age_at(at) - after.age_at(at))

    def age_at(self, at: float) -> float:
        """Age at an instant, in seconds, counted as in the first zone."""
        stay = bisect_right(self._since, at)
        return self._ageings[stay].age_at(at) + self._added[stay]

    def reached(self, start: float, age: float) -> float | None:
        """The first instant from `start` on at which an age is reached, or none if it never is."""
        for stay, end in enumerate(self._since):
            if start <= end and self._ageings[stay].age_at(end) + self._added[stay] >= age:
                at = self._ageings[stay].reached(start, age - self._added[stay])
                return end if at is None else min(at, end)
            start = max(start, end)
        return self._ageings[-1].reached(start, age - self._added[-1])


def carried_times(
    stays: Sequence[Stay], sheet: Sheet, closed_at: float, credit_cap: float = 1.0
) -> CureTimes:
    """When a cure closed at an instant reaches the sheet's times, wherever it lies meanwhile.

    Raises `CureError` for a cap outside 1 to 2 and `ValueError` for stays out of order.
    """
    if len(stays) == 1:
        return stays[0].clock.times(sheet, closed_at, credit_cap)
    ageing = CarriedAgeing([(stay.since, stay.clock.credit(sheet, credit_cap)) for stay in stays])
    return cure_times(ageing, sheet, check_instant(closed_at))
