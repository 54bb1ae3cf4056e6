"""`export` and `import everything`: what comes out of a shop and goes into an empty one is the same shop.

Both engines, a folder and a zip file; what is left out is what is named; and every fault is one plain line
that leaves nothing half done.
"""

import csv
import json
import shutil
import signal
import subprocess
import sys
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, inspect, select

import seed_demo
from shop.app import open_hub
from shop.clock import Clock
from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.sessions import Database
from shop.db.tables import METADATA
from shop.outside.export_files import Document
from shop.queries.exports import tables_out
from shop.rules.exports import LEFT_OUT_COLUMNS, LEFT_OUT_TABLES
from shop.services.customers import add_customer
from tests.commands.full_shop import fill_the_rest
from tests.commands.running import Done, assert_refused, run, surroundings
from tests.conftest import Hands, quick_settings
from tests.db.conftest import cluster, postgresql_url  # noqa: F401 - fixtures


@pytest.fixture(scope="module")
def demo(migrated: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of the made-up shop, with something in every table."""
    data = tmp_path_factory.mktemp("demo") / "data"
    shutil.copytree(migrated, data)
    hub = open_hub(quick_settings(data), Clock())
    now = hub.clock.now()
    seed_demo.fill(hub, now)
    with hub.database.writing(now) as session:
        add_customer(session, now=now, name="=1+1", notes='two\nlines, “quoted” "so"; ä 漢 \U0001f3a3')
        fill_the_rest(session, hub.secret, now)
    hub.database.close()
    return data


@pytest.fixture(scope="module")
def exported(demo: Path) -> Path:
    """The made-up shop as a folder of files."""
    out = demo.parent / "out"
    done = run(demo, "export", str(out))
    assert done.status == 0, done
    return out


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_every_table_is_exported_or_named_as_left_out() -> None:
    out = {table.name for table in tables_out()}
    assert out | set(LEFT_OUT_TABLES) == set(METADATA.tables)
    assert out & set(LEFT_OUT_TABLES) == set()
    columns = {(table.name, column.name) for table in METADATA.tables.values() for column in table.columns}
    assert set(LEFT_OUT_COLUMNS) <= columns
    secret = ("hash", "nonce", "token", "secret", "password")
    kept = [
        (table, column)
        for table, column in columns
        if any(word in column for word in secret) and table not in LEFT_OUT_TABLES
    ]
    assert set(kept) <= set(LEFT_OUT_COLUMNS), "a column that may hold a secret goes out"


def test_nothing_that_goes_out_points_at_what_stays() -> None:
    dangling = [
        str(key)
        for table in tables_out()
        for key in table.foreign_keys
        if key.column.table.name in LEFT_OUT_TABLES
    ]
    assert dangling == []


def test_no_secret_is_in_any_file(demo: Path, exported: Path) -> None:
    with closing(Database(f"sqlite:///{demo / 'tackfree.sqlite3'}")) as database:
        secrets = [(demo / "secret.key").read_bytes()]
        with database.reading() as session:
            for table, column in LEFT_OUT_COLUMNS:
                if column != "is_on":
                    values = session.scalars(select(METADATA.tables[table].c[column]))
                    secrets += [value.encode() for value in values]
    assert len(secrets) > 5
    found = [name for name, text in files_of(exported).items() if any(secret in text for secret in secrets)]
    assert found == []
    about = (exported / "README.txt").read_text()
    assert [name for name in LEFT_OUT_TABLES if name not in about] == []
    assert [
        f"{table}.{column}" for table, column in LEFT_OUT_COLUMNS if f"{table}.{column}" not in about
    ] == []


def test_the_csv_files_say_the_same_as_the_document(exported: Path) -> None:
    document = json.loads((exported / "export.json").read_text(encoding="utf-8"))
    assert set(document["tables"]) == {table.name for table in tables_out()}
    assert [name for name, rows in document["tables"].items() if not rows] == [], "nothing of it is tried"
    for name, rows in document["tables"].items():
        with (exported / "csv" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            read = list(csv.DictReader(file, strict=True))
        assert [row["id"] for row in read] == [str(row["id"]) for row in rows], name
    customers = document["tables"]["customers"]
    assert customers[-1]["name"] == "=1+1"
    with (exported / "csv/customers.csv").open(encoding="utf-8", newline="") as file:
        last = list(csv.DictReader(file))[-1]
    assert (last["name"], last["notes"]) == ("'=1+1", customers[-1]["notes"])
    assert last["created_at"].endswith("Z")


def into(data: Path, source: Path, **settings: str) -> None:
    done = run(data, "import", "everything", str(source), **settings)
    assert (done.status, done.err) == (0, ""), done
    assert "Nobody has a password yet" in done.out


def test_an_export_taken_in_is_the_same_shop(exported: Path, tmp_path: Path, demo: Path) -> None:
    data, again, packed = tmp_path / "data", tmp_path / "again", tmp_path / "shop.zip"
    into(data, exported)
    assert run(data, "export", str(again)).status == 0
    assert files_of(again) == files_of(exported)
    assert any(name.startswith("photos/") for name in files_of(again))
    # Once more over a zip file, which holds the same.
    assert run(demo, "export", str(packed)).status == 0
    with zipfile.ZipFile(packed) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == files_of(exported)
    other = tmp_path / "other"
    into(other, packed)
    assert run(other, "export", str(tmp_path / "third")).status == 0
    assert files_of(tmp_path / "third") == files_of(exported)
    assert other.stat().st_mode & 0o077 == 0


def test_it_moves_to_postgresql_and_goes_on_there(
    exported: Path,
    tmp_path: Path,
    postgresql_url: str,  # noqa: F811
    opened_at: Callable[[str], Database],
) -> None:
    data, again = tmp_path / "data", tmp_path / "again"
    wrong = edited(
        exported, tmp_path / "wrong", lambda it: it["tables"]["builds"][-1].update(customer_id=99999)
    )
    refused = run(data, "import", "everything", str(wrong), TACKFREE_DATABASE_URL=postgresql_url)
    assert_refused(refused, "foreign key")
    into(data, exported, TACKFREE_DATABASE_URL=postgresql_url)
    assert run(data, "export", str(again), TACKFREE_DATABASE_URL=postgresql_url).status == 0
    assert files_of(again) == files_of(exported)
    database, now = opened_at(postgresql_url), Hands().wall_at
    with database.reading() as session:
        highest = session.scalar(select(func.max(Customer.id)))
    with database.writing(now) as session:
        assert add_customer(session, now=now, name="Next").id == (highest or 0) + 1


@pytest.fixture
def opened_at() -> Any:
    databases = []

    def open_(url: str) -> Database:
        databases.append(Database(url))
        return databases[-1]

    yield open_
    for database in databases:
        database.close()


def rows_on(data: Path) -> int:
    with (
        closing(Database(f"sqlite:///{data / 'tackfree.sqlite3'}")) as database,
        database.reading() as session,
    ):
        assert inspect(database.engine).get_table_names()
        return session.scalar(select(func.count()).select_from(Build)) or 0


def edited(exported: Path, folder: Path, change: Callable[[dict[str, Any]], object]) -> Path:
    """A copy of the export with its document changed."""
    folder.mkdir()
    document = json.loads((exported / "export.json").read_text(encoding="utf-8"))
    change(document)
    (folder / "export.json").write_text(json.dumps(document), encoding="utf-8")
    return folder


@pytest.fixture
def empty(migrated: Path, tmp_path: Path) -> Path:
    """The data folder of a shop that has nothing on file."""
    data = tmp_path / "data"
    shutil.copytree(migrated, data)
    return data


def test_what_is_no_export_is_refused_and_changes_nothing(
    exported: Path, tmp_path: Path, empty: Path
) -> None:
    whole = (exported / "export.json").read_bytes()
    documents = {
        "cut": (whole[: len(whole) * 3 // 4], "breaks off"),
        "digits": (b'{"tackfree_export": ' + b"9" * 5000, "is not JSON"),
        "after": (whole + b"{}", "Something follows"),
        "none": (None, "export.json"),
    }
    plain = tmp_path / "plain.zip"
    plain.write_bytes(b"not a zip file")
    cases = [(plain, "neither a folder nor a zip"), (tmp_path / "gone", "No such file")]
    for name, (text, said) in documents.items():
        folder = tmp_path / name
        folder.mkdir()
        if text is not None:
            (folder / "export.json").write_bytes(text)
        cases.append((folder, said))
    for source, said in cases:
        assert_refused(run(empty, "import", "everything", str(source)), said)
        assert rows_on(empty) == 0, source


# A table of the document (none for the document itself), what is put into its last row, and what is said.
EDITED: list[tuple[str, dict[str, Any], str]] = [
    ("", {"revision": "0001"}, "version 0001"),
    ("", {"tackfree_export": 9}, "no export of Tackfree"),
    ("builds", {"promised_on": "soon"}, "promised_on cannot be read"),
    ("builds", {"year": "26"}, "the year cannot be read"),
    ("builds", {"year": 2**70}, "the year cannot be read"),
    ("builds", {"title": "\ud800"}, "the title cannot be read"),
    ("builds", {"created_at": "2026-03-02T09:00:00"}, "the created_at cannot be read"),
    ("builds", {"created_at": "0001-01-01T00:00:00+14:00"}, "the created_at cannot be read"),
    ("builds", {"mood": "good"}, "columns"),
    ("builds", {"customer_id": 99999}, "FOREIGN KEY"),
    ("zones", {"assumed_c": float("inf")}, "the assumed_c cannot be read"),
    ("photos", {"name": "../../secret"}, "has the name '../../secret'"),
]


def test_a_document_that_was_changed_is_refused_and_changes_nothing(
    exported: Path, tmp_path: Path, empty: Path
) -> None:
    def change(document: dict[str, Any], table: str, values: dict[str, Any]) -> None:
        (document["tables"][table][-1] if table else document).update(values)

    for number, (table, values, said) in enumerate(EDITED):
        source = edited(exported, tmp_path / str(number), lambda it: change(it, table, values))  # noqa: B023
        assert_refused(run(empty, "import", "everything", str(source)), said)
        assert rows_on(empty) == 0, source
    unknown = edited(exported, tmp_path / "table", lambda it: it["tables"].update(moods=[{"id": 1}]))
    assert_refused(run(empty, "import", "everything", str(unknown)), "moods")
    assert not list(empty.glob("photos/*/*"))


def test_what_a_killed_try_left_of_a_photo_is_in_nobodys_way(exported: Path, tmp_path: Path) -> None:
    photo = sorted(exported.glob("photos/*/*.jpg"))[0].relative_to(exported)
    left = (tmp_path / "data" / photo).with_suffix(".part")
    left.parent.mkdir(parents=True)
    left.write_bytes(b"half a pho")
    into(tmp_path / "data", exported)
    assert (tmp_path / "data" / photo).read_bytes() == (exported / photo).read_bytes()
    assert not left.exists()


def test_a_shop_that_is_not_empty_takes_none_in(exported: Path, demo: Path) -> None:
    assert_refused(run(demo, "import", "everything", str(exported)), "records already", "customers")


def test_a_dry_run_counts_and_changes_nothing(exported: Path, tmp_path: Path) -> None:
    done = run(tmp_path / "data", "import", "everything", str(exported), "--dry-run")
    assert done.status == 0
    assert "builds: " in done.out
    assert done.out.endswith("Nothing was changed.\n")
    assert rows_on(tmp_path / "data") == 0


def test_a_place_that_is_taken_is_refused(demo: Path, tmp_path: Path) -> None:
    full, file = tmp_path / "full", tmp_path / "file.zip"
    full.mkdir()
    (full / "mine.txt").write_text("mine")
    file.write_text("mine")
    for place in (full, file):
        assert_refused(run(demo, "export", str(place)), "is there already")
    assert files_of(tmp_path) == {"full/mine.txt": b"mine", "file.zip": b"mine"}
    assert_refused(run(demo, "export", str(tmp_path / "no" / "such" / "place")), "could not be written")


def test_nobody_is_left_standing_nowhere(demo: Path, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "shop", "export", "."], cwd=tmp_path, env=surroundings(demo, {}),
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert_refused(Done(done.returncode, done.stdout, done.stderr), "You stand in", "name another folder")
    assert list(tmp_path.iterdir()) == []


def test_a_photo_that_is_gone_is_said_and_the_rest_is_written(demo: Path, tmp_path: Path) -> None:
    data, out = tmp_path / "data", tmp_path / "out"
    shutil.copytree(demo, data)
    gone = sorted(data.glob("photos/*/*.jpg"))[0]
    name = gone.name.split("-")[0]
    for path in data.glob(f"photos/*/{name}-*.jpg"):
        path.unlink()
    assert_refused(
        run(data, "export", str(out)), "is written to", "without the files of 1 of its photos", name
    )
    assert (out / "export.json").exists()
    done = run(tmp_path / "new", "import", "everything", str(out))
    assert done.status == 1
    assert "Of 1 of the photos" in done.err


LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
sys.argv[:] = ["tackfree", *sys.argv[1:]]
from shop.__main__ import main
main()
"""


def test_a_disk_that_fills_is_one_line_and_leaves_nothing(demo: Path, tmp_path: Path) -> None:
    for place in ("out", "out.zip"):
        done = subprocess.run(
            [sys.executable, "-c", LIMITED, "export", str(tmp_path / place)],
            env=surroundings(demo, {}), capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 1
        assert done.stderr.count("\n") == 1, done.stderr
        assert "could not be written" in done.stderr
        assert list(tmp_path.iterdir()) == []


def test_a_document_is_read_however_it_is_laid_out(exported: Path, tmp_path: Path) -> None:
    whole = json.loads((exported / "export.json").read_text(encoding="utf-8"))
    expected = [(name, row) for name, rows in whole["tables"].items() for row in rows]
    for number, indent in enumerate((None, 7)):
        path = tmp_path / f"{number}.json"
        path.write_text(json.dumps(whole, indent=indent), encoding="utf-8")
        with path.open("rb") as file:
            document = Document(file)
            assert document.head["revision"] == whole["revision"]
            assert list(document.rows()) == expected


def test_a_signal_half_way_leaves_nothing(demo: Path, tmp_path: Path) -> None:
    """The command stops itself by a signal in the middle of a table, as a person's Ctrl+C would."""
    stopping = f"""
import os, sys
sys.argv[:] = ["tackfree", *sys.argv[1:]]
import shop.commands.exports as exports
class Stopping(exports._Steps):
    def then(self, tell):
        step = super().then(tell)
        def stepped():
            step()
            if self._done == 300:
                os.kill(os.getpid(), {int(signal.SIGTERM)})
        return stepped
exports._Steps = Stopping
from shop.__main__ import main
main()
"""
    done = subprocess.run(
        [sys.executable, "-c", stopping, "export", str(tmp_path / "out")],
        env=surroundings(demo, {}), capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (1, "Stopped half way; nothing was done.\n")
    assert list(tmp_path.iterdir()) == []
