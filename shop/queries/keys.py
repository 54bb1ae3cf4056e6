"""Programs' keys, and the first answers kept for their retried requests."""

import hashlib
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import BigInteger, bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.keys import ApiKey, FirstAnswer
from shop.rules.people import SCOPE_RIGHTS, Actor, Scope
from shop.rules.refusals import NotOnFile


class KeyView(NamedTuple):
    """A key as the pages list it; the key itself is not kept."""

    id: int
    name: str
    scope: str
    created_at: datetime
    ended_at: datetime | None


_ACTOR = select(ApiKey.id, ApiKey.name, ApiKey.scope).where(
    ApiKey.key_hash == bindparam("key_hash"), ApiKey.ended_at.is_(None)
)
_LOCK = select(func.pg_advisory_xact_lock(bindparam("number", type_=BigInteger)))


def actor_of_key(session: Session, key_hash: str) -> Actor | None:
    """The program a live key belongs to, or none."""
    row = session.execute(_ACTOR, {"key_hash": key_hash}).first()
    return None if row is None else Actor(row[1], SCOPE_RIGHTS[Scope(row[2])], key_id=row[0])


def list_keys(session: Session) -> list[KeyView]:
    """Every key, the live ones first, newest first."""
    wanted = select(ApiKey.id, ApiKey.name, ApiKey.scope, ApiKey.created_at, ApiKey.ended_at)
    rows = session.execute(wanted.order_by(ApiKey.ended_at.is_not(None), ApiKey.id.desc()))
    return [KeyView(*row) for row in rows]


def key_record(session: Session, key_id: int) -> ApiKey:
    """The record of one key, for a verb to change. Raises `NotOnFile`."""
    record = session.get(ApiKey, key_id)
    if record is None:
        raise NotOnFile(f"There is no key {key_id} on file.")
    return record


def first_answer(session: Session, actor: str, key: str) -> FirstAnswer | None:
    """What was answered to this actor's first request with this idempotency key, or none.

    Ask with the session that will write: until its transaction ends, nobody else gets past this question
    with the same key, so that two requests sent at once are not both the first. (On SQLite a writing
    session is alone anyway.)
    """
    if session.get_bind().dialect.name == "postgresql":
        session.execute(_LOCK, {"number": _lock_number(actor, key)})
    wanted = select(FirstAnswer).where(FirstAnswer.actor == actor, FirstAnswer.key == key)
    return session.scalars(wanted).first()


def _lock_number(actor: str, key: str) -> int:
    """A signed 64-bit number for PostgreSQL's advisory lock."""
    print_of = hashlib.sha256(f"{actor}\n{key}".encode()).digest()
    return int.from_bytes(print_of[:8], signed=True)
