"""First answers to writes that carry an idempotency key, kept so that a retry gets the same one."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import delete, or_
from sqlalchemy.orm import Session

from shop.db.keys import FirstAnswer

# No program asks again after so long.
LONG_AGO = timedelta(days=1)


def keep_answer(
    session: Session, *, actor: str, key: str, fingerprint: str, status: int, body: str, now: datetime
) -> None:
    """Keep an answer in the same transaction as the write it tells of."""
    answer = FirstAnswer(
        actor=actor, key=key, fingerprint=fingerprint, status=status, body=body, created_at=now
    )
    session.add(answer)


def forget_answers(session: Session, words: Iterable[str], *, now: datetime) -> None:
    """Forget the answers that have any of these words in them, and all that nobody asks for any more."""
    named = [FirstAnswer.body.icontains(word, autoescape=True) for word in words]
    session.execute(delete(FirstAnswer).where(or_(FirstAnswer.created_at < now - LONG_AGO, *named)))
