"""Ticks asked for again: what a build's record takes down of them when joints of it are done anew."""

from collections.abc import Collection
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.facts import facts_of_build
from shop.rules.facts import Recheck
from shop.rules.rechecks import relied_on
from shop.rules.record import recheck_map
from shop.services.bench import Bench


def rechecks_for(
    session: Session, bench: Bench, build: Build, cure_ids: Collection[int], since: datetime
) -> tuple[Recheck, ...]:
    """The ticks of a build that relied on these cures of its; to be asked before the cures are failed."""
    sequence = bench.sequences.of_build(session, build.sequence_id).value
    facts = facts_of_build(session, build.id, build.pass_number, bench.warmth, bench.around)
    joints = [cure for cure in facts.cures if cure.id in cure_ids and not cure.failed]
    return relied_on(sequence, facts, joints, since)


def recheck_details(rechecks: Collection[Recheck]) -> dict[str, Any]:
    """What an event keeps of them; nothing where there are none."""
    return {"rechecks": [recheck_map(again) for again in rechecks]} if rechecks else {}


def recheck_words(rechecks: Collection[Recheck]) -> str:
    """What the record says of them, to follow a sentence; empty where there are none."""
    if not rechecks:
        return ""
    names = dict.fromkeys(again.name for again in rechecks)
    return f" To be checked again: {', '.join(f'“{name}”' for name in names)}."
