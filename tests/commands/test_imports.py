"""`import`: a dry run changes nothing, faults are said by line, a stop leaves nothing half done."""

import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from shop.db.sessions import Database
from shop.queries.blanks import blank_view
from shop.queries.components import component_view
from shop.queries.customers import customers_after
from shop.queries.stocks import moves_of_stock, stocks_after
from tests.commands.running import assert_refused, run, surroundings
from tests.db.conftest import cluster, postgresql_url  # noqa: F401 - fixtures

CUSTOMERS = "name,email\r\n" + "".join(f"Person {n},p{n}@mail.example\r\n" for n in range(1200))


@pytest.fixture
def data(migrated: Path, tmp_path: Path) -> Path:
    data = tmp_path / "data"
    data.mkdir()
    for path in migrated.iterdir():
        (data / path.name).write_bytes(path.read_bytes())
    return data


@pytest.fixture
def database(data: Path) -> Iterator[Database]:
    database = Database(f"sqlite:///{data / 'tackfree.sqlite3'}")
    yield database
    database.close()


def file_of(data: Path, text: str, name: str = "list.csv") -> str:
    path = data.parent / name
    path.write_bytes(text.encode())
    return str(path)


def customers(database: Database) -> int:
    with database.reading() as session:
        return len(customers_after(session, 0, 10_000))


def test_a_dry_run_changes_nothing_and_the_import_does(data: Path, database: Database) -> None:
    file = file_of(data, CUSTOMERS)
    dry = run(data, "import", "customers", file, "--dry-run")
    assert dry == (0, "1,200 customers would be put on file. Nothing was changed.\n", "")
    assert customers(database) == 0
    assert run(data, "import", "customers", file) == (0, "1,200 customers put on file.\n", "")
    assert customers(database) == 1200
    again = run(data, "import", "customers", file)
    assert again.status == 1
    assert again.out == ""
    lines = again.err.splitlines()
    assert len(lines) == 101
    assert lines[0] == "line 2, email: “p0@mail.example” would be there twice: it is on file already."
    assert lines[-1].startswith("1,200 things are not in order in ")
    assert lines[-1].endswith("1100 of them not listed; nothing was done.")
    assert customers(database) == 1200


def test_one_bad_line_at_the_end_keeps_all_of_it_out(data: Path, database: Database) -> None:
    file = file_of(data, CUSTOMERS + "Person 1,p1@mail.example\r\n,x\r\n")
    done = run(data, "import", "customers", file)
    assert done.status == 1
    assert done.err.splitlines()[:3] == [
        "line 1202, email: “p1@mail.example” would be there twice: line 3 has it already.",
        "line 1203, name: This is missing; please fill it in.",
        "line 1203, email: “x” is not an e-mail address; it needs a name, an @ and a place.",
    ]
    assert customers(database) == 0


