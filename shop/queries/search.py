"""Search over the index that triggers keep (see the migration `search`): one statement for each kind,
and one more for a build's number.

SQLite answers from its FTS5 table, PostgreSQL from a tsvector; both rank a hit in the title above one
elsewhere. What is typed reaches neither as a query: only words of letters and digits do.
"""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import DateTime, Float, Integer, Select, String, Text, literal, null, select, text
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.events import Event
from shop.db.messages import Message
from shop.rules.search import Asked, FoundKind


class Hit(NamedTuple):
    """Something found: `record_id` of its kind, its title (empty for notes and messages) and its other words.

    `private` is empty for those who may not see it. `build` is the number of the build that it belongs to,
    `customer` whose build it is, `at` when it was noted or written.
    """

    kind: FoundKind
    record_id: int
    title: str
    body: str
    private: str
    build: str
    customer: str
    at: datetime | None


_SQLITE = """
SELECT rowid / 10 AS record_id, title, body, private, bm25(search_words, 0.0, 10.0, 3.0, 2.0) AS place
FROM search_words WHERE search_words MATCH :asked ORDER BY place, rowid DESC LIMIT :most
"""
_POSTGRESQL = """
SELECT record_id, title, body, private, -ts_rank(words, asked) AS place
FROM search_words, to_tsquery('simple', :asked) AS asked
WHERE kind = :kind AND words @@ asked ORDER BY place, record_id DESC LIMIT :most
"""


def _statements(found: str) -> dict[FoundKind, Select[*tuple[Any, ...]]]:
    hits = text(found).columns(record_id=Integer, title=Text, body=Text, private=Text, place=Float)
    hit = hits.subquery("hits").c
    plain = (hit.record_id, hit.title, hit.body, hit.private)
    nothing: tuple[Any, ...] = (literal("", String), literal("", String), null().cast(DateTime))
    record = hit.record_id
    alone = select(*plain, *nothing)
    of_builds = select(*plain, Build.number, Customer.name, null().cast(DateTime)).select_from(Build)
    of_notes = select(*plain, Build.number, Customer.name, Event.happened_at).select_from(Event)
    of_messages = select(*plain, Build.number, Customer.name, Message.at).select_from(Message)
    made: dict[FoundKind, Select[*tuple[Any, ...]]] = {
        FoundKind.BUILD: of_builds.join(Customer, Customer.id == Build.customer_id).where(Build.id == record),
        FoundKind.CUSTOMER: alone,
        FoundKind.COMPONENT: alone,
        FoundKind.BLANK: alone,
        FoundKind.NOTE: of_notes.join(Build, Build.id == Event.build_id)
        .join(Customer, Customer.id == Build.customer_id)
        .where(Event.id == record),
        FoundKind.MESSAGE: of_messages.join(Build, Build.id == Message.build_id)
        .join(Customer, Customer.id == Build.customer_id)
        .where(Message.id == record),
    }
    return {kind: statement.order_by(hit.place, record.desc()) for kind, statement in made.items()}


_BY_ENGINE = {"sqlite": _statements(_SQLITE), "postgresql": _statements(_POSTGRESQL)}


def search(session: Session, asked: Asked, most: int, private: bool) -> dict[FoundKind, list[Hit]]:
    """At most `most` hits of each kind, the best first; `private` for those who may see everything."""
    if not asked:
        return {kind: [] for kind in FoundKind}
    asking = _ASKING[session.get_bind().dialect.name]
    found = {}
    for kind in FoundKind:
        hits = _hits(session, kind, asking(kind, asked.words, private), most)
        if kind is FoundKind.BUILD and asked.number:
            named = _hits(session, kind, _NUMBER[session.get_bind().dialect.name](asked.number), most)
            hits = list(dict.fromkeys((*named, *hits)))[:most]
        found[kind] = hits if private else [hit._replace(private="") for hit in hits]
    return found


def _hits(session: Session, kind: FoundKind, asked: str, most: int) -> list[Hit]:
    engine = session.get_bind().dialect.name
    values: dict[str, Any] = {"asked": asked, "most": most}
    if engine == "postgresql":
        values["kind"] = str(kind)
    return [Hit(kind, *row) for row in session.execute(_BY_ENGINE[engine][kind], values)]


def _asking_sqlite(kind: FoundKind, words: tuple[str, ...], private: bool) -> str:
    """The words as FTS5 takes them: each quoted, so that none of them is an operator."""
    columns = "{title body private}" if private else "{title body}"
    beginnings = " AND ".join(f'"{word}" *' for word in words)
    return f'(kind : "{kind}") AND ({columns} : ({beginnings}))'


def _asking_postgresql(_kind: FoundKind, words: tuple[str, ...], private: bool) -> str:
    """The words as `to_tsquery` takes them: each quoted, looked for in the parts that may be seen."""
    weights = "ABC" if private else "AB"
    return " & ".join(f"'{word}':*{weights}" for word in words)


def _number_sqlite(number: tuple[str, ...]) -> str:
    """A build's number, at the beginning of its title or (the running number alone) as a word of it."""
    whole = " ".join(number)
    return f'(kind : "{FoundKind.BUILD}") AND (title : {"^ " * (len(number) > 1)}"{whole}")'


def _number_postgresql(number: tuple[str, ...]) -> str:
    return " <-> ".join(f"'{part}':A" for part in number)


_ASKING = {"sqlite": _asking_sqlite, "postgresql": _asking_postgresql}
_NUMBER = {"sqlite": _number_sqlite, "postgresql": _number_postgresql}
