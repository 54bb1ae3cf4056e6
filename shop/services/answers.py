"""First answers to writes that carry an idempotency key, kept so that a retry gets the same one."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.keys import FirstAnswer


def keep_answer(
    session: Session, *, actor: str, key: str, fingerprint: str, status: int, body: str, now: datetime
) -> None:
    """Keep an answer in the same transaction as the write it tells of."""
    answer = FirstAnswer(
        actor=actor, key=key, fingerprint=fingerprint, status=status, body=body, created_at=now
    )
    session.add(answer)
