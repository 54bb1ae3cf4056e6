"""One rod as its page shows it: finished values for the template, put together from what is on record."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.craft.quantities import format_quantity
from shop.db.sessions import Session
from shop.queries.bench import BenchRow
from shop.queries.cures import CureView, cures_of_build
from shop.queries.events import EventView, events_of_build
from shop.queries.make_ups import latest_make_up
from shop.queries.messages import messages_of_build
from shop.queries.mixes import MixView, mixes_since
from shop.rules.build_parts import LOOK_ALIKE_CHECK
from shop.rules.cautions import cautions_for
from shop.rules.decide import decide
from shop.rules.enquiries import says_of_order
from shop.rules.facts import Meant
from shop.rules.measuring import meant_by, meant_words
from shop.rules.orientation import ORIENTATION_CHECK, orientation_words, spine_rule
from shop.rules.people import Right
from shop.rules.record import quantity_of
from shop.rules.sequences import PREP_CHECK, Hold, HoldKind, RecordKind, Stage
from shop.services.status_links import live_token
from shop.web.benches import BenchSide
from shop.web.build_parts_page import parts_in_short
from shop.web.curves import draw_curves
from shop.web.figures import figures_of_stage
from shop.web.mail_page import lines_of_build
from shop.web.message_page import MOST_ON_ROD, WRITE_HINT, shop_lines
from shop.web.orientation import draw_facing
from shop.web.photo_page import photos_of_rod
from shop.web.rods import drawing_of, due_of, hold_view, ruler_cure, state_of
from shop.web.ruler import RulerDrawing, draw_ruler
from shop.web.sheets import marked
from shop.web.spec_page import spec_on_bench
from shop.web.templating import Frame
from shop.web.wording import for_input, not_before, when

RECENT = timedelta(hours=24)


class StageLine(NamedTuple):
    """A stage in the rod's list: `done`, `next` or `later`."""

    name: str
    state: str
    text: str


class EventLine(NamedTuple):
    """An entry of the record in finished words."""

    id: int
    at_text: str
    at_iso: str
    title: str
    text: str
    by: str
    struck: bool
    correct_href: str


class Ask(NamedTuple):
    """What the next stage asks for: a `check`, a `measurement` or a `cure`; photos are `photo_page`'s."""

    kind: str
    name: str
    hint: str
    second_person: bool


def rod_context(
    page: Frame, session: Session, bench: BenchSide, number: str, ticket: str = ""
) -> dict[str, Any]:
    """Everything that `pages/rod.html` needs but its form. Raises `NotOnFile`.

    `ticket` is what the code of a bench ticket names, where one was scanned.
    """
    now, zone, who = bench.now, page.zone, "" if page.person is None else page.person.name
    row = _seen_by(who, bench.row(session, number), now)
    warmth = bench.warmth(session)
    stage = row.decision.stage
    events = events_of_build(session, row.build.id)
    due, overdue = due_of(row, now, zone)
    return {
        "build": row.build,
        "drawing": drawing_of(row, compact=False),
        "state": state_of(row, now, zone, page.shop.hours),
        "due": due,
        "overdue": overdue,
        "stage": stage,
        "holds": [hold_view(hold, now, zone) for hold in row.decision.holds],
        "blocked": is_blocked(row),
        "rechecks": [hold.recheck.name for hold in row.decision.holds if hold.recheck is not None],
        "asks": [] if stage is None else asks_of(stage, row, who, page.shop.spine_rules),
        "mixes": _mix_options(mixes_since(session, now - RECENT, warmth), now, zone),
        "cautions": () if stage is None else cautions_for(stage),
        **figures_for(page, session, row),
        **_facing(page, row),
        **photos_of_rod(session, row.build, stage, events),
        "stages": stage_lines(row, now, zone),
        "cures": _cure_rows(cures_of_build(session, row.build.id, warmth), now, zone),
        "ruler": ruler_of(row, now, zone),
        # What is soft is carried all together; the page of any of its cures has the form.
        "carry_href": f"/cures/{row.cures[-1].id}#h-moves" if row.cures else "",
        "record_lines": event_lines(events, row.build.pass_number, now, zone),
        "reached": list(row.facts.reached),
        "back_options": [(name, name) for name in row.facts.reached],
        "now_local": for_input(now, zone),
        **_from_desk(page, session, row, ticket, now),
    }


def _from_desk(page: Frame, session: Session, row: BenchRow, ticket: str, now: datetime) -> dict[str, Any]:
    """What the customer asked for, was given and was told, and what whoever looks may do."""
    return {
        **spec_on_bench(session, row, ticket),
        "enquiry_says": says_of_order(row.facts.approval),
        "parts": parts_in_short(row.facts.parts),
        "status_url": status_address(page, session, row.build.id),
        "mails": lines_of_build(page, session, row.build.id, now),
        "messages": shop_lines(messages_of_build(session, row.build.id, MOST_ON_ROD), now, page.zone),
        "write_hint": WRITE_HINT,
        "warranty": "" if row.build.warranty_until is None else row.build.warranty_until.isoformat(),
        **_rights(page),
    }


