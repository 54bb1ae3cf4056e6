"""A photo made anew by a process of its own, so that a file which breaks a decoder breaks nothing else.

It keeps pillow's memory and import out of the server besides. What is done there is `shop.outside.photos`.
"""

import json
import logging
import subprocess
import sys
from pathlib import Path
from typing import IO, NamedTuple

LOG = logging.getLogger("tackfree")
# The longer side of what is kept, in pixels: one for lists, one to look at.
SIZES = (320, 1280)
MOST_SECONDS = 60
TOO_HEAVY = "The photo takes more memory or time than one photo is given; please send a smaller one."
# By its path and not its name, and isolated: it runs the same from a checkout and from an installed wheel.
PROGRAM = Path(__file__).with_name("photos.py")


class PhotoRefused(ValueError):
    """The file is not taken. The text is a sentence for whoever sent it."""


class MadePhoto(NamedTuple):
    """A photo as it is to be kept: the JPEG of each size, and the pixels of the largest."""

    width: int
    height: int
    jpegs: dict[int, bytes]

    @property
    def size_bytes(self) -> int:
        """What all its sizes take together."""
        return sum(map(len, self.jpegs.values()))


def make_photo_apart(file: IO[bytes]) -> MadePhoto:
    """Make the photo of an open file, which lies on disk, anew in its sizes. Raises `PhotoRefused`."""
    file.seek(0)
    command = [sys.executable, "-I", str(PROGRAM), *map(str, SIZES)]
    try:
        done = subprocess.run(command, stdin=file, capture_output=True, timeout=MOST_SECONDS, check=False)
    except subprocess.TimeoutExpired as fault:
        LOG.warning("a photo took more than %d s and was given up", MOST_SECONDS)
        raise PhotoRefused(TOO_HEAVY) from fault
    if done.returncode:
        LOG.warning("a photo ended its process with %d: %s", done.returncode, _last_line(done.stderr))
        raise PhotoRefused(TOO_HEAVY)
    head, _, body = done.stdout.partition(b"\n")
    said = json.loads(head)
    if "refused" in said:
        LOG.info("a photo was refused: %s", _last_line(done.stderr))
        raise PhotoRefused(said["refused"])
    jpegs, begin = {}, 0
    for size, length in zip(SIZES, said["bytes"], strict=True):
        jpegs[size] = body[begin : begin + length]
        begin += length
    return MadePhoto(said["width"], said["height"], jpegs)


def _last_line(stderr: bytes) -> str:
    lines = stderr.decode(errors="replace").strip().splitlines()
    return lines[-1] if lines else "no word"
