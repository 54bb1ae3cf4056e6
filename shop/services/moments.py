"""Moments that somebody at the bench has seen: they are told no more, unless one moves to later."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy import delete
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from shop.db.moments import SeenMoment
from shop.queries.moments import SEEN_BACK
from shop.rules.moments import Moment, aware_instant, dated_key
from shop.rules.refusals import BadInput
from shop.services.bench import Bench


def mark_seen(
    session: Session, bench: Bench, told: Iterable[Moment], *, keys: Sequence[str], all_until: str = ""
) -> bool:
    """Note that moments were seen: those named, and all that had come at the instant `all_until`.

    `told` are the moments that are told now, `keys` say which of them were seen and at which instant each
    was then (`set-17@<ISO instant>`). What is not told any more is passed over, and one that has moved to
    later stays. Says whether everything named was told. Raises `BadInput` on `key`.
    """
    until = aware_instant(all_until) if all_until else None
    if all_until and until is None:
        raise BadInput({"key": f"“{all_until[:40]}” is no instant; load the page again."})
    if not keys and until is None:
        raise BadInput({"key": "No moment was named; tap Seen beside one of them."})
    named = _named(keys)
    seen = {}
    for moment in told:
        at = named.get(moment.key)
        if until is not None and moment.at <= until:
            at = moment.at
        if at is not None:
            # Never later than the moment is, or it would not be told when the cold moves it.
            seen[moment.key] = min(at, moment.at)
    session.execute(delete(SeenMoment).where(SeenMoment.seen_at < bench.now - SEEN_BACK))
    _keep(session, seen, bench.actor.name)
    return named.keys() <= seen.keys()


def _named(keys: Sequence[str]) -> dict[str, datetime]:
    """The moments that a form names, each with its instant then."""
    named = {}
    for text in keys:
        found = dated_key(text)
        if found is None:
            raise BadInput({"key": f"“{text[:40]}” is no moment of this shop; load the page again."})
        named[found[0]] = found[1]
    return named


def _keep(session: Session, seen: dict[str, datetime], by: str) -> None:
    """Keep the marks, in one order for everybody: two tablets at once neither clash nor wait for each other.

    A page that has not been loaded anew since does not set a mark back.
    """
    if not seen:
        return
    rows = [{"key": key, "seen_at": at, "by": by} for key, at in sorted(seen.items())]
    embedded = session.get_bind().dialect.name == "sqlite"
    insert = sqlite.insert(SeenMoment) if embedded else postgresql.insert(SeenMoment)
    new = insert.excluded
    kept = insert.on_conflict_do_update(
        index_elements=["key"],
        set_={"seen_at": new.seen_at, "by": new.by},
        where=SeenMoment.seen_at < new.seen_at,
    )
    session.execute(kept, rows)
