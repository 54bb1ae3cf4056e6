"""QR codes drawn as pixels, for the independent reader."""

import re

from shop.outside.codes import Code

PIXELS = 4
RUN = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")


def picture(code: Code) -> memoryview:
    """The outline drawn as grey pixels, several to a module, as a camera would see it."""
    return picture_of(code.d, code.size)


def picture_of(d: str, size: int) -> memoryview:
    """An outline in a box of `size` modules, drawn as grey pixels."""
    side = size * PIXELS
    pixels = bytearray(b"\xff" * side * side)
    for run in RUN.finditer(d):
        x, y, long, back = (int(number) for number in run.groups())
        assert long == back
        for line in range(y * PIXELS, (y + 1) * PIXELS):
            start = line * side + x * PIXELS
            pixels[start : start + long * PIXELS] = bytes(long * PIXELS)
    return memoryview(bytes(pixels)).cast("B", (side, side))