def _rights(page: Frame) -> dict[str, bool]:
    """What whoever looks may do on the page besides logging."""
    asked = (("may_release", Right.RELEASE), ("may_correct", Right.CORRECT), ("may_desk", Right.DESK))
    return {name: page.person is not None and page.person.may(right) for name, right in asked}


def figures_for(page: Frame, session: Session, row: BenchRow) -> dict[str, Any]:
    """The figures that the next stage shows, from the latest make-up, and the bent shapes among them."""
    stage = row.decision.stage
    latest = latest_make_up(session, row.build.id) if stage is not None and stage.figures else None
    if stage is None or latest is None:
        return {"figures": [], "curves": None}
    sheet = page.hub.sheets.of(latest.id, latest.value)
    bent = sheet.bent if "static test" in stage.figures else None
    return {
        "figures": figures_of_stage(sheet, row.sequence, stage, row.facts.measured),
        "curves": None if bent is None else draw_curves(bent),
    }


def _facing(page: Frame, row: BenchRow) -> dict[str, Any]:
    """How the parts face, as a picture and in words, where the next stage shows it."""
    own, stage = page.shop.spine_rules, row.decision.stage
    if stage is None or "spine" not in stage.figures:
        return {"facing": None, "facing_words": ""}
    kind = row.build.rod_kind
    return {
        "facing": draw_facing(kind, spine_rule(kind, own)),
        "facing_words": orientation_words(kind, own),
    }


def _seen_by(who: str, row: BenchRow, now: datetime) -> BenchRow:
    """The rod for whoever looks: nobody is their own second person, and that is said before the tap."""
    stage = row.decision.stage
    if stage is None:
        return row
    return row._replace(decision=decide(row.sequence, replace(row.facts, who=who), stage.name, now))


def status_address(page: Frame, session: Session, build_id: int) -> str | None:
    """The customer's address of a build, for signed-in people, or none."""
    token = live_token(session, page.hub.secret, build_id)
    return None if token is None else f"{page.base_url}/rod/{token}"


def is_blocked(row: BenchRow) -> bool:
    """Whether the next stage waits for something that its form does not ask for."""
    return any(not hold.is_asked for hold in row.decision.holds)


def asks_of(stage: Stage, row: BenchRow, who: str, spine_rules: Mapping[str, str]) -> list[Ask]:
    """What to ask `who` when the stage is logged: what its holds need and what it records, each once."""
    asks = []
    for hold in stage.holds:
        if hold.kind is HoldKind.CHECK:
            asks.append(Ask("check", hold.check, _hint_of(hold, row, spine_rules), hold.second_person))
        elif hold.kind is HoldKind.MEASUREMENT:
            asks.append(Ask("measurement", hold.name, _meant(meant_by(hold, row.facts)), False))
    if any(hold.check == PREP_CHECK for hold in row.decision.holds):
        asks.append(Ask("check", PREP_CHECK, "washed, scuffed and wiped", False))
    for record in stage.records:
        if record.kind is RecordKind.PHOTO:
            continue
        meant = row.facts.meant.get(record.name) if record.kind is RecordKind.MEASUREMENT else None
        asks.append(Ask(record.kind.value, record.name, _meant(meant), False))
    seen: dict[tuple[str, str], Ask] = {}
    for ask in asks:
        if not _is_known(ask, row, who):
            seen.setdefault((ask.kind, ask.name), ask)
    return list(seen.values())


def _meant(meant: Meant | None) -> str:
    return "" if meant is None else f"meant: {meant_words(meant)}"


def _hint_of(hold: Hold, row: BenchRow, spine_rules: Mapping[str, str]) -> str:
    """What to know of a check: how the parts are to face, and who has ticked it where two must."""
    is_about_facing = hold.check == ORIENTATION_CHECK
    words = [orientation_words(row.build.rod_kind, spine_rules)] if is_about_facing else []
    if hold.check == LOOK_ALIKE_CHECK:
        words.append("Scan each of them at the rod's parts; or look at every one of them and tick.")
    if hold.second_person:
        by = ", ".join(sorted({tick.by for tick in row.facts.ticks if tick.name == hold.check}))
        words.append(f"Ticked by {by} so far." if by else "A second person must tick this.")
    return " ".join(words)


