"""Photos as phones and as people with bad intentions send them, made for the tests.

What a metadata block holds is put in as plain words, so that a test can look for them in what is kept.
"""

import io
import struct
import zlib
from collections.abc import Iterator

from PIL import Image, ImageCms

RED, GREEN, BLUE, WHITE = (220, 20, 30), (20, 200, 40), (30, 40, 210), (255, 255, 255)
ORIENTATION, GPS = 274, 0x8825
# Each stands in a block of its own kind of metadata.
SECRETS = (
    b"41.4033N-2.1740E", b"Tamsin's phone", b"xmp:GPSLatitude", b"iptc by-line", b"a remark in the file",
    b"behind the picture", b"a preview of the kitchen", b"profile of a camera",
)  # fmt: skip


def encoded(picture: Image.Image, kind: str = "JPEG", **more: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def plain(size: tuple[int, int] = (64, 48), colour: tuple[int, ...] = RED, mode: str = "RGB") -> Image.Image:
    return Image.new(mode, size, colour)


def phone_jpeg(size: tuple[int, int] = (64, 48)) -> bytes:
    """A photo with every kind of metadata that cameras and programs put into a JPEG."""
    exif = Image.Exif()
    exif[ORIENTATION] = 1
    exif[315] = SECRETS[1].decode()
    exif.get_ifd(GPS)[29] = SECRETS[0].decode()
    return with_segments(
        encoded(plain(size), exif=exif.tobytes(), comment=SECRETS[4]),
        (0xE1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta>" + SECRETS[2] + b"</x:xmpmeta>"),
        (0xE1, b"Exif\0\0II*\0" + SECRETS[6]),
        (0xE2, b"ICC_PROFILE\0\1\1" + SECRETS[7]),
        (0xED, b"Photoshop 3.0\x008BIM" + SECRETS[3]),
    ) + SECRETS[5]  # fmt: skip


def with_segments(jpeg: bytes, *segments: tuple[int, bytes]) -> bytes:
    """A JPEG with further segments before its own."""
    blocks = b"".join(
        struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body for marker, body in segments
    )  # fmt: skip
    return jpeg[:2] + jpeg[2:20] + blocks + jpeg[20:]


def png(width: int, height: int, depth: int, colour: int, data: bytes, *extra: tuple[bytes, bytes]) -> bytes:
    """A PNG put together by hand: what its header claims need not be so. `data` is the deflated picture."""
    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    chunks = [(b"IHDR", head), *extra, (b"IDAT", data), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )


def corners(orientation: int, size: tuple[int, int] = (96, 64)) -> bytes:
    """A photo stored with a colour in each corner, which says how it is to be turned."""
    picture = plain(size, WHITE)
    width, height = size
    for colour, at in ((RED, (0, 0)), (GREEN, (width - 32, 0)), (BLUE, (0, height - 32))):
        picture.paste(colour, (*at, at[0] + 32, at[1] + 32))
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    return encoded(picture, exif=exif.tobytes(), quality=95)


def swapped_profile() -> bytes:
    """A colour profile in which red and green have changed places: that of sRGB with two tags renamed."""
    kept = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return kept.replace(b"rXYZ", b"tXYZ", 1).replace(b"gXYZ", b"rXYZ", 1).replace(b"tXYZ", b"gXYZ", 1)


def segments_of(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """The marker and body of every segment of a JPEG, read by hand (ITU-T T.81, annex B).

    Fails unless the file is nothing but one picture, from its first byte to its last.
    """
    assert jpeg[:2] == b"\xff\xd8", "no start of image"
    at = 2
    while jpeg[at : at + 2] != b"\xff\xd9":
        assert jpeg[at] == 0xFF, f"no marker at {at}"
        marker, length = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4], "big")
        yield marker, jpeg[at + 4 : at + 2 + length]
        at += 2 + length
        if marker == 0xDA:  # coded data follows, in which 0xFF stands only before 0 and restart markers
            while not (jpeg[at] == 0xFF and jpeg[at + 1] != 0 and not 0xD0 <= jpeg[at + 1] <= 0xD7):
                at += 1
    assert at + 2 == len(jpeg), "something is hidden behind the picture"
