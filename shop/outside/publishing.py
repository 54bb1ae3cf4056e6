"""A folder of plain files for any static web host: only what changed is written, only what is ours removed.

The folder carries a mark: a hidden file that lists what we put there, by hash alone, so that it gives away no
private address to whoever reads it. What each file says is left to the caller.
"""

import hashlib
import os
import sys
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

if sys.platform != "win32":
    import fcntl

MARK = ".tackfree-published"
HEAD = "put here by tackfree publish; without this file nothing more is written here"
UNFINISHED = ".tackfree-part"


class PublishFault(Exception):
    """The folder cannot be published to; its text is the sentence that says why. Nothing was changed."""


class Published(NamedTuple):
    """How many files were written, were there already as they should be, and were removed."""

    written: int
    unchanged: int
    removed: int


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Keep others from publishing to a folder for as long as the block lasts; it is made if need be.

    Of two at once, the one that gathered its files first might put an ended page back behind the other.
    Raises `PublishFault` where somebody is at it, or for a folder that is somebody else's; and `OSError`.
    """
    _read_mark(folder)
    folder.mkdir(parents=True, exist_ok=True)
    if sys.platform == "win32":
        yield
        return
    at = os.open(folder, os.O_RDONLY)
    try:
        _lock(at, folder)
        yield
    finally:
        os.close(at)


def _lock(at: int, folder: Path) -> None:
    try:
        fcntl.flock(at, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as taken:
        raise PublishFault(f"Somebody is publishing to {folder} just now; nothing was written.") from taken


def publish_files(folder: Path, files: Mapping[str, Callable[[], bytes]]) -> Published:
    """Bring a folder to hold exactly these files of ours, by relative path, beside whatever else lies in it.

    Each file is there whole or not at all; what is no longer wanted goes first, so that an ended page is gone
    even if the disk is full. Raises `PublishFault` with nothing changed, for a folder with other files in it
    and no mark of ours, or where one of our paths is taken; and `OSError`.
    """
    ours = _read_mark(folder)
    _check_places(folder, files, ours)
    folder.mkdir(parents=True, exist_ok=True)
    # Claimed before anything is written: after a crash, what was written is still known to be ours.
    _write_mark(folder, ours | {_print_of(path) for path in files})
    removed = _remove_others(folder, files, ours)
    written = sum(_put(folder / path, read()) for path, read in files.items())
    _write_mark(folder, {_print_of(path) for path in files})
    return Published(written, len(files) - written, removed)


def _print_of(path: str) -> str:
    return hashlib.sha256(path.encode()).hexdigest()


def _read_mark(folder: Path) -> frozenset[str]:
    """The prints of what we put into a folder. Raises `PublishFault` for one that is somebody else's."""
    if not folder.exists():
        return frozenset()
    if not folder.is_dir():
        raise PublishFault(f"{folder} is not a folder.")
    mark = folder / MARK
    if mark.is_file() and not mark.is_symlink():
        head, *prints = mark.read_text(encoding="utf-8", errors="replace").splitlines() or [""]
        if head == HEAD:
            return frozenset(prints)
    elif not any(folder.iterdir()):
        return frozenset()
    raise PublishFault(
        f"{folder} has files in it that tackfree did not put there, so nothing was written; name an empty "
        "folder."
    )


def _check_places(folder: Path, files: Collection[str], ours: frozenset[str]) -> None:
    """Raises `PublishFault` where something that is not ours stands at one of our paths, or on the way."""
    ways = {way for path in files for way in (folder / path).relative_to(folder).parents}
    for way in ways:
        at = folder / way
        if way != Path() and (at.is_symlink() or (at.exists() and not at.is_dir())):
            raise PublishFault(f"{at} is not a folder of ours; take it away, or name another folder.")
    for path in files:
        at = folder / path
        is_taken = at.is_symlink() or (at.exists() and (not at.is_file() or _print_of(path) not in ours))
        if is_taken:
            raise PublishFault(f"{at} is not ours and is in the way; nothing was written.")


def _write_mark(folder: Path, prints: Collection[str]) -> None:
    _put(folder / MARK, "".join(f"{line}\n" for line in (HEAD, *sorted(prints))).encode())


def _put(path: Path, content: bytes) -> bool:
    """Put a file where it belongs, unless it is there already; says whether it was written."""
    with suppress(FileNotFoundError):
        if path.read_bytes() == content:
            return False
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + UNFINISHED)
    # Not waited for until it is on the disk: what a power cut takes is written again the next time.
    part.write_bytes(content)
    part.replace(path)
    return True


def _remove_others(folder: Path, files: Collection[str], ours: frozenset[str]) -> int:
    """Remove what was ours and is no longer wanted, and folders that are empty then; gives how many files."""
    removed = 0
    for path in list(_files_in(folder)):
        rest = path.removesuffix(UNFINISHED)
        is_ours = _print_of(rest) in ours
        if is_ours and (rest != path or path not in files):
            (folder / path).unlink()
            removed += rest == path
            _remove_empty(folder, (folder / path).parent)
    return removed


def _files_in(folder: Path) -> Iterator[str]:
    """The relative path of every file below a folder, with `/` between its parts; links are not followed."""
    for where, _, names in os.walk(folder):
        for name in names:
            yield (Path(where) / name).relative_to(folder).as_posix()


def _remove_empty(folder: Path, inner: Path) -> None:
    with suppress(OSError):  # it has something else in it, which stays
        while inner != folder:
            inner.rmdir()
            inner = inner.parent