def _is_known(ask: Ask, row: BenchRow, who: str) -> bool:
    """Whether nothing is to be asked: a figure out of tolerance may be measured again, and somebody who has
    not ticked yet may be the second person. The preparing is asked for where it is missing for this stage.
    """
    if ask.kind == RecordKind.MEASUREMENT:
        is_amiss = any(hold.figure == ask.name for hold in row.decision.holds)
        return ask.name in row.facts.measured and not is_amiss
    ticked_by = {tick.by for tick in row.facts.ticks if tick.name == ask.name}
    if ask.kind != RecordKind.CHECK or ask.name == PREP_CHECK or not ticked_by:
        return False
    return not ask.second_person or who in ticked_by or len(ticked_by) > 1


def _mix_options(mixes: list[MixView], now: datetime, zone: ZoneInfo) -> list[tuple[str, str]]:
    return [("", "not yet; log the joint later")] + [
        (str(mix.id), marked(f"{mix.adhesive}, mixed {when(mix.mixed_at, now, zone)}", mix.sheet_mark))
        for mix in mixes
    ]


def stage_lines(row: BenchRow, now: datetime, zone: ZoneInfo) -> list[StageLine]:
    """The stages of the rod's sequence with when and by whom they were reached."""
    next_name = None if row.decision.stage is None else row.decision.stage.name
    lines = []
    for stage in row.sequence.stages:
        reached = row.facts.reached.get(stage.name)
        if reached is not None:
            lines.append(StageLine(stage.name, "done", f"{when(reached.at, now, zone)}, {reached.by}"))
        else:
            lines.append(StageLine(stage.name, "next" if stage.name == next_name else "later", ""))
    return lines


def _cure_rows(cures: list[CureView], now: datetime, zone: ZoneInfo) -> list[list[Any]]:
    def said(instant: datetime | None, stalled: bool) -> str:
        if instant is None:
            return "stalled: too cold" if stalled else "–"
        return not_before(instant, now, zone)

    rows: list[list[Any]] = []
    for cure in cures:
        note = "failed" if cure.failed else "corrected" if cure.corrected_by else ""
        rows.append(
            [
                {"text": cure.place, "href": f"/cures/{cure.id}"},
                {"text": marked(cure.adhesive, cure.sheet_mark), "href": f"/mixes/{cure.mix_id}"},
                when(cure.closed_at, now, zone), said(cure.set_at, cure.stalled),
                said(cure.full_at, cure.stalled), note or "counts",
            ]
        )  # fmt: skip
    return rows


def ruler_of(row: BenchRow, now: datetime, zone: ZoneInfo) -> RulerDrawing | None:
    """The time ruler of what is still soft on the rod, or none."""
    if not row.cures:
        return None
    cures = [ruler_cure(row, cure) for cure in row.cures]
    start = min(cure.closed_at for cure in cures)
    ends = [cure.full_at for cure in cures if cure.full_at is not None]
    end = max([now + timedelta(hours=6), *ends])
    return draw_ruler(cures, start, end, now, zone)


# What the record calls what happened, where it is not a stage that was reached.
_HAPPENED = {
    "stage": "stage", "check": "check", "measurement": "measured", "release": "rule released",
    "mix": "cup mixed", "cure": "closed", "puddle": "puddle touched", "suspicion": "under suspicion",
    "verdict": "verdict", "send_back": "sent back", "correction": "put right", "make_up": "make-up saved",
    "move": "carried", "turner": "turner", "spec": "spec", "quote": "quote", "payment": "payment",
    "parts": "parts", "photo": "photo", "promise": "promise", "intake": "taken in", "closed": "closed",
    "order": "order",
}  # fmt: skip


def event_lines(events: list[EventView], pass_number: int, now: datetime, zone: ZoneInfo) -> list[EventLine]:
    """The record, newest first; entries that were corrected are struck through and stay readable."""
    corrected = {event.corrects for event in events if event.corrects is not None}
    lines = []
    for event in reversed(events):
        said = event.note or _said(event)
        if "recheck_at" in event.details:
            until = datetime.fromisoformat(event.details["recheck_at"])
            said = f"{said} To be looked at again {not_before(until, now, zone)}."
        title = event.stage or _HAPPENED[event.kind]
        if event.kind not in ("stage", "cure"):
            title = f"{_HAPPENED[event.kind]}: {event.stage}" if event.stage else title
        correctable = event.kind in ("stage", "check", "measurement", "release")
        lines.append(
            EventLine(
                event.id, when(event.at, now, zone), event.at.isoformat(), title, said, event.by,
                event.id in corrected,
                f"/events/{event.id}" if correctable and event.pass_number == pass_number else "",
            )
        )  # fmt: skip
    return lines


def _said(event: EventView) -> str:
    details = event.details
    parts = [f"{name} ticked by {by}" for name, by in details.get("checks", ())]
    measured = details.get("measurements", {}).items()
    parts += [f"{name}: {format_quantity(quantity_of(kept))}" for name, kept in measured]
    parts += [f"{item['kind']} released: {item['reason']}" for item in details.get("releases", ())]
    parts += [f"revision {details['revision']}"] if "revision" in details else []
    return "; ".join(parts)
