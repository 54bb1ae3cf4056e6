"""The bench figures of make-ups, kept between requests.

A revision of a make-up is never changed, so what was worked out of it once holds for good.
"""

from shop.rules.bench_figures.base import BenchSheet
from shop.rules.bench_figures.sheet import bench_sheet
from shop.rules.make_up import MakeUp

MOST = 500


class KeptSheets:
    """Bench figures by the id of the make-up. Safe to share: the worst is that one is worked out twice.

    Ask only for what is committed: the id of a revision that is rolled back may be given again.
    """

    def __init__(self) -> None:
        self._kept: dict[int, BenchSheet] = {}

    def of(self, make_up_id: int, value: MakeUp) -> BenchSheet:
        """The figures of a make-up that is on file."""
        kept = self._kept.get(make_up_id)
        if kept is None:
            kept = bench_sheet(value)
            if len(self._kept) >= MOST:
                self._kept.clear()
            self._kept[make_up_id] = kept
        return kept
