"""The folder where photos lie, as JPEGs under random names: `photos/ab/abcdef…-1280.jpg`.

A file lies there whole or not at all, and before its row is committed; what was left behind by a crash
between the two is cleared away afterwards. Which photo is whose is on record, not here.
"""

import logging
import os
import re
import secrets
from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

LOG = logging.getLogger("tackfree")
NAME_BYTES = 16
# A younger file may belong to a row that another process is about to commit.
LEFT_ALONE = timedelta(hours=1)
UNFINISHED = ".part"
_FILE = re.compile(r"([0-9a-f]{32})-\d+\.jpg")


class PhotoFolderFault(OSError):
    """The folder takes no photo just now, as when the disk is full. The text is a sentence."""


def fault_of(fault: OSError) -> PhotoFolderFault:
    """What keeps a photo from being stored, as a sentence."""
    reason = (fault.strerror or "no reason given").lower()
    return PhotoFolderFault(
        f"The photo could not be stored ({reason}), so nothing was kept; tell whoever looks after the shop's "
        "computer, then send it again."
    )


class PhotoFolder:
    """The photos of one data folder. Safe to share between threads and processes."""

    def __init__(self, data: Path) -> None:
        self._root = data / "photos"

    def path_of(self, name: str, size: int) -> Path:
        """Where a size of a photo lies, or would."""
        return self._root / name[:2] / f"{name}-{size}.jpg"

    def read(self, name: str, size: int) -> bytes | None:
        """A size of a photo, or none where its file is missing or cannot be read."""
        try:
            return self.path_of(name, size).read_bytes()
        except OSError as fault:
            LOG.warning("a photo's file is missing: %s", fault)
            return None

    def put(self, jpegs: Mapping[int, bytes]) -> str:
        """Store a photo in its sizes; gives its new name.

        All of it is on the disk when this returns. Raises `PhotoFolderFault`, with nothing left behind.
        """
        name = secrets.token_hex(NAME_BYTES)
        try:
            for size, jpeg in jpegs.items():
                self._put(self.path_of(name, size), jpeg)
        except OSError as fault:
            with suppress(OSError):  # what stays is cleared away at a later start
                self.delete(name)
            raise fault_of(fault) from fault
        return name

    def _put(self, path: Path, jpeg: bytes) -> None:
        for folder in (self._root, path.parent):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        part = path.with_suffix(UNFINISHED)
        part.touch(mode=0o600, exist_ok=False)
        with part.open("wb") as file:
            file.write(jpeg)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
        _sync_folder(path.parent)

    def delete(self, name: str) -> None:
        """Delete every size of a photo, and what was begun of one. Raises `OSError`."""
        with suppress(FileNotFoundError, NotADirectoryError):
            for path in list((self._root / name[:2]).iterdir()):
                if path.name.startswith(f"{name}-"):
                    path.unlink(missing_ok=True)

    def files_of(self, name: str) -> list[Path]:
        """The files of every size of a photo, in order; none where they are missing."""
        return sorted(self._root.glob(f"{name[:2]}/{name}-*.jpg"))

    def put_back(self, file_name: str, jpeg: bytes) -> None:
        """Lay down a file that came out of such a folder, under its own name. Raises `OSError`."""
        path = self._root / file_name[:2] / file_name
        # Left by an earlier try that was killed: the name is no new one, so it is the same here.
        path.with_suffix(UNFINISHED).unlink(missing_ok=True)
        self._put(path, jpeg)

    def clear_orphans(self, known: Collection[str], now: datetime) -> int:
        """Delete the files of every photo but the known ones; gives how many files went.

        Files of the last hour stay. Raises `OSError`.
        """
        last = (now - LEFT_ALONE).timestamp()
        gone = 0
        for path in list(self._files()):
            found = _FILE.fullmatch(path.name)
            if (found is None or found[1] not in known) and path.stat().st_mtime < last:
                path.unlink(missing_ok=True)
                gone += 1
        return gone

    def _files(self) -> Iterator[Path]:
        """Every file that we made, unfinished ones included."""
        for path in self._root.glob("[0-9a-f][0-9a-f]/*"):
            if path.suffix in (".jpg", UNFINISHED):
                yield path


def photo_of(file_name: str) -> str | None:
    """The name of the photo that a file is a size of; none where it is no file of ours."""
    found = _FILE.fullmatch(file_name)
    return found[1] if found else None


def _sync_folder(folder: Path) -> None:
    """Have the folder's entry of a new file on the disk too, where a folder can be opened for that."""
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
