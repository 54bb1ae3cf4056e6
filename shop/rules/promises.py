"""Promises: what may be said of a change, what counts as a slip, and which promises were kept.

A slip is a promise that was moved to a later day or taken back. The reason of a change is what the customer
is told. Pure; who writes a promise down is `shop.services.promises`.
"""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from shop.rules.mails import day_words

MOST_REASON = 300
SAME_DAY = "The promised day stays as it is; a reason goes with a change of it."
NEEDS_REASON = (
    "A promise that moves needs a reason; it is what the customer is told, so say it in a sentence of theirs."
)


class FinishedBuild(NamedTuple):
    """A rod that was handed over, with the first day that was promised for it and the last one."""

    handed_over_on: date
    first: date
    last: date


class Kept(NamedTuple):
    """Of `of` rods with a promise, how many were handed over by the first day promised, and by the last."""

    by_first: int
    by_last: int
    of: int


def is_slip(was_on: date | None, promised_on: date | None) -> bool:
    """Whether a change of a promise lets somebody wait longer than they were told."""
    return was_on is not None and (promised_on is None or promised_on > was_on)


def faults_of_promise(was_on: date | None, promised_on: date | None, reason: str) -> dict[str, str]:
    """What keeps a promise from being made or moved, by field; a first promise needs no reason."""
    if promised_on == was_on:
        return {"promise_reason": SAME_DAY} if reason else {}
    if was_on is not None and not reason:
        return {"promise_reason": NEEDS_REASON}
    if len(reason) > MOST_REASON:
        return {"promise_reason": f"The reason has {len(reason)} characters; at most {MOST_REASON} fit."}
    if not reason.isprintable():
        return {
            "promise_reason": "The reason has a character in it that cannot be kept; please type it again."
        }
    return {}


def say_promise(was_on: date | None, promised_on: date | None, reason: str) -> str:
    """A promise or its change as a sentence for the record."""
    tail = f" {reason}" if reason else ""
    if was_on is None:
        # Nothing was promised before, so there is a day now.
        return f"Promised for {_said(promised_on)}.{tail}"
    if promised_on is None:
        return f"The promise of {_said(was_on)} is taken back.{tail}"
    later = "later" if is_slip(was_on, promised_on) else "earlier"
    return f"Promised {later}: from {_said(was_on)} to {_said(promised_on)}.{tail}"


def _said(day: date | None) -> str:
    return "no day" if day is None else day_words(day)


def count_kept(builds: Iterable[FinishedBuild]) -> Kept:
    """How many of these rods were handed over by the day that was promised; that day itself is in time."""
    found = list(builds)
    return Kept(
        sum(build.handed_over_on <= build.first for build in found),
        sum(build.handed_over_on <= build.last for build in found),
        len(found),
    )
