"""A photo made anew: decoded, turned upright, brought to sRGB and written as plain JPEGs, by pillow.

Only pixels survive: what is kept is our own encoding of them, without position, camera, preview, comment,
colour profile or anything that was hidden behind the picture.

A decoder is handed whatever somebody sends, so this also runs as a program of its own, which
`shop.outside.photo_process` starts for each photo: a file that breaks it breaks nothing else. It therefore
imports nothing of ours. It is given the long edges as arguments and the file as standard input, and writes
one line of JSON to standard output: `{"refused": sentence}`, or `{"width", "height", "bytes": [n, …]}` with
the JPEGs behind it, one after another in the order of the arguments.
"""

import io
import json
import sys
import warnings
from collections.abc import Sequence
from typing import IO, Any, NamedTuple

from PIL import Image, ImageCms, UnidentifiedImageError

if sys.platform == "linux":
    import resource

# The camera of a phone gives 12 to 50 million pixels.
MOST_PIXELS = 64_000_000
# Only a JPEG can be decoded at a part of its size; of others every pixel takes up to sixteen bytes meanwhile.
MOST_PIXELS_WHOLE = 24_000_000
MOST_MEMORY_BYTES = 1_000_000_000
MOST_CPU_SECONDS = 30
FORMATS = ("JPEG", "PNG", "WEBP")
# Some phones put two pictures into one file, which is then called by another name.
JPEGS = ("JPEG", "MPO")
QUALITY = 82
HEAD_BYTES = 64

EMPTY = "The file is empty; please choose the photo again."
TOO_MANY_PIXELS = (
    f"The photo has more than {MOST_PIXELS // 1_000_000} million pixels; please send a smaller one."
)
TOO_MANY_WHOLE = (
    f"A PNG or WebP has at most {MOST_PIXELS_WHOLE // 1_000_000} million pixels; please send this photo as a "
    "JPEG, or a smaller one."
)
BROKEN = "The photo is damaged or was not sent to its end; please choose it again, or take another one."
HEIC = (
    "This is a HEIC photo, which cannot be read here; set the phone's camera to its most compatible format, "
    "JPEG, or send the photo as a JPEG."
)
OTHER = "This is {what}, not a photo; please send a JPEG, PNG or WebP."
UNKNOWN = "a file of another kind"
OUR_BEGINNINGS = (b"\xff\xd8", b"\x89PNG", b"RIFF")
# What files begin with that are sent by mistake, or on purpose.
BEGINNINGS = (
    (b"%PDF", "a PDF"), (b"GIF8", "a GIF"), (b"BM", "a BMP picture"), (b"II*\x00", "a TIFF or raw picture"),
    (b"MM\x00*", "a TIFF or raw picture"), (b"PK\x03\x04", "a ZIP file"), (b"\x1aE\xdf\xa3", "a film"),
    (b"<svg", "an SVG drawing"), (b"<?xml", "an SVG drawing"), (b"<", "a web page"),
)  # fmt: skip
# The same for the family of ISO/IEC 14496-12: the brand behind `ftyp`.
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
BRANDS = {b"avif": "an AVIF picture", b"avis": "an AVIF picture"}
# EXIF's orientation (tag 274): how the stored picture is turned to stand upright.
ORIENTATION = 274
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_270, 7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}  # fmt: skip

# Above this pillow warns, and above twice this it refuses; both are refusals here.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS


class NoPhoto(ValueError):
    """The file is not taken. The text is a sentence for whoever sent it."""


class Made(NamedTuple):
    """A photo in its sizes, in the order of the long edges asked for; `width` and `height` of the last."""

    width: int
    height: int
    jpegs: tuple[bytes, ...]


def make_photo(file: IO[bytes], long_edges: Sequence[int]) -> Made:
    """Make a photo anew in each of the sizes, whose longer sides have at most so many pixels, ascending.

    None is enlarged. Of a file that moves, the first picture counts. Raises `NoPhoto`, and
    `MemoryError` for what takes more than there is.
    """
    head = file.read(HEAD_BYTES)
    file.seek(0)
    if not head:
        raise NoPhoto(EMPTY)
    try:
        picture = _decoded(file, max(long_edges))
    except UnidentifiedImageError as fault:
        raise NoPhoto(_what_it_is(head)) from fault
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as fault:
        raise NoPhoto(TOO_MANY_PIXELS) from fault
    except (NoPhoto, MemoryError):
        raise
    # A hostile file makes the decoders raise whatever it likes; all of it means that there is no picture.
    except Exception as fault:
        raise NoPhoto(BROKEN) from fault
    sizes = [_within(picture, edge) for edge in long_edges]
    return Made(*sizes[-1].size, tuple(_jpeg(size) for size in sizes))


