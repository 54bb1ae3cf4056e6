"""A photo made anew: only pixels survive, they are the right ones, and a hostile file is refused in words."""

import io
import struct
import zlib

import pytest
from PIL import Image

from shop.outside.photos import (
    BROKEN,
    EMPTY,
    HEIC,
    MOST_PIXELS,
    TOO_MANY_PIXELS,
    TOO_MANY_WHOLE,
    Made,
    NoPhoto,
    make_photo,
)
from tests.outside.photo_samples import (
    BLUE,
    GREEN,
    RED,
    SECRETS,
    WHITE,
    corners,
    encoded,
    phone_jpeg,
    plain,
    png,
    segments_of,
    swapped_profile,
)

SIZES = (320, 1280)
Colour = tuple[int, ...]


def made(body: bytes) -> Made:
    return make_photo(io.BytesIO(body), SIZES)


def picture(body: bytes) -> Image.Image:
    """The largest size of what is kept, decoded."""
    return Image.open(io.BytesIO(made(body).jpegs[-1]))


def is_about(seen: object, meant: Colour) -> bool:
    """Whether a colour is what was meant, as nearly as a JPEG keeps it."""
    assert isinstance(seen, tuple)
    return all(abs(a - b) <= 12 for a, b in zip(seen, meant, strict=True))


def test_of_all_that_a_camera_writes_only_the_picture_is_kept() -> None:
    sent = phone_jpeg((1600, 1200))
    assert all(secret in sent for secret in SECRETS)
    for jpeg in made(sent).jpegs:
        kept = list(segments_of(jpeg))
        heads = [(marker, body[:5]) for marker, body in kept if 0xE0 <= marker <= 0xEF or marker == 0xFE]
        assert heads == [(0xE0, b"JFIF\0")]
        # No preview hides in the one head there is.
        assert kept[0][1][12:14] == b"\0\0"
        assert [secret for secret in SECRETS if secret in jpeg] == []


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ((4000, 3000), [(320, 240), (1280, 960)]),
        ((600, 1600), [(120, 320), (480, 1280)]),
        ((1280, 1280), [(320, 320), (1280, 1280)]),
        ((321, 40), [(320, 40), (321, 40)]),
        ((20, 10), [(20, 10), (20, 10)]),
        ((4000, 1), [(320, 1), (1280, 1)]),
    ],
)
def test_the_sizes(sent: tuple[int, int], kept: list[tuple[int, int]]) -> None:
    result = made(encoded(plain(sent)))
    assert [Image.open(io.BytesIO(jpeg)).size for jpeg in result.jpegs] == kept
    assert (result.width, result.height) == kept[-1]


@pytest.mark.parametrize(
    ("orientation", "upright"),
    [
        # What is seen top left, top right, bottom left and bottom right (EXIF 2.32, table of tag 274).
        (1, (RED, GREEN, BLUE, WHITE)),
        (2, (GREEN, RED, WHITE, BLUE)),
        (3, (WHITE, BLUE, GREEN, RED)),
        (4, (BLUE, WHITE, RED, GREEN)),
        (5, (RED, BLUE, GREEN, WHITE)),
        (6, (BLUE, RED, WHITE, GREEN)),
        (7, (WHITE, GREEN, BLUE, RED)),
        (8, (GREEN, WHITE, RED, BLUE)),
        (9, (RED, GREEN, BLUE, WHITE)),
    ],
)
def test_a_photo_stands_upright_however_the_camera_was_held(
    orientation: int, upright: tuple[Colour, ...]
) -> None:
    seen = picture(corners(orientation))
    assert seen.size == ((64, 96) if 5 <= orientation <= 8 else (96, 64))
    right, bottom = seen.width - 8, seen.height - 8
    for at, colour in zip([(8, 8), (right, 8), (8, bottom), (right, bottom)], upright, strict=True):
        assert is_about(seen.getpixel(at), colour), at


def grey16() -> bytes:
    """One grey in the middle of 65,536."""
    row = b"\0" + struct.pack(">H", 32768) * 40
    return png(40, 30, 16, 0, zlib.compress(row * 30))


def rgb16() -> bytes:
    row = b"\0" + struct.pack(">HHH", *(value * 257 for value in GREEN)) * 40
    return png(40, 30, 16, 2, zlib.compress(row * 30))


def palette_with_hole() -> bytes:
    return encoded(plain((40, 30), (0,), "P"), "PNG", transparency=0)


def moving(kind: str) -> bytes:
    return encoded(plain(), kind, save_all=True, append_images=[plain(colour=BLUE)], duration=100)


