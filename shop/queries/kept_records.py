"""The folded records of open builds, kept between requests.

Events are only ever added, so what a record amounts to holds until the pass has a further event. That
makes the id of its last event all there is to compare.
"""

from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.queries.events import event_facts, last_events_of_open_builds
from shop.rules.record import Known, fold


class _Kept(NamedTuple):
    pass_number: int
    last_event_id: int
    known: Known


class KeptRecords:
    """What the records of open builds amount to. Safe to share: the worst is that one is folded twice.

    Ask with a reading session only: an event that a writing session then rolls back must not be kept,
    since its id may be given again.
    """

    def __init__(self) -> None:
        self._kept: dict[int, _Kept] = {}

    def of_open_builds(self, session: Session) -> dict[int, Known]:
        """What is known of each open build that has a record, by the build's id."""
        before, now = self._kept, {}
        for build_id, pass_number, last in last_events_of_open_builds(session):
            kept = before.get(build_id)
            if kept is None or kept[:2] != (pass_number, last):
                kept = _Kept(pass_number, last, fold(event_facts(session, build_id, pass_number)))
            now[build_id] = kept
        self._kept = now
        return {build_id: kept.known for build_id, kept in now.items()}
