"""A folder of published files: what is written, left, removed and refused, and what is never touched."""

from collections.abc import Callable
from pathlib import Path

import pytest

from shop.outside.publishing import MARK, UNFINISHED, PublishFault, publish_files
from tests.outside.small_disk import small_disk

FIRST = {"robots.txt": b"no", "rod/abc/index.html": b"news", "rod/abc/photos/7.jpg": b"picture"}


def readers(files: dict[str, bytes]) -> dict[str, Callable[[], bytes]]:
    return {path: lambda said=said: said for path, said in files.items()}  # type: ignore[misc]


def held(folder: Path) -> dict[str, bytes]:
    """Every file in a folder by relative path, the mark left out."""
    files = [path for path in folder.rglob("*") if path.is_file() and path.name != MARK]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "out" / "site"


def test_what_changed_is_written_and_what_ended_is_removed(folder: Path) -> None:
    assert publish_files(folder, readers(FIRST)) == (3, 0, 0)
    assert held(folder) == FIRST
    stood = {path: path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()}
    assert publish_files(folder, readers(FIRST)) == (0, 3, 0)
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()} == stood
    second = {"robots.txt": b"no", "rod/def/index.html": b"other"}
    assert publish_files(folder, readers(second)) == (1, 1, 2)
    assert held(folder) == second
    assert not (folder / "rod" / "abc").exists()
    changed = {**second, "rod/def/index.html": b"newer"}
    assert publish_files(folder, readers(changed)) == (1, 1, 0)
    assert held(folder) == changed


def test_the_mark_names_no_address(folder: Path) -> None:
    publish_files(folder, readers({"rod/secret-token/index.html": b"news"}))
    assert "secret" not in (folder / MARK).read_text()


def test_what_others_put_there_is_never_touched(folder: Path, tmp_path: Path) -> None:
    publish_files(folder, readers(FIRST))
    theirs = {"about.html": b"us", "rod/abc/photos/cat.jpg": b"cat", f"rod/x{UNFINISHED}": b"odd"}
    for path, said in theirs.items():
        (folder / path).write_bytes(said)
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "robots.txt").write_bytes(b"theirs")
    (folder / "linked").symlink_to(tmp_path / "elsewhere")
    assert publish_files(folder, readers({})) == (0, 0, 3)
    assert held(folder) == theirs
    assert (tmp_path / "elsewhere" / "robots.txt").read_bytes() == b"theirs"


def refuse_other_files(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "letter.txt").write_text("mine")


def refuse_other_mark(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / MARK).write_text("somebody else's\n")


def refuse_file(folder: Path) -> None:
    folder.parent.mkdir(parents=True)
    folder.write_text("a file")


def refuse_taken(folder: Path) -> None:
    publish_files(folder, readers({}))
    (folder / "robots.txt").write_text("theirs")


def refuse_link_at_place(folder: Path) -> None:
    publish_files(folder, readers({}))
    (folder / "robots.txt").symlink_to(folder.parent / "away.txt")


def refuse_link_on_way(folder: Path) -> None:
    publish_files(folder, readers({}))
    (folder.parent / "away").mkdir()
    (folder / "rod").symlink_to(folder.parent / "away")


def refuse_folder_at_place(folder: Path) -> None:
    publish_files(folder, readers({}))
    (folder / "robots.txt").mkdir()


@pytest.mark.parametrize(
    "make",
    [
        refuse_other_files, refuse_other_mark, refuse_file, refuse_taken, refuse_link_at_place,
        refuse_link_on_way, refuse_folder_at_place,
    ],
)  # fmt: skip
def test_a_folder_that_is_not_ours_is_left_as_it_is(folder: Path, make: Callable[[Path], None]) -> None:
    make(folder)
    before = sorted((path, path.is_file() and path.read_bytes()) for path in folder.parent.rglob("*"))
    with pytest.raises(PublishFault):
        publish_files(folder, readers(FIRST))
    after = sorted((path, path.is_file() and path.read_bytes()) for path in folder.parent.rglob("*"))
    assert after == before


def test_after_a_crash_what_was_written_is_still_ours(folder: Path) -> None:
    def broken() -> bytes:
        raise OSError("gone")

    with pytest.raises(OSError, match="gone"):
        publish_files(folder, {**readers(FIRST), "rod/def/index.html": broken})
    (folder / "rod" / "abc" / f"index.html{UNFINISHED}").write_bytes(b"half")
    assert held(folder).keys() > FIRST.keys()
    assert publish_files(folder, readers({**FIRST, "robots.txt": b"yes"})) == (1, 2, 0)
    assert held(folder) == {**FIRST, "robots.txt": b"yes"}
    assert publish_files(folder, readers({})) == (0, 0, 3)


def test_an_ended_page_is_gone_even_if_the_disk_is_full(folder: Path) -> None:
    publish_files(folder, readers(FIRST))
    new = {"robots.txt": b"no", "rod/def/index.html": b"x" * 5000}
    with small_disk(1000), pytest.raises(OSError, match="large"):
        publish_files(folder, readers(new))
    assert not (folder / "rod" / "abc").exists()
    assert not (folder / "rod" / "def" / "index.html").exists()
    assert publish_files(folder, readers(new)) == (1, 1, 0)
    assert held(folder) == new
