"""The shoulder of a grip: the turned-down end that enters the recess of a hood.

All lengths are whole nanometres. Common practice, no source: a shoulder is about 3/16 in long and 3/32 in
deep, that is taken off each side.
"""

from dataclasses import dataclass
from fractions import Fraction

from shop.craft.faults import SumFault
from shop.craft.fit.sizes import check_sizes
from shop.craft.lengths import NM_PER_MM, half_away
from shop.craft.saying import say_fine, say_length

# The least wall over the bore that a shoulder is safely turned with. Common practice, no source.
LEAST_WALL_NM = {"cork": 3 * NM_PER_MM, "foam": 2 * NM_PER_MM, "wood": 2 * NM_PER_MM, "other": 2 * NM_PER_MM}


@dataclass(frozen=True, slots=True)
class Shoulder:
    """A shoulder, in nm: its diameter and length, the wall left over the bore, what comes off a side."""

    diameter_nm: int
    length_nm: int
    wall_nm: int
    take_off_nm: int | None


def shoulder(
    hood_bore_nm: int,
    gap_nm: int,
    recess_nm: int,
    relief_nm: int,
    bore_nm: int,
    grip_od_nm: int | None = None,
) -> Shoulder:
    """The shoulder for a hood: diameter = hood bore − 2 × gap, length = recess depth − relief.

    The wall left is (diameter − bore) / 2, and (grip OD − diameter) / 2 is taken off each side; in nm,
    halves away from zero. Raises `SumFault` by `hood_bore`, `gap`, `recess`, `relief`, `bore` and
    `grip_od`. Common practice, no source.
    """
    check_sizes(
        {"hood_bore": hood_bore_nm, "recess": recess_nm, "bore": bore_nm},
        {"gap": gap_nm, "relief": relief_nm},
    )
    diameter, length = hood_bore_nm - 2 * gap_nm, recess_nm - relief_nm
    errors: dict[str, str] = {}
    if diameter <= 0:
        errors["gap"] = f"A gap of {say_fine(gap_nm)} a side leaves nothing of the hood's bore."
    elif bore_nm >= diameter:
        errors["bore"] = (
            f"The bore, {say_fine(bore_nm)}, is as wide as the shoulder, {say_fine(diameter)}, or wider; "
            "no wall would be left."
        )
    if length <= 0:
        errors["relief"] = (
            f"The relief, {say_length(relief_nm)}, leaves nothing of a recess {say_length(recess_nm)} deep."
        )
    if grip_od_nm is not None and diameter > grip_od_nm:
        errors["grip_od"] = (
            f"The grip, {say_fine(grip_od_nm)}, is thinner than its shoulder would be, {say_fine(diameter)}."
        )
    if errors:
        raise SumFault(errors)
    take_off = None if grip_od_nm is None else half_away(Fraction(grip_od_nm - diameter, 2))
    return Shoulder(diameter, length, half_away(Fraction(diameter - bore_nm, 2)), take_off)