@pytest.mark.parametrize(
    ("name", "body", "colour"),
    [
        ("png", encoded(plain(), "PNG"), RED),
        ("webp", encoded(plain(), "WEBP", lossless=True), RED),
        ("grey jpeg", encoded(plain(colour=(90,), mode="L")), (90, 90, 90)),
        ("cmyk jpeg", encoded(plain(colour=(0, 255, 255, 0), mode="CMYK"), quality=95), (255, 0, 0)),
        ("16 bits grey", grey16(), (128, 128, 128)),
        ("16 bits rgb", rgb16(), GREEN),
        ("one bit", encoded(plain(colour=(1,), mode="1"), "PNG"), WHITE),
        ("palette", encoded(plain().quantize(4), "PNG"), RED),
        ("palette with a hole", palette_with_hole(), WHITE),
        ("half see-through", encoded(plain(colour=(0, 0, 0, 128), mode="RGBA"), "PNG"), (127, 127, 127)),
        ("grey see-through", encoded(plain(colour=(0, 0), mode="LA"), "PNG"), WHITE),
        ("moving webp", moving("WEBP"), RED),
        ("moving png", moving("PNG"), RED),
        ("two in one", moving("MPO"), RED),
        ("progressive", encoded(plain(), progressive=True), RED),
        ("another profile", encoded(plain(), icc_profile=swapped_profile()), (200, 200, 0)),
        ("a broken profile", encoded(plain(), icc_profile=b"none"), RED),
        ("a profile of another kind", encoded(plain(colour=(90,), mode="L"), icc_profile=swapped_profile()),
         (90, 90, 90)),
        ("broken metadata", encoded(plain(), exif=b"Exif\0\0II*\0\xff\xff\xff\xff"), RED),
        ("a web page behind it", encoded(plain()) + b"<script>alert(1)</script>", RED),
        ("a comment that is a web page", encoded(plain(), comment=b"<script>alert(1)</script>"), RED),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_whatever_a_photo_was_it_is_plain_red_green_and_blue(name: str, body: bytes, colour: Colour) -> None:
    seen = picture(body)
    assert (seen.format, seen.mode, getattr(seen, "n_frames", 1)) == ("JPEG", "RGB", 1)
    at = seen.getpixel((seen.width // 2, seen.height // 2))
    if name == "another profile":
        # Red that is green: how much of it sRGB can show is the profile's affair, not which of the two it is.
        assert isinstance(at, tuple)
        assert at[1] > 150 > at[0]
    else:
        assert is_about(at, colour)
    kept = made(body).jpegs[-1]
    assert b"<script" not in kept
    assert list(segments_of(kept))


def boxed(brand: bytes) -> bytes:
    return b"\0\0\0\x18ftyp" + brand + b"\0\0\0\0mif1heic" + b"\0" * 100


JPEG, PNG, WEBP = (encoded(plain((200, 150)).effect_spread(40), kind) for kind in ("JPEG", "PNG", "WEBP"))
SMALL = zlib.compress(b"\0" * 310)
ZEROS = zlib.compress(b"\0" * 10_000_000, 9)


@pytest.mark.parametrize(
    ("name", "body", "says"),
    [
        ("nothing", b"", EMPTY),
        ("heic", boxed(b"heic"), HEIC),
        ("heic by its family", boxed(b"mif1"), HEIC),
        ("avif", boxed(b"avif"), "an AVIF picture, not a photo"),
        ("a film", boxed(b"isom"), "a film, not a photo"),
        ("svg", b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', "an SVG drawing"),
        ("svg with its declaration", b"\xef\xbb\xbf\n<?xml version='1.0'?><svg/>", "an SVG drawing"),
        ("a web page", b"<!DOCTYPE html><script>alert(1)</script>", "a web page"),
        ("pdf", b"%PDF-1.7\n", "a PDF"),
        ("gif and script", b"GIF89a/*\0\0\0\0*/=alert(1)", "a GIF"),
        ("a real gif", encoded(plain(), "GIF"), "a GIF"),
        ("bmp", encoded(plain(), "BMP"), "a BMP"),
        ("tiff", encoded(plain(), "TIFF"), "a TIFF or raw picture"),
        ("zip", b"PK\x03\x04" + b"\0" * 50, "a ZIP file"),
        ("a program", b"#!/bin/sh\nrm -rf /\n", "a file of another kind"),
        ("noise", bytes(range(256)) * 8, "a file of another kind"),
        ("a jpeg without its end", JPEG[: len(JPEG) * 2 // 3], BROKEN),
        ("a png without its end", PNG[: len(PNG) * 2 // 3], BROKEN),
        ("a webp without its end", WEBP[: len(WEBP) * 2 // 3], BROKEN),
        ("a jpeg of two bytes", JPEG[:2], BROKEN),
        ("a png without a picture", png(10, 10, 8, 2, b""), BROKEN),
        ("a png of no size", png(0, 0, 8, 2, zlib.compress(b"")), BROKEN),
        ("a vast png", png(50_000, 50_000, 8, 2, zlib.compress(b"\0")), TOO_MANY_PIXELS),
        ("a png just too large", png(8000, MOST_PIXELS // 8000 + 1, 8, 2, ZEROS), TOO_MANY_PIXELS),
        ("a png that a jpeg may be", png(8000, 3001, 8, 2, ZEROS), TOO_MANY_WHOLE),
        ("a long thin png", png(2_000_000_000, 1, 1, 0, zlib.compress(b"\0")), TOO_MANY_PIXELS),
        ("a vast jpeg", JPEG.replace(struct.pack(">HH", 150, 200), struct.pack(">HH", 65_500, 65_500), 1),
         TOO_MANY_PIXELS),
        ("a text that swells", png(10, 10, 8, 2, SMALL, (b"zTXt", b"a\0\0" + ZEROS)), BROKEN),
        ("a profile that swells", png(10, 10, 8, 2, SMALL, (b"iCCP", b"a\0\0" + ZEROS)), BROKEN),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_what_is_no_photo_is_refused_in_words(name: str, body: bytes, says: str) -> None:
    with pytest.raises(NoPhoto) as refused:
        made(body)
    said = str(refused.value)
    assert says in said, name
    assert said.endswith(".")


def test_more_data_than_a_picture_has_is_left_alone() -> None:
    assert made(png(10, 10, 8, 2, ZEROS)).jpegs
