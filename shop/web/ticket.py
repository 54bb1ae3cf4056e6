"""The bench ticket: what is printed of a rod, stage by stage, as finished words.

Pure: it takes what was read of the build and decides nothing. The drawings are `scale`'s and
`orientation`'s, the figures `figures`'.
"""

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.craft.lengths import format_inches
from shop.craft.quantities import Quantity, format_quantity
from shop.queries.bench import BenchRow
from shop.queries.cures import CureView
from shop.rules.bench_figures.base import BenchSheet
from shop.rules.cautions import Caution, cautions_for
from shop.rules.facts import Facts
from shop.rules.make_up import MakeUp
from shop.rules.measuring import figure_words, meant_by, meant_words
from shop.rules.sequences import Hold, HoldKind, RecordKind, Sequence, Stage
from shop.web.figures import FigureGroup, FigureLine, figures_of_stage
from shop.web.scale import tenth_mm
from shop.web.wording import dated

# What is ticked or measured stands on its own line and need not be said as a hold.
ON_ITS_OWN_LINE = (HoldKind.CHECK, HoldKind.MEASUREMENT)
# The table of guides says where each is from both ends and what it is.
IN_A_TABLE = ("guides",)


class TicketFigure(NamedTuple):
    """A figure in few words; `to_measure` leaves room to write, where nothing is on record yet."""

    name: str
    said: str
    tolerance: str
    measured: str
    href: str
    to_measure: bool


class Topic(NamedTuple):
    """The figures of one topic at a stage."""

    title: str
    figures: tuple[TicketFigure, ...]


class Seen(NamedTuple):
    """A topic whose figures stand at an earlier stage of the ticket already, and at which."""

    title: str
    as_at: str


class HoldLine(NamedTuple):
    """A shut hold of the next stage: why, and from when it is open, where that is known."""

    reason: str
    not_before: str


class TickLine(NamedTuple):
    """Something to tick at a stage, who has ticked it, and whether that is enough."""

    name: str
    by: str
    is_done: bool


class JointLine(NamedTuple):
    """A joint that is closed at a stage, or a coat laid: what is on record, each in a sentence."""

    place: str
    recorded: tuple[str, ...]


class StageRow(NamedTuple):
    """A stage of the ticket: `done`, `next` or `later`, and all that is said, done and written at it."""

    name: str
    state: str
    reached: str
    must: tuple[str, ...]
    holds: tuple[HoldLine, ...]
    ticks: tuple[TickLine, ...]
    joints: tuple[JointLine, ...]
    topics: tuple[Topic, ...]
    seen: tuple[Seen, ...]
    notes: tuple[TicketFigure, ...]
    photos: tuple[str, ...]
    cautions: tuple[str, ...]


class PartLine(NamedTuple):
    """A part of the handle, from the butt."""

    place: str
    name: str
    begins: str
    ends: str


class GuideLine(NamedTuple):
    """A guide, from the tip and from the butt."""

    number: str
    name: str
    from_tip: str
    from_butt: str


class _Said(NamedTuple):
    """What was worked out for a stage before its row is put together."""

    topics: tuple[Topic, ...]
    seen: tuple[Seen, ...]
    joints: tuple[JointLine, ...]


def stage_rows(row: BenchRow, sheet: BenchSheet, cures: Iterable[CureView], zone: ZoneInfo) -> list[StageRow]:
    """Every stage of the rod's sequence in order, with its figures, holds and what is on record."""
    shown: dict[str, tuple[str, FigureGroup]] = {}
    joints = _joints(row, cures, zone)
    rows = []
    for position, stage in enumerate(row.sequence.stages):
        before = row.sequence.stages[position - 1].name if position else ""
        topics, seen = _topics(row.sequence, stage, sheet, row.facts.measured, shown)
        said = _Said(topics, seen, joints.get(stage.name, ()))
        rows.append(_stage_row(row, stage, before, said, zone))
    return rows


