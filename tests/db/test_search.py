"""The search index on both engines: kept right by whatever writes, and asked nothing that can break it."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import delete, event, update
from sqlalchemy.orm import Session

from shop.db.customers import Customer
from shop.db.messages import Message
from shop.db.sessions import Database
from shop.queries.search import search
from shop.rules.search import FoundKind, read_asked
from shop.services.builds import take_on_build
from shop.services.customers import add_customer, change_customer
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands

NOW = Hands().wall_at
HOSTILE = (
    '"', '""', "*", "NEAR(", "NEAR(a b, 2)", "OR", "AND", "NOT", "a OR", "title:ada", "{title}:ada", "^ada",
    "-ada", "ada*", "(", ")", "'", "''", "\\", "&", "|", "!", "<->", ":*", "a:*", "ada:A", "%", "_", "\0",
    "²", "½", "ﬁ", "🎣", "\ud800", "x" * 100_000, "a " * 100_000, "٣", "i\u0307", "אבג", "漢字", "1" * 300,
)  # fmt: skip


def found(session: Session, text: str, private: bool = True) -> dict[str, list[str]]:
    groups = search(session, read_asked(text), 10, private)
    return {str(kind): [hit.title or hit.build for hit in hits] for kind, hits in groups.items() if hits}


@pytest.fixture
def filled(database: Database) -> Database:
    with database.writing(NOW) as session:
        fill(session, NOW)
        take_on_build(
            session, now=NOW, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft casting",
            rod_kind="casting", sequence_id=SEQUENCE,
        )  # fmt: skip
    return database


def test_a_customer_is_found_and_no_more_once_erased(database: Database) -> None:
    with database.writing(NOW) as session:
        customer = add_customer(
            session, now=NOW, name="Åsa Thorn-Müller", email="asa.thorn@mail.example",
            phone="+47 (22) 55-66.77", notes="Likes cork",
        )  # fmt: skip
    hits = (
        "Åsa",
        "A\u030asa",
        "thorn mu\u0308l",
        "thorn mül",
        "asa.thorn@mail.ex",
        "mail",
        "47225566",
        "22 55",
        "cork",
    )
    with database.reading() as session:
        for text in hits:
            assert found(session, text) == {"customer": ["Åsa Thorn-Müller"]}, text
        for text in ("thorny", "sa", "hat"):
            assert found(session, text) == {}, text
        for text in ("mail", "47225566", "cork"):
            assert found(session, text, private=False) == {}, text
        assert found(session, "thorn", private=False) == {"customer": ["Åsa Thorn-Müller"]}
        shown = search(session, read_asked("thorn"), 10, private=False)[FoundKind.CUSTOMER][0]
        assert shown.private == ""
    with database.writing(NOW) as session:
        change_customer(session, customer.id, name="erased", email="", phone="", notes="")
    with database.reading() as session:
        assert [text for text in hits if found(session, text)] == []
    # By a statement too that no service makes.
    with database.writing(NOW) as session:
        session.execute(update(Customer).values(name="Somebody"))
    with database.reading() as session:
        assert found(session, "somebody") == {"customer": ["Somebody"]}
    with database.writing(NOW) as session:
        session.execute(delete(Customer))
    with database.reading() as session:
        assert found(session, "somebody") == {}


def test_everything_that_is_searched_is_found(filled: Database) -> None:
    with filled.writing(NOW) as session:
        session.add(Message(build_id=1, from_customer=True, text="Could it be a teal thread?", at=NOW))
        session.flush()
    with filled.reading() as session:
        numbers = [found(session, text).get("build") for text in ("26-001", "26001", "26 001", "1", "001")]
        assert numbers == [[hit] for hit in numbers[0] or []] * 5
        assert numbers[0]
        assert numbers[0][0].startswith("26-001 ")
        assert found(session, "teal") == {"message": ["26-001"]}
        assert found(session, "teal", private=False) == {}
        assert set(found(session, "a")) >= {"customer"}


def test_a_hit_in_the_title_comes_first(database: Database) -> None:
    with database.writing(NOW) as session:
        for name, notes in (("Bo Reed", "knows Wren"), ("Wren Hale", ""), ("Cay Moss", "wren, wren")):
            add_customer(session, now=NOW, name=name, notes=notes)
    with database.reading() as session:
        assert found(session, "wren")["customer"][0] == "Wren Hale"


def test_nothing_that_is_typed_breaks_it(filled: Database) -> None:
    with filled.reading() as session:
        for text in HOSTILE:
            for private in (True, False):
                search(session, read_asked(text), 10, private)
        # The session is none the worse for it.
        assert found(session, "26-001")["build"][0].startswith("26-001 ")


def test_the_index_is_asked_and_no_table_walked(filled: Database) -> None:
    if not filled.embedded:
        pytest.skip("the plans read here are those of SQLite")
    statements: list[tuple[str, Any]] = []
    with filled.engine.connect() as connection:
        from_sql = connection.exec_driver_sql

        def note(_c: object, _cursor: object, text: str, values: Any, _x: object, _many: bool) -> None:
            if not text.startswith("BEGIN"):
                statements.append((text, values))

        event.listen(filled.engine, "before_cursor_execute", note)
        with filled.reading() as session:
            found(session, "26-001")
        event.remove(filled.engine, "before_cursor_execute", note)
        plans = [
            str(row[3])
            for text, values in statements
            for row in from_sql(f"EXPLAIN QUERY PLAN {text}", values)
        ]
    assert len(statements) == len(FoundKind) + 1
    walked = [step for step in plans if step.startswith("SCAN") and "VIRTUAL TABLE" not in step]
    assert [step for step in walked if step != "SCAN hits"] == []
    assert any("SEARCH builds USING INTEGER PRIMARY KEY" in step for step in plans)
