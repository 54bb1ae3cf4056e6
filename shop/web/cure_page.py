"""One cure as its page shows it: its times, where it was carried, and what may be put right."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.bench import BenchRow
from shop.queries.cure_clock import Warmth
from shop.queries.cures import CureView, cure_view
from shop.queries.mixes import mixes_since
from shop.rules.facts import CureFact
from shop.rules.joints import as_one, shared_joints
from shop.rules.people import Right
from shop.rules.sequences import PLACES
from shop.web.benches import BenchSide
from shop.web.rod_page import RECENT
from shop.web.sheets import marked, warning_of_mix
from shop.web.templating import Frame
from shop.web.wording import not_before, when

CURE = "pages/cure.html"


class MoveLine(NamedTuple):
    """A move in finished words; `undone` says why it is not so."""

    text: str
    undone: str


def cure_context(page: Frame, session: Session, bench: BenchSide, cure_id: int) -> dict[str, Any]:
    """Everything that `pages/cure.html` needs but its form. Raises `NotOnFile`."""
    warmth = bench.warmth(session)
    cure = cure_view(session, cure_id, warmth)
    row = bench.row(session, cure.build)
    closed = (place for stage in row.sequence.stages for place in stage.cure_places())
    places = [("", "as it is")] + [(place, place) for place in dict.fromkeys((*PLACES, *closed))]
    zones = [("", "as it is")] + [(item.id, item.name) for item in warmth.zones.values()]
    mixes = [("", "as it is"), *_mixes_of_the_day(page, session, bench, cure)]
    doubt = _doubt(cure, row)
    return {
        "cure": cure, "warns": warning_of_mix(cure.sheet_mark), "doubt": doubt,
        "pairs": [
            *_pairs(page, bench, cure, bool(doubt)),
            *([] if doubt else _whole_joint(cure, row, bench.now, page.zone)),
        ],
        "places": places,
        "zones": zones, "mixes": mixes,
        "may_correct": may_correct(page), **_moves(page, bench, cure, row, warmth),
    }  # fmt: skip


def _doubt(cure: CureView, row: BenchRow) -> str:
    """Why no time is promised for a cure, as a sentence; empty where nothing is in doubt."""
    for suspect in row.facts.suspects:
        if suspect.mix_id == cure.mix_id:
            return f"Its mix is suspect: {suspect.reason}. Leave it alone until the verdict."
    if any(fact.id == cure.id and fact.tacky for fact in row.facts.cures):
        return "Its puddle was found tacky: leave it alone until the puddle is firm."
    mixes = {suspect.mix_id for suspect in row.facts.suspects}
    if any(cup.tacky or cup.mix_id in mixes for cup in _joint_of(cure, row)):
        return "Another cup in the same joint is in doubt, suspect or tacky: leave the joint alone."
    return ""


def _joint_of(cure: CureView, row: BenchRow) -> list[CureFact]:
    """The cups of the joint that a cure is one of, if there are several."""
    joints = shared_joints(row.facts.cures)
    return next((joint for joint in joints if cure.id in {cup.id for cup in joint}), [])


def _whole_joint(cure: CureView, row: BenchRow, now: datetime, zone: ZoneInfo) -> list[tuple[str, str]]:
    """When the joint that a cure is only one cup of gets as far as its slowest cup."""
    joint = _joint_of(cure, row)
    if not joint:
        return []
    one = as_one(joint)
    times = [
        f"{word} {not_before(at, now, zone)}" if at is not None else f"{word}: stalled, too cold"
        for word, at in (("set", one.set_at), ("fully cured", one.full_at))
    ]
    return [("The whole joint", f"{len(joint)} cups: {', '.join(times)}")]


def _pairs(page: Frame, bench: BenchSide, cure: CureView, in_doubt: bool) -> list[tuple[str, str]]:
    now, zone = bench.now, page.zone

    def said(instant: Any, say: Callable[..., str] = when) -> str:
        if instant is not None:
            return "in doubt" if in_doubt else say(instant, now, zone)
        return "stalled: too cold" if cure.stalled else "the sheet does not say"

    pairs = [("Adhesive", marked(cure.adhesive, cure.sheet_mark)), ("Zone", cure.zone)]
    if cure.closed_in != cure.zone:
        pairs.append(("Closed in", cure.closed_in))
    pairs += [
        ("Closed", when(cure.closed_at, now, zone)), ("By", cure.by), ("Sets", said(cure.set_at, not_before)),
        ("Full cure", said(cure.full_at, not_before)),
        ("Next coat from", said(cure.recoat_from, not_before)), ("Next coat until", said(cure.recoat_until)),
    ]  # fmt: skip
    if cure.turned_at is not None:
        pairs.append(("Kept turning until", said(cure.turned_at, not_before)))
    return pairs


def _moves(
    page: Frame, bench: BenchSide, cure: CureView, row: BenchRow, warmth: Warmth
) -> dict[str, Any]:  # fmt: skip
    """Where it was carried, and where it may be carried to while it counts for an open build."""
    now, zone = bench.now, page.zone

    def told(zone_name: str, at: str, by: str) -> str:
        return f"To the zone {zone_name}, {at}, {by}"

    standing = [move for move in reversed(cure.moves) if not move.undone]
    counts = not cure.failed and cure.corrected_by is None and cure.pass_number == row.build.pass_number
    return {
        "move_lines": [
            MoveLine(told(move.zone, when(move.at, now, zone), move.by), move.undone) for move in cure.moves
        ],
        "undoable": [(move.id, told(move.zone, when(move.at, now, zone), move.by)) for move in standing],
        "carried_to": [(item.id, item.name) for item in warmth.zones.values() if item.name != cure.zone],
        "may_move": counts and row.build.closed_at is None and _may(page, Right.BENCH),
        "is_hard": cure.full_at is not None and cure.full_at <= now,
    }


def _mixes_of_the_day(
    page: Frame, session: Session, bench: BenchSide, cure: CureView
) -> list[tuple[int, str]]:
    """The other mixes that a place closed then can have been closed with."""
    found = mixes_since(session, cure.closed_at - RECENT, bench.warmth(session))
    return [
        (mix.id, marked(f"{mix.adhesive}, mixed {when(mix.mixed_at, bench.now, page.zone)}", mix.sheet_mark))
        for mix in found
        if mix.id != cure.mix_id and mix.mixed_at <= cure.closed_at
    ]


def _may(page: Frame, right: Right) -> bool:
    return page.person is not None and page.person.may(right)


def may_correct(page: Frame) -> bool:
    """Whether the person who looks may put entries of the record right."""
    return _may(page, Right.CORRECT)
