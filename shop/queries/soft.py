"""The cures of open builds that are not hard yet: for Setting, the bench's moments and the calendars."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.queries.bench import OpenBuilds
from shop.queries.kept_sequences import KeptSequences
from shop.rules.soft import SoftCure, soft_cures


def soft_cures_of(
    session: Session, sequences: KeptSequences, opened: OpenBuilds, at: datetime
) -> list[SoftCure]:
    """The cures of open builds that were soft at an instant, or were not closed yet."""
    found: list[SoftCure] = []
    for build in opened.builds:
        facts = opened.facts.get(build.id)
        if facts is not None and facts.cures:
            sequence = sequences.of_build(session, build.sequence_id).value
            found += soft_cures(build.number, sequence, facts, at)
    return found
