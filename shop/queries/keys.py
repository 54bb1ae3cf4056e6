"""Programs' keys, and the first answers kept for their retried requests."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, select
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
    """What was answered to this actor's first request with this idempotency key, or none."""
    wanted = select(FirstAnswer).where(FirstAnswer.actor == actor, FirstAnswer.key == key)
    return session.scalars(wanted).first()
