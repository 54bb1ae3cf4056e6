"""Programs' keys: giving them out and ending them."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.keys import ApiKey
from shop.outside.tokens import hash_of, new_token
from shop.queries.keys import key_record
from shop.rules.people import Scope
from shop.rules.refusals import BadInput, NotOnFile


def add_key(session: Session, *, now: datetime, name: str, scope: Scope) -> tuple[ApiKey, str]:
    """Give out a new key; the key itself is the second value and is not kept."""
    if not 1 <= len(name.strip()) <= 80:
        raise BadInput({"name": "The key needs a name of 1 to 80 characters."})
    key = new_token()
    record = ApiKey(name=name.strip(), scope=scope, key_hash=hash_of(key), created_at=now)
    session.add(record)
    session.flush()
    return record, key


def end_key(session: Session, key_id: int, *, now: datetime) -> None:
    """End a key for good. Raises `NotOnFile`."""
    record = key_record(session, key_id)
    if record is None:
        raise NotOnFile(f"There is no key {key_id} on file.")
    if record.ended_at is None:
        record.ended_at = now