def test_the_shelf_comes_in_with_stations_and_counts(data: Path, database: Database) -> None:
    blanks = (
        "maker;model;length;od at butt (mm);od at tip (mm);pieces;joints\r\n"
        'Reedline;R7;7 ft;14,2;1,8;2;"1200 mm: 60 mm;"\r\nReedline;R8;8 ft;;;;\r\n'
    )
    parts = 'kind,name,price,length\r\ngrip,Rear grip,"18,50",8 3/16 in\r\nthread,Red,3.10,\r\n'
    stock = (
        "what,item,on shelf,bin,least\r\nblank,reedline r7,3,A1,1\r\ncomponent,Red,40,,\r\n"
        "component,#1,2,A2,0\r\n"
    )
    for kind, text in (("blanks", blanks), ("components", parts), ("stock", stock)):
        done = run(data, "import", kind, file_of(data, text))
        assert done.status == 0, done
    with database.reading() as session:
        blank, grip = blank_view(session, 1), component_view(session, 1)
        assert [(at, od) for at, od in blank.stations] == [(0, 14200000), (2133600000, 1800000)]
        assert [tuple(joint) for joint in blank.joints] == [(1200000000, 60000000)]
        assert (grip.price_cents, grip.currency, grip.dimensions) == (1850, "EUR", {"length": 207962500})
        counted = stocks_after(session, 0, 10)
        found = [(item.name, item.code, item.unit, item.on_shelf, item.set_aside) for item in counted]
        assert found == [
            ("Reedline R7", "B1", "piece", 3, 0), ("Red", "C2", "share", 40, 0),
            ("Rear grip", "C1", "piece", 2, 0),
        ]  # fmt: skip
        move = moves_of_stock(session, counted[0].id, 10**6, 5)[0]
        assert (move.kind, move.moved, move.by) == ("counted", 3, "the shop's computer")
    wrong = (
        "what,item,on shelf,code,supplier\r\nblank,R9,1,,\r\nblank,Reedline R7,1,,\r\n"
        "blank,Reedline R8,1,C1,\r\ncomponent,Rear grip,1,,Nobody\r\n"
    )
    done = run(data, "import", "stock", file_of(data, wrong))
    assert done.err.splitlines()[:-1] == [
        "line 2, item: There is no blank “R9” on file; put it there first.",
        "line 3, item: “Reedline R7” would be there twice: it is on file already.",
        "line 3, code: “B1” would be there twice: it is on file already.",
        "line 4, code: “C1” would be there twice: it is on file already.",
        "line 5, supplier: There is no supplier “Nobody” on file; put it there first.",
    ]


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("rods", "name\r\nAda\r\n", ["rods", "customers"]),
        ("customers", None, ["gone.csv", "No such file"]),
        ("customers", "näme\r\n", ["line 1", "There is no column “näme”"]),
    ],
)
def test_what_cannot_be_taken_in(data: Path, kind: str, text: str | None, said: list[str]) -> None:
    file = str(data.parent / "gone.csv") if text is None else file_of(data, text)
    done = run(data, "import", kind, file)
    assert (done.status, done.out) == (1, "")
    assert "Traceback" not in done.err
    assert [word for word in said if word not in done.err] == []


def test_another_encoding_is_one_line(data: Path) -> None:
    path = data.parent / "latin.csv"
    path.write_bytes("name\r\nÅsa\r\n".encode("latin-1"))
    assert_refused(run(data, "import", "customers", str(path)), "latin.csv, line 2", "not UTF-8")


# Stops the command from within, once it has written more than one batch of the lines.
STOPPING = """
import os, sys
number = int(sys.argv.pop(1))
sys.argv[:] = ["tackfree", *sys.argv[1:]]
import shop.services.imports as imports
write, told = imports._write_customers, []
def stopping(*words):
    write(*words)
    told.append(1)
    if len(told) == 2:
        os.kill(os.getpid(), number)
imports._WRITE[imports.ImportKind.CUSTOMERS] = stopping
from shop.__main__ import main
main()
"""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_stopped_half_way_nothing_is_done(data: Path, database: Database, number: signal.Signals) -> None:
    done = subprocess.run(
        [sys.executable, "-c", STOPPING, str(int(number)), "import", "customers", file_of(data, CUSTOMERS)],
        env=surroundings(data, {}), capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    if number == signal.SIGKILL:
        assert done.returncode == -signal.SIGKILL
    else:
        assert (done.returncode, done.stderr) == (1, "Stopped half way; nothing was done.\n")
    assert done.stdout == ""
    assert customers(database) == 0
    assert run(data, "import", "customers", file_of(data, CUSTOMERS)).status == 0


def test_killed_half_way_nothing_is_done_on_postgresql_either(data: Path, postgresql_url: str) -> None:  # noqa: F811
    file, there = file_of(data, CUSTOMERS), {"TACKFREE_DATABASE_URL": postgresql_url}
    done = subprocess.run(
        [sys.executable, "-c", STOPPING, str(int(signal.SIGKILL)), "import", "customers", file],
        env=surroundings(data, there), capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (-signal.SIGKILL, "")
    # Whatever was kept of it would be there twice now.
    assert run(data, "import", "customers", file, **there).out == "1,200 customers put on file.\n"