def _what_it_is(head: bytes) -> str:
    """Why a file that no decoder knows is refused, by how it begins."""
    if head.startswith(OUR_BEGINNINGS):
        return BROKEN
    if head[4:8] == b"ftyp":
        brand = head[8:12]
        return HEIC if brand in HEIC_BRANDS else OTHER.format(what=BRANDS.get(brand, "a film"))
    begins = head.removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    what = next((words for magic, words in BEGINNINGS if begins.startswith(magic.lower())), UNKNOWN)
    return OTHER.format(what=what)


def _decoded(file: IO[bytes], edge: int) -> Image.Image:
    """The first picture of a file, upright, in sRGB, with a longer side of at most `edge` pixels."""
    with warnings.catch_warnings():
        # Pillow grumbles about metadata that it cannot read; none of that is wanted.
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(file, formats=FORMATS) as opened:
            if opened.format not in JPEGS and opened.width * opened.height > MOST_PIXELS_WHOLE:
                raise NoPhoto(TOO_MANY_WHOLE)
            turn = TURNS.get(_orientation(opened))
            profile = opened.info.get("icc_profile")
            # Only a JPEG heeds this: it can be decoded at a half, a quarter or an eighth of its size.
            opened.draft(None, (2 * edge, 2 * edge))
            opened.load()
            picture = _smoothly_scaled(opened)
            picture = _in_srgb(_on_white(_within(picture, edge)), profile)
    upright = picture if turn is None else picture.transpose(turn)
    # Through bare bytes, so that nothing that hangs on the picture comes along.
    return Image.frombytes("RGB", upright.size, upright.tobytes())


def _orientation(opened: Image.Image) -> int:
    """EXIF's orientation; as stored where the metadata cannot be read.

    A viewer shows such a picture too, so broken metadata is no reason to refuse it.
    """
    try:
        return int(opened.getexif().get(ORIENTATION, 1))
    except Exception:
        return 1


def _smoothly_scaled(opened: Image.Image) -> Image.Image:
    """The picture in a mode that can be scaled: no palette, no bare bits, no 16 bits a channel."""
    if opened.mode.startswith("I"):
        # Converted plainly, everything above the lowest 8 bits would be cut off as white.
        return opened.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if opened.has_transparency_data:
        return opened if opened.mode == "RGBA" else opened.convert("RGBA")
    if opened.mode in ("L", "RGB", "CMYK"):
        return opened
    return opened.convert("L" if opened.mode == "1" else "RGB")


def _on_white(picture: Image.Image) -> Image.Image:
    """The picture with white paper behind whatever is see-through."""
    if picture.mode != "RGBA":
        return picture
    paper = Image.new("RGB", picture.size, "white")
    paper.paste(picture, mask=picture.getchannel("A"))
    return paper


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """The picture's colours in sRGB; taken for sRGB where its profile is none or cannot be used."""
    if profile:
        try:
            given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            made = ImageCms.profileToProfile(picture, given, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except (ImageCms.PyCMSError, OSError):
            made = None
        if made is not None:
            return made
    return picture.convert("RGB")


def _within(picture: Image.Image, edge: int) -> Image.Image:
    longer = max(picture.size)
    if longer <= edge:
        return picture
    width, height = (max(1, round(side * edge / longer)) for side in picture.size)
    return picture.resize((width, height), Image.Resampling.LANCZOS, reducing_gap=3.0)


def _jpeg(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return out.getvalue()


def main() -> None:
    """Make the photo on standard input, within fixed memory and time.

    Elsewhere than on Linux only time is limited, by whoever starts the program.
    """
    if sys.platform == "linux":
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_SECONDS, MOST_CPU_SECONDS))
    said: dict[str, Any]
    jpegs: tuple[bytes, ...] = ()
    try:
        width, height, jpegs = make_photo(sys.stdin.buffer, [int(edge) for edge in sys.argv[1:]])
        said = {"width": width, "height": height, "bytes": [len(jpeg) for jpeg in jpegs]}
    except NoPhoto as refused:
        said = {"refused": str(refused)}
        # For the server's log; whoever sent the photo is told the sentence.
        sys.stderr.write(f"{refused.__cause__!r}\n")
    sys.stdout.buffer.write(json.dumps(said).encode() + b"\n" + b"".join(jpegs))


if __name__ == "__main__":
    main()