def _joints(row: BenchRow, cures: Iterable[CureView], zone: ZoneInfo) -> dict[str, tuple[JointLine, ...]]:
    """By stage, what is closed there. Of two coats at a place the first on record is the first stage's.

    A joint that failed stands with the one that replaced it; whatever is left over is the last stage's.
    """
    waiting: dict[str, list[CureView]] = {}
    for cure in cures:
        if cure.pass_number == row.build.pass_number and cure.corrected_by is None:
            waiting.setdefault(cure.place, []).append(cure)
    last = {place: stage.name for stage in row.sequence.stages for place in stage.cure_places()}
    joints: dict[str, tuple[JointLine, ...]] = {}
    for stage in row.sequence.stages:
        lines = []
        for place in stage.cure_places():
            queue = waiting.get(place, [])
            good = next((number for number, cure in enumerate(queue) if not cure.failed), len(queue))
            taken = len(queue) if last[place] == stage.name else good + 1
            lines.append(JointLine(place, tuple(_cure_words(cure, zone) for cure in queue[:taken])))
            waiting[place] = queue[taken:]
        joints[stage.name] = tuple(lines)
    return joints


def _cure_words(cure: CureView, zone: ZoneInfo) -> str:
    mix = f"{cure.adhesive}, mix {cure.mix_id}, closed {dated(cure.closed_at, zone)}"
    if cure.failed:
        return f"{mix}, failed: {cure.failed}"
    set_at, full_at = (_time(instant, cure.stalled, zone) for instant in (cure.set_at, cure.full_at))
    return f"{mix}, set {set_at}, full cure {full_at}"


def _topics(
    sequence: Sequence,
    stage: Stage,
    sheet: BenchSheet,
    measured: Mapping[str, Quantity],
    shown: dict[str, tuple[str, FigureGroup]],
) -> tuple[tuple[Topic, ...], tuple[Seen, ...]]:
    """The figures of a stage by topic, and the topics that an earlier stage has printed already."""
    topics, seen = [], []
    for group in figures_of_stage(sheet, sequence, stage, measured):
        if not group.lines:
            continue
        earlier, same = shown.setdefault(group.topic, (stage.name, group))
        if earlier != stage.name and same.lines == group.lines:
            seen.append(Seen(group.title, earlier))
            continue
        meant = {f.name: f.meant for f in sheet.figures if f.topic == group.topic and f.topic in IN_A_TABLE}
        figures = tuple(_figure(line, meant.get(line.name)) for line in group.lines)
        topics.append(Topic(group.title, figures))
    return tuple(topics), tuple(seen)


def _figure(line: FigureLine, meant: Quantity | None) -> TicketFigure:
    """A figure's line: of what has a table of its own only what is `meant`, and a tolerance in one unit."""
    said = line.said if meant is None else format_quantity(meant)
    verdict = f", {line.verdict}" if line.verdict else ""
    measured = f"is {line.measured}{verdict}" if line.measured else ""
    tolerance, _, _ = line.tolerance.partition(" (")
    return TicketFigure(line.name, said, tolerance, measured, line.href, bool(line.tolerance))


def _stage_row(
    row: BenchRow,
    stage: Stage,
    before: str,
    said: _Said,
    zone: ZoneInfo,
) -> StageRow:
    reached = row.facts.reached.get(stage.name)
    is_next = row.decision.stage is not None and row.decision.stage.name == stage.name
    named = {figure.name for topic in said.topics for figure in topic.figures}
    return StageRow(
        stage.name,
        "done" if reached else "next" if is_next else "later",
        f"{dated(reached.at, zone)}, {reached.by}" if reached else "",
        tuple(must_words(hold) for hold in stage.holds if not _goes_without_saying(hold, before)),
        _holds(row, zone) if is_next else (),
        _ticks(stage, row),
        said.joints,
        said.topics,
        said.seen,
        _notes(stage, row.facts, named),
        tuple(record.name for record in stage.records if record.kind is RecordKind.PHOTO),
        tuple(caution.title for caution in cautions_for(stage)),
    )


def _holds(row: BenchRow, zone: ZoneInfo) -> tuple[HoldLine, ...]:
    """What shuts the next stage now; a check has its own box to tick."""
    return tuple(
        HoldLine(hold.reason, "" if hold.clears_at is None else _not_before(hold.clears_at, zone))
        for hold in row.decision.holds
        if hold.kind is not HoldKind.CHECK
    )


def _goes_without_saying(hold: Hold, before: str) -> bool:
    """Checks and figures have a line of their own; that the stage above comes first, the order says."""
    return hold.kind in ON_ITS_OWN_LINE or (hold.kind is HoldKind.ORDER and hold.stages == (before,))


