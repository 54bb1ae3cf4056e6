"""QR codes as finished outlines for a page or a sheet of labels.

A thin module around segno. Error correction is level M (about 15 % of the code may be soiled), and the quiet
zone of 4 modules that ISO/IEC 18004 asks for is part of the drawing, so that nothing printed beside it spoils
the reading.
"""

from collections.abc import Iterable
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

import segno

QUIET_ZONE = 4


class Code(NamedTuple):
    """A code in a box of `size` by `size` modules, quiet zone included; `d` outlines the dark ones."""

    version: int
    size: int
    d: str


@lru_cache(maxsize=1024)
def qr_code(text: str) -> Code:
    """The smallest QR code of level M that holds a text. Raises ValueError for one that no code can hold."""
    made = segno.make_qr(text, error="m", boost_error=False)
    rows = made.matrix_iter(border=QUIET_ZONE)
    d = "".join(_runs(row, y) for y, row in enumerate(rows))
    size, _ = made.symbol_size(border=QUIET_ZONE)
    return Code(int(made.version), int(size), d)


def _runs(row: Iterable[int], y: int) -> str:
    """One row's runs of dark modules, each as a box."""
    out, x = "", 0
    for dark, cells in groupby(row):
        long = len(list(cells))
        out += f"M{x} {y}h{long}v1h-{long}z" if dark else ""
        x += long
    return out
