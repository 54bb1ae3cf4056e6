"""Moments that somebody at the bench has seen: it is told no more, unless the moment moves to later."""

from collections.abc import Sequence
from datetime import timedelta

from sqlalchemy import delete
from sqlalchemy.orm import Session

from shop.db.moments import SeenMoment
from shop.queries.moments import SEEN_BACK, seen_records
from shop.rules.moments import is_key
from shop.rules.refusals import BadInput
from shop.services.bench import Bench

# What is older is never asked for again (see `shop.queries.moments`).
KEPT = SEEN_BACK + timedelta(days=1)


def mark_seen(session: Session, bench: Bench, *, keys: Sequence[str]) -> None:
    """Note that the moments of these keys were seen just now.

    One that has not come yet is told all the same when it does. Raises `BadInput` on `key`.
    """
    if not keys:
        raise BadInput({"key": "No moment was named; tap Seen beside one of them."})
    wrong = [key for key in keys if not is_key(key)]
    if wrong:
        raise BadInput({"key": f"“{wrong[0][:40]}” is no moment of this shop; load the page again."})
    session.execute(delete(SeenMoment).where(SeenMoment.seen_at < bench.now - KEPT))
    known = seen_records(session, list(keys))
    for key in dict.fromkeys(keys):
        if key in known:
            known[key].seen_at = max(known[key].seen_at, bench.now)
            known[key].by = bench.actor.name
        else:
            session.add(SeenMoment(key=key, seen_at=bench.now, by=bench.actor.name))
    session.flush()
