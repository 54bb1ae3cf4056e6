"""A photo made by a process of its own: the same photo, and a file that breaks it breaks nothing else."""

import io
import re
import subprocess
import sys
import tempfile
import zlib
from pathlib import Path

import pytest

from shop.outside import photo_process
from shop.outside.photo_process import PROGRAM, SIZES, TOO_HEAVY, PhotoRefused, make_photo_apart
from shop.outside.photos import HEIC, make_photo
from tests.house import tree
from tests.outside.photo_samples import phone_jpeg, png

CRASHES = "import os\nos.abort()\n"
EATS = (
    "import resource\nresource.setrlimit(resource.RLIMIT_AS, (2 * 10**8, 2 * 10**8))\nb = bytearray(10**9)\n"
)
# Runs the program given and says afterwards how much memory it took at most, in kB.
MEASURED = """
import pathlib, runpy, sys
sys.argv = sys.argv[1:]
runpy.run_path(sys.argv[0], run_name="__main__")
line = next(l for l in pathlib.Path("/proc/self/status").read_text().splitlines() if l.startswith("VmHWM"))
sys.stderr.write(line)
"""


def test_it_is_the_same_photo_and_the_file_may_have_been_read_before() -> None:
    sent = phone_jpeg((1500, 700))
    # As an upload lies there: in memory until somebody asks for its descriptor.
    with tempfile.SpooledTemporaryFile(max_size=10_000_000) as file:
        file.write(sent)
        made = make_photo_apart(file)
    there = make_photo(io.BytesIO(sent), SIZES)
    assert (made.width, made.height) == (there.width, there.height) == (1280, 597)
    assert made.jpegs == dict(zip(SIZES, there.jpegs, strict=True))
    assert made.size_bytes == sum(map(len, there.jpegs))


def test_its_refusals_come_through(tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    path.write_bytes(b"\0\0\0\x18ftypheic" + b"\0" * 100)
    with path.open("rb") as file, pytest.raises(PhotoRefused) as refused:
        make_photo_apart(file)
    assert str(refused.value) == HEIC


@pytest.mark.parametrize("program", [CRASHES, EATS], ids=["crashes", "eats memory"])
def test_a_decoder_that_breaks_takes_nothing_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, program: str
) -> None:
    (tmp_path / "photos.py").write_text(program)
    monkeypatch.setattr(photo_process, "PROGRAM", tmp_path / "photos.py")
    with (tmp_path / "photos.py").open("rb") as file, pytest.raises(PhotoRefused) as refused:
        make_photo_apart(file)
    assert str(refused.value) == TOO_HEAVY


def test_a_decoder_that_hangs_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "photos.py").write_text("import time\ntime.sleep(60)\n")
    monkeypatch.setattr(photo_process, "PROGRAM", tmp_path / "photos.py")
    monkeypatch.setattr(photo_process, "MOST_SECONDS", 0.2)
    with (tmp_path / "photos.py").open("rb") as file, pytest.raises(PhotoRefused) as refused:
        make_photo_apart(file)
    assert str(refused.value) == TOO_HEAVY


def test_a_small_file_that_swells_takes_no_memory(tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.png"
    swelling = zlib.compressobj(1)
    data = b"".join(swelling.compress(b"\0" * 10_000_000) for _ in range(20)) + swelling.flush()
    bomb.write_bytes(png(100, 100, 8, 2, data))
    command = [sys.executable, "-I", "-c", MEASURED, str(PROGRAM), *map(str, SIZES)]
    with bomb.open("rb") as file:
        done = subprocess.run(command, stdin=file, capture_output=True, check=True)
    assert done.stdout.startswith(b'{"width": 100, "height": 100')
    assert int(done.stderr.split()[-2]) < 60_000  # kB, of 200 MB that the file swells to
    assert bomb.stat().st_size < 1_000_000


def test_the_server_itself_never_loads_the_decoders() -> None:
    loading = (
        r"^(from|import) PIL\b|^(from|import) shop\.outside\.photos\b|^from shop\.outside import .*\bphotos\b"
    )
    found = {m.name for m in tree.modules("shop", "seed_demo") if re.search(loading, m.source, re.MULTILINE)}
    assert found == {"shop.outside.photos"}