def must_words(hold: Hold) -> str:
    """What must be true before a stage, in a few words."""
    names = _listed((*hold.stages, *hold.places, *((hold.place,) if hold.place else ())))
    words = {
        HoldKind.ORDER: f"after {names}",
        HoldKind.SET: f"{names} set",
        HoldKind.FULL_CURE: f"{names} fully cured",
        HoldKind.RECOAT: f"{names} in the recoat window",
        HoldKind.POT_LIFE: f"{names} closed within pot life",
        HoldKind.CHECK: f"{hold.check} checked" + (" by a second person" if hold.second_person else ""),
        HoldKind.MEASUREMENT: f"{hold.name} within tolerance",
        HoldKind.LOT: "lots in date",
        HoldKind.TURNER: "a turner place free",
        HoldKind.WARM: "warm enough to mix",
        HoldKind.PARTS: "parts set aside",
        HoldKind.SLIDE_ON: "all that slides on is on",
        HoldKind.DEPOSIT: "the deposit paid",
        HoldKind.BALANCE: "all of it paid",
        HoldKind.APPROVAL: "the customer's yes",
    }
    return words.get(hold.kind, hold.kind.value)


def _listed(names: Collection[str]) -> str:
    *first, last = names or ("",)
    return f"{', '.join(first)} and {last}" if first else last


def _ticks(stage: Stage, row: BenchRow) -> tuple[TickLine, ...]:
    """What is ticked at a stage, each once. A check of two people is done when two have ticked it."""
    least: dict[str, int] = {}
    for hold in stage.holds:
        if hold.kind is HoldKind.CHECK:
            least[hold.check] = 2 if hold.second_person else 1
    for record in stage.records:
        if record.kind is RecordKind.CHECK:
            least.setdefault(record.name, 1)
    lines = []
    for name, people in least.items():
        by = sorted({tick.by for tick in row.facts.ticks if tick.name == name})
        is_done = len(by) >= people or (bool(by) and stage.name in row.facts.reached)
        lines.append(TickLine(name + (" (a second person)" if people > 1 else ""), ", ".join(by), is_done))
    return tuple(lines)


def _notes(stage: Stage, facts: Facts, named: Collection[str]) -> tuple[TicketFigure, ...]:
    """What is measured at a stage and has no line among its figures."""
    records = (record.name for record in stage.records if record.kind is RecordKind.MEASUREMENT)
    wanted = {name: facts.meant.get(name) for name in records}
    for hold in stage.holds:
        if hold.kind is HoldKind.MEASUREMENT:
            wanted[hold.name] = meant_by(hold, facts)
    notes = []
    for name, meant in wanted.items():
        if name not in named:
            said = "" if meant is None else meant_words(meant)
            found = f"is {figure_words(facts.measured[name], meant)}" if name in facts.measured else ""
            notes.append(TicketFigure(name, said, "", found, "", True))
    return tuple(notes)


def cautions_of(sequence: Sequence) -> list[Caution]:
    """Every caution that a stage of the sequence needs, each once."""
    return list(dict.fromkeys(caution for stage in sequence.stages for caution in cautions_for(stage)))


def _time(instant: datetime | None, stalled: bool, zone: ZoneInfo) -> str:
    if instant is None:
        return "stalled: too cold" if stalled else "–"
    return _not_before(instant, zone)


def _not_before(instant: datetime, zone: ZoneInfo) -> str:
    """Rounded up to the minute, so that nobody is told one in which it is too early."""
    return dated(instant + timedelta(minutes=1) - timedelta(microseconds=1), zone)


def part_lines(make_up: MakeUp) -> list[PartLine]:
    """Where every part of the handle begins and ends, from the butt."""
    return [
        PartLine(part.place, part.name, _inch_and_mm(part.from_butt_nm), _inch_and_mm(part.to_butt_nm))
        for part in make_up.parts
    ]


def guide_lines(make_up: MakeUp) -> list[GuideLine]:
    """Where every guide stands, from the tip, and from the butt where the blank is known."""
    numbers = {guide.from_tip_nm: f"{number}" for number, guide in enumerate(make_up.train, 1)}
    lines = []
    for guide in make_up.guides:
        at = make_up.from_butt(guide)
        lines.append(
            GuideLine(
                numbers.get(guide.from_tip_nm, "tip-top"),
                guide.name,
                _inch_and_mm(guide.from_tip_nm),
                "–" if at is None else _inch_and_mm(at),
            )
        )
    return lines


def _inch_and_mm(nm: int) -> str:
    """A length for a narrow column that says its units: `8 3/16 (208)`."""
    return f"{format_inches(nm)} ({tenth_mm(nm)})"
