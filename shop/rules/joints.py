"""Joints and coats: which of the cures at a place are one, and what they come to together.

Several cups may go into one joint, of several products too. Each goes on hardening by its own sheet, so a
joint has set when its last cup has: a later and quicker cup proves nothing of what lies under it.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from shop.rules.facts import CureFact


def counting_at(cures: Iterable[CureFact], place: str) -> list[CureFact]:
    """The cures at a place that were not failed, oldest first."""
    counting = (cure for cure in cures if cure.place == place and not cure.failed)
    return sorted(counting, key=lambda cure: (cure.closed_at, cure.id))


def joints_at(cures: Iterable[CureFact], place: str) -> list[list[CureFact]]:
    """The joints or coats at a place that count, oldest first, each with the cures it is made of.

    What separates two of them is that the first had set: a cure closed before every cup of the joint under
    it had set went into that same joint. It is a second cup, as a rule. So one that never sets, in the cold,
    takes in whatever is closed on it, until it is ended as failed.
    """
    joints: list[list[CureFact]] = []
    for cure in counting_at(cures, place):
        if joints and _is_soft_at(joints[-1], cure.closed_at):
            joints[-1].append(cure)
        else:
            joints.append([cure])
    return joints


def _is_soft_at(joint: Iterable[CureFact], at: datetime) -> bool:
    return any(cup.set_at is None or at < cup.set_at for cup in joint)


def as_one(cups: Sequence[CureFact]) -> CureFact:
    """A joint of these cups, closed in this order, as if it were one cure: the last, with the times of all.

    It gets as far as its slowest cup does, and nowhere if one is stalled. Its recoat window opens when the
    last of theirs does and shuts when the first does, which may be before it has opened; a cup whose sheet
    gives no window bounds nothing. It is tacky if one of them is.
    """
    last = cups[-1]
    if len(cups) == 1:
        return last
    windowed = [cup for cup in cups if cup.has_recoat_window]
    shuts = (cup.recoat_until for cup in windowed)
    return replace(
        last,
        set_at=latest(cups, lambda cup: cup.set_at), full_at=latest(cups, lambda cup: cup.full_at),
        recoat_from=latest(windowed, lambda cup: cup.recoat_from),
        recoat_until=min((at for at in shuts if at is not None), default=None),
        has_recoat_window=bool(windowed), tacky=any(cup.tacky for cup in cups),
    )  # fmt: skip


def latest(
    cups: Iterable[CureFact], instant_of: Callable[[CureFact], datetime | None]
) -> datetime | None:  # fmt: skip
    """The latest of an instant of cures; none where one never gets there, or there are none."""
    found: datetime | None = None
    for cup in cups:
        at = instant_of(cup)
        if at is None:
            return None
        found = at if found is None else max(found, at)
    return found


def shared_joints(cures: Iterable[CureFact]) -> list[list[CureFact]]:
    """The joints of several cups among cures of any places; nearly always there are none."""
    cures = list(cures)
    places = [cure.place for cure in cures if not cure.failed]
    crowded = {place for place in places if places.count(place) > 1} if len(set(places)) < len(places) else ()
    return [joint for place in crowded for joint in joints_at(cures, place) if len(joint) > 1]


def told_as_one(cures: Sequence[CureFact]) -> tuple[CureFact, ...]:
    """The same cures in the same order, each cup of a shared joint with the times of the whole joint.

    This is what the bench is told: that one of the cups has set is of no use to anybody. A window that shuts
    before it opens is told to shut as it opens: from then on a coat may go on, once that is prepared.
    """
    whole: dict[int, CureFact] = {}
    for joint in shared_joints(cures):
        one = as_one(joint)
        opens, shuts = one.recoat_from, one.recoat_until
        shuts = max(opens, shuts) if opens is not None and shuts is not None else shuts
        for cup in joint:
            whole[cup.id] = replace(
                cup, set_at=one.set_at, full_at=one.full_at, recoat_from=one.recoat_from,
                recoat_until=shuts, has_recoat_window=one.has_recoat_window, tacky=one.tacky,
            )  # fmt: skip
    return tuple(whole.get(cure.id, cure) for cure in cures) if whole else tuple(cures)
