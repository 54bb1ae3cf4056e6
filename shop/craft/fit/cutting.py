"""Cutting grip stock: how long a piece is cut, and how many pieces a stick gives.

All lengths are whole nanometres, so that a stick that gives three pieces exactly gives three. Common
practice, no source.
"""

from dataclasses import dataclass

from shop.craft.fit.sizes import check_sizes


@dataclass(frozen=True, slots=True)
class Pieces:
    """What a stick gives: whole pieces, and the length that is left once the last one is cut off."""

    count: int
    leftover_nm: int


def cut_length_nm(visible_nm: int, shoulder_nm: int = 0, facing_each_end_nm: int = 0) -> int:
    """How long to cut a piece, in nm: visible + shoulder + 2 × facing. Common practice, no source.

    The shoulder is hidden in a recess; the facing is what is skimmed off each end to true it. Raises
    `SumFault` by `visible`, `shoulder` and `facing`.
    """
    check_sizes({"visible": visible_nm}, {"shoulder": shoulder_nm, "facing": facing_each_end_nm})
    return visible_nm + shoulder_nm + 2 * facing_each_end_nm


def pieces_from_stick(stick_nm: int, piece_nm: int, kerf_nm: int) -> Pieces:
    """How many pieces a stick gives: ⌊(stick + kerf) / (piece + kerf)⌋, exact.

    Between two pieces the saw takes one kerf; what then remains has to be sawn off as well, and is
    nothing where it is no longer than that last kerf. Raises `SumFault` by `stick`, `piece` and `kerf`.
    Common practice, no source.
    """
    check_sizes({"stick": stick_nm, "piece": piece_nm}, {"kerf": kerf_nm})
    count = (stick_nm + kerf_nm) // (piece_nm + kerf_nm)
    return Pieces(count, max(0, stick_nm - count * (piece_nm + kerf_nm)))
