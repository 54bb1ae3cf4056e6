"""The folder of photos: whole files or none, for the shop's own eyes, and nothing left that no row knows."""

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from shop.outside.photo_files import PhotoFolder, PhotoFolderFault
from tests.outside.small_disk import small_disk

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
JPEGS = {320: b"small", 1280: b"large" * 100}


@pytest.fixture
def folder(tmp_path: Path) -> PhotoFolder:
    return PhotoFolder(tmp_path)


def files(tmp_path: Path) -> list[str]:
    return sorted(path.name for path in tmp_path.rglob("*") if path.is_file())


def test_a_photo_is_stored_for_its_owner_alone_read_and_deleted(folder: PhotoFolder, tmp_path: Path) -> None:
    name, other = folder.put(JPEGS), folder.put(JPEGS)
    assert name != other
    assert {size: folder.read(name, size) for size in JPEGS} == JPEGS
    path = folder.path_of(name, 320)
    assert path == tmp_path / "photos" / name[:2] / f"{name}-320.jpg"
    assert [oct(part.stat().st_mode)[-3:] for part in (path, path.parent, path.parent.parent)] == [
        "600", "700", "700",
    ]  # fmt: skip
    folder.delete(name)
    assert folder.read(name, 320) is None
    assert files(tmp_path) == [f"{other}-1280.jpg", f"{other}-320.jpg"]
    folder.delete(name)
    folder.delete("f" * 32)


def test_a_full_disk_leaves_nothing_half_done(folder: PhotoFolder, tmp_path: Path) -> None:
    with small_disk(300), pytest.raises(PhotoFolderFault) as refused:
        folder.put(JPEGS)
    assert "could not be stored (file too large), so nothing was kept" in str(refused.value)
    assert files(tmp_path) == []


def test_a_folder_that_cannot_be_made(folder: PhotoFolder, tmp_path: Path) -> None:
    (tmp_path / "photos").write_text("in its place")
    with pytest.raises(PhotoFolderFault) as refused:
        folder.put(JPEGS)
    assert "so nothing was kept" in str(refused.value)
    assert folder.read("f" * 32, 320) is None
    folder.delete("f" * 32)


def aged(path: Path, **ago: float) -> None:
    at = (NOW - timedelta(**ago)).timestamp()
    os.utime(path, (at, at))


def test_files_that_no_row_knows_are_cleared_away_unless_they_are_young(
    folder: PhotoFolder, tmp_path: Path
) -> None:
    known, young, _unknown = (folder.put(JPEGS) for _ in range(3))
    part = folder.path_of(known, 320).with_suffix(".part")
    ours = tmp_path / "photos" / known[:2] / "notes.txt"
    for path in (part, ours):
        path.write_bytes(b"begun")
    for path in (tmp_path / "photos").rglob("*.*"):
        aged(path, hours=2)
    for size in JPEGS:
        aged(folder.path_of(young, size), minutes=59)
    assert folder.clear_orphans({known}, NOW) == 3
    assert files(tmp_path) == sorted(
        [f"{name}-{size}.jpg" for name in (known, young) for size in JPEGS] + ["notes.txt"]
    )
    assert PhotoFolder(tmp_path / "nowhere").clear_orphans((), NOW) == 0
