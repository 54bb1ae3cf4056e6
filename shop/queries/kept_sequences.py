"""Sequences in use, kept between requests.

A version that a build has started on is never changed (`shop.services.sequences` sees to it), so once
read for a build it holds for good.
"""

from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.queries.sequences import sequence_value, stage_ids
from shop.rules.sequences import Sequence


class KeptSequence(NamedTuple):
    """A sequence and the ids of its stages, by name."""

    value: Sequence
    stage_ids: dict[str, int]


class KeptSequences:
    """The sequences of builds. Safe to share between threads: the worst is that one is read twice."""

    def __init__(self) -> None:
        self._kept: dict[int, KeptSequence] = {}

    def of_build(self, session: Session, sequence_id: int) -> KeptSequence:
        """The sequence of a build that is on file."""
        kept = self._kept.get(sequence_id)
        if kept is None:
            kept = KeptSequence(sequence_value(session, sequence_id), stage_ids(session, sequence_id))
            self._kept[sequence_id] = kept
        return kept
