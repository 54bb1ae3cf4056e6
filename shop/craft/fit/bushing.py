"""What fills the gap between a blank and a reel seat: rings of tape, or an arbor.

All lengths and diameters are whole nanometres. Common practice, no source: rings are 1/4 to 1/2 in wide,
the ends of the seat stay open for 1/8 to 1/4 in and the gaps between rings stay open, so that glue passes
and bonds the seat to the blank itself; a gap of more than 1/16 in a side takes an arbor, not tape.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import pi

from shop.craft.faults import SumFault
from shop.craft.fit.sizes import check_sizes
from shop.craft.lengths import NM_PER_INCH, half_away
from shop.craft.saying import say_fine, say_length

# Common practice, no source, all of them; the last is what tape may fill a side.
RING_WIDTHS_NM = (NM_PER_INCH // 4, NM_PER_INCH // 2)
OPEN_ENDS_NM = (NM_PER_INCH // 8, NM_PER_INCH // 4)
MOST_TAPE_NM = NM_PER_INCH // 16


@dataclass(frozen=True, slots=True)
class Bushing:
    """A ring of tape, in nm. `fill_nm` is the gap a side less the clearance, which may be below nothing.

    `wants_arbor` where that is more than tape should fill.
    """

    fill_nm: int
    turns: int
    finished_od_nm: int
    clearance_left_nm: int
    tape_length_nm: int
    wants_arbor: bool


@dataclass(frozen=True, slots=True)
class Rings:
    """Where rings begin, in nm from the butt end of the seat; the gap between two, none for a lone one."""

    starts_nm: tuple[int, ...]
    gap_nm: int | None


@dataclass(frozen=True, slots=True)
class Arbor:
    """A sleeve between blank and seat, in nm."""

    od_nm: int
    bore_nm: int
    wall_nm: int


def tape_bushing(seat_bore_nm: int, od_nm: int, tape_nm: int, clearance_nm: int) -> Bushing:
    """Turns of tape = ⌊(seat bore/2 − clearance − OD/2) / t⌋, exact; there may be none.

    t is the thickness of the tape; the finished OD is OD + 2·turns·t. The tape used is
    π·turns·(OD + turns·t), the sum of every turn at its middle. Raises `SumFault` by `seat_bore` where the
    blank does not go through the seat. Common practice, no source.
    """
    check_sizes({"seat_bore": seat_bore_nm, "od": od_nm, "tape": tape_nm}, {"clearance": clearance_nm})
    _check_blank_passes(seat_bore_nm, od_nm)
    across = seat_bore_nm - od_nm - 2 * clearance_nm
    turns = max(0, across // (2 * tape_nm))
    finished = od_nm + 2 * turns * tape_nm
    return Bushing(
        fill_nm=half_away(Fraction(across, 2)),
        turns=turns,
        finished_od_nm=finished,
        clearance_left_nm=half_away(Fraction(seat_bore_nm - finished, 2)),
        tape_length_nm=round(pi * turns * (od_nm + turns * tape_nm)),
        wants_arbor=across > 2 * MOST_TAPE_NM,
    )


def place_rings(seat_length_nm: int, ring_width_nm: int, open_end_nm: int, count: int) -> Rings:
    """Rings spaced evenly along a seat, its ends left open; a lone ring goes in the middle.

    Raises `SumFault` by `rings` where they do not fit with gaps between them. Common practice, no source.
    """
    check_sizes(
        {"seat_length": seat_length_nm, "ring_width": ring_width_nm, "rings": count},
        {"open_end": open_end_nm},
    )
    free = seat_length_nm - 2 * open_end_nm - count * ring_width_nm
    if free < 0 or (free == 0 and count > 1):
        raise SumFault(
            {
                "rings": f"{count} × {say_length(ring_width_nm)} of rings and two open ends of "
                f"{say_length(open_end_nm)} leave no gap for the glue in {say_length(seat_length_nm)}."
            }
        )
    if count == 1:
        return Rings((open_end_nm + half_away(Fraction(free, 2)),), None)
    gap = Fraction(free, count - 1)
    starts = tuple(half_away(open_end_nm + index * (ring_width_nm + gap)) for index in range(count))
    return Rings(starts, half_away(gap))


def arbor(seat_bore_nm: int, od_nm: int, clearance_nm: int, allowance_nm: int) -> Arbor:
    """The arbor for a seat: OD = seat bore − 2 × clearance, bore = OD of the blank + allowance, in nm.

    The clearance is a side, the allowance across. Raises `SumFault` by `seat_bore` where no wall is left.
    Common practice, no source.
    """
    check_sizes(
        {"seat_bore": seat_bore_nm, "od": od_nm}, {"clearance": clearance_nm, "allowance": allowance_nm}
    )
    _check_blank_passes(seat_bore_nm, od_nm)
    outer, bore = seat_bore_nm - 2 * clearance_nm, od_nm + allowance_nm
    if outer <= bore:
        raise SumFault(
            {
                "seat_bore": f"The arbor would be {say_fine(outer)} outside and {say_fine(bore)} inside; "
                "no wall is left. Fill so small a gap with tape."
            }
        )
    return Arbor(outer, bore, half_away(Fraction(outer - bore, 2)))


def _check_blank_passes(seat_bore_nm: int, od_nm: int) -> None:
    if seat_bore_nm < od_nm:
        raise SumFault(
            {
                "seat_bore": f"The seat's bore, {say_fine(seat_bore_nm)}, is smaller than the blank, "
                f"{say_fine(od_nm)}; the seat does not go on."
            }
        )
