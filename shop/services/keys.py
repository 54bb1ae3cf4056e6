"""Programs' keys: giving them out and ending them."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.keys import ApiKey
from shop.queries.keys import key_record
from shop.rules.people import Scope
from shop.rules.refusals import BadInput

MOST_NAME = 80


def add_key(session: Session, *, now: datetime, name: str, scope: Scope, key_hash: str) -> ApiKey:
    """Give out a new key, of which only the hash is kept. Raises `BadInput`."""
    wanted = name.strip()
    if not 1 <= len(wanted) <= MOST_NAME or not wanted.isprintable():
        raise BadInput({"name": f"The key needs a name of 1 to {MOST_NAME} characters that can be seen."})
    record = ApiKey(name=wanted, scope=scope, key_hash=key_hash, created_at=now)
    session.add(record)
    session.flush()
    return record


def end_key(session: Session, key_id: int, *, now: datetime) -> ApiKey:
    """End a key for good; one that has ended stays as it is. Raises `NotOnFile`."""
    record = key_record(session, key_id)
    if record.ended_at is None:
        record.ended_at = now
    session.flush()
    return record
