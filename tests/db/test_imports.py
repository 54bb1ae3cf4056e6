"""Files taken in on both engines: batches keep their order, and a fault keeps all of a file out."""

import io
from concurrent.futures import ThreadPoolExecutor, wait

import pytest

from shop.db.sessions import Database
from shop.outside.csv_files import CsvFile
from shop.queries.blanks import blank_view, blanks_after
from shop.queries.stocks import moves_of_stock, stocks_after
from shop.rules.imports import ImportKind
from shop.rules.people import Actor
from shop.services.bench import Signer
from shop.services.imports import BATCH, FileRefused, look_through, take_in
from tests.conftest import Hands

NOW = Hands().wall_at
SIGNER = Signer(NOW, Actor("Maren", frozenset()))
MANY = BATCH + 7
# Only ever waited out when a thread hangs.
PATIENCE = 60
BLANKS = "model,length (mm),od at butt (mm),od at tip (mm)\r\n" + "".join(
    f"R{number},{2000 + number},{10 + number / 1000},2\r\n" for number in range(MANY)
)
STOCK = "what,item,on shelf\r\n" + "".join(
    f"blank,R{number},{number}\r\n" for number in reversed(range(MANY))
)


def taken(database: Database, kind: ImportKind, text: str) -> int:
    with database.writing(NOW) as session:
        return take_in(session, SIGNER, kind, CsvFile(io.BytesIO(text.encode()))).lines


def test_each_line_keeps_what_belongs_to_it(database: Database) -> None:
    assert taken(database, ImportKind.BLANKS, BLANKS) == MANY
    assert taken(database, ImportKind.STOCK, STOCK) == MANY
    with database.reading() as session:
        for item in stocks_after(session, 0, MANY):
            number = int(item.name[1:])
            assert (item.on_shelf, item.code) == (number, f"B{item.blank_id}")
            assert item.blank_id is not None
            if number in (0, 1, BATCH, MANY - 1):
                blank = blank_view(session, item.blank_id)
                butt = (0, 10_000_000 + number * 1000)
                assert [tuple(station) for station in blank.stations] == [butt, (blank.length_nm, 2_000_000)]
                assert [move.moved for move in moves_of_stock(session, item.id, 10**9, 5)] == [number]


def test_of_two_imports_at_once_one_waits_and_finds_the_lines_of_the_other(database: Database) -> None:
    with ThreadPoolExecutor(1) as threads:
        with database.writing(NOW) as session:
            take_in(session, SIGNER, ImportKind.BLANKS, CsvFile(io.BytesIO(BLANKS.encode())))
            other = threads.submit(taken, database, ImportKind.BLANKS, BLANKS)
            # Long enough for it to have read what is on file, if it did not wait.
            wait([other], timeout=0.5)
        with pytest.raises(FileRefused):
            other.result(PATIENCE)
    with database.reading() as session:
        assert len(blanks_after(session, 0, 2 * MANY)) == MANY


def test_a_fault_after_many_lines_keeps_all_of_it_out(database: Database) -> None:
    wrong = f"{BLANKS}R1,2001,3,4\r\n"
    with pytest.raises(FileRefused) as refused:
        taken(database, ImportKind.BLANKS, wrong)
    assert [fault.line for fault in refused.value.found.faults] == [MANY + 2]
    with database.reading() as session:
        assert blanks_after(session, 0, 10) == []
        found = look_through(session, ImportKind.BLANKS, CsvFile(io.BytesIO(wrong.encode())))
    assert (found.lines, found.faulty) == (MANY + 1, 1)
