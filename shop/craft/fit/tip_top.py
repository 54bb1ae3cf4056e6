"""The tip-top: its tube is sized in 64ths of an inch, and must go over the tip without sitting loose.

Diameters are whole nanometres. 1/64 in is 0.015625 in exactly; sizes reckoned with 0.015 in come out half a
size too large.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from shop.craft.fit.sizes import check_sizes
from shop.craft.lengths import NM_PER_64TH, NM_PER_INCH, half_away

# More room than this, all across, and glue alone would have to hold the tube straight.
MOST_ROOM_NM = NM_PER_INCH * 8 // 1000


@dataclass(frozen=True, slots=True)
class TipTopSize:
    """The tip in 64ths of an inch, exactly, and the nearest half size that goes over it."""

    exact: Fraction
    size: Fraction

    @property
    def tube_nm(self) -> int:
        """The bore of that tube, in whole nm."""
        return half_away(self.size * NM_PER_64TH)


def tip_top_size(tip_od_nm: int) -> TipTopSize:
    """The half size of tube that goes over a tip: ⌈2 × OD ÷ (1/64 in)⌉ ÷ 2. Raises `SumFault` by `tip_od`.

    Common practice, no source; a tip of 0.084 in is 5.376 sixty-fourths, so size 5 1/2.
    """
    check_sizes({"tip_od": tip_od_nm})
    exact = Fraction(tip_od_nm, NM_PER_64TH)
    return TipTopSize(exact, Fraction(ceil(2 * exact), 2))
