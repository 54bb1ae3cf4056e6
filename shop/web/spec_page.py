"""The spec of a build as pages show it: what is asked for and until when, revisions, and on the bench."""

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.bench import BenchRow
from shop.queries.blanks import blank_view, blanks_by_model
from shop.queries.builds import BuildView
from shop.queries.enquiries import waiting_of
from shop.queries.specs import Revisions, SpecView, latest_spec, revisions_of_build, specs_of
from shop.rules.facts import ApprovalFact
from shop.rules.people import Right
from shop.rules.sequences import ROD_KINDS
from shop.rules.spec import FIRST_COLOUR, HANDLE_PLACES, HANDS, LABELS, SHOP, SIDES, Spec
from shop.rules.spec_changes import TOPICS, openness, rework_waits_for
from shop.web.benches import BenchSide
from shop.web.deps import Posted
from shop.web.forms import Fields
from shop.web.spec_form import SPARE_ROWS, SpecRow, first_rows, rows_of, spec_of, values_of
from shop.web.spec_words import SpecChange, SpecLine, changes_in_words, lines_used_by, spec_lines
from shop.web.templating import Frame
from shop.web.wording import when

# A ticket's code names the revisions of the make-up and of the spec that it was printed from.
_PRINTED = re.compile(r"(\d{1,5})\.(\d{1,5})", re.ASCII)


class TopicRow(NamedTuple):
    """A topic of the spec: what is asked for, and whether the customer may still change it."""

    label: str
    text: str
    colours: tuple[str, ...]
    is_open: bool
    says: str


class RevisionRow(NamedTuple):
    """A revision: who wrote it down, when and why, and what it changed."""

    revision: int
    words: str
    changes: list[SpecChange]


def spec_context(
    page: Frame, session: Session, bench: BenchSide, build: BuildView, rows: list[SpecRow] | None = None
) -> dict[str, Any]:
    """Everything that `pages/spec.html` needs but its form; `rows` are those of the handle as typed."""
    views = specs_of(session, build.id)
    row = bench.row_of(session, build)
    blanks = blank_names(session)
    latest = views[0] if views else None
    on_file = first_rows(build.rod_kind) if latest is None else rows_of(latest.value)
    may_desk = page.person is not None and page.person.may(Right.DESK)
    return {
        **form_lists(blanks, on_file if rows is None else rows),
        "build": build,
        "latest": latest,
        "written": "" if latest is None else _written(latest, bench.now, page.zone),
        "reworks": _reworks(views, row.facts.approval),
        "topics": _topic_rows(row, latest, blanks),
        "waiting": waiting_words(session, build, bench.now, page.zone),
        "may_change": may_desk and build.closed_at is None,
        "may_desk": may_desk,
        "revisions": _revision_rows(views, blanks, bench.now, page.zone),
        "clash": [],
        "kind_is_fixed": build.stage is not None or build.pass_number > 1,
        "open_words": {item.topic.name: item.says for item in openness(row.sequence, row.facts.reached)},
    }


def form_lists(blanks: Mapping[int, str], rows: list[SpecRow]) -> dict[str, Any]:
    """What the fields of a spec offer, and the rows of its handle with some to spare."""
    return {
        "rows": rows + [SpecRow()] * SPARE_ROWS,
        "places": tuple(HANDLE_PLACES),
        "kinds": [(kind, kind) for kind in ROD_KINDS],
        "blanks": [("", "none yet"), *blanks.items()],
        "hands": [("", "not said"), *((hand, hand) for hand in HANDS)],
        "sides": [("", "not said"), *((side, side) for side in SIDES)],
        "open_words": {},
        "kind_is_fixed": False,
    }


def blank_names(session: Session) -> dict[int, str]:
    """The names of the blanks on file, by id."""
    return {item.id: f"{item.maker} {item.model}".strip() for item in blanks_by_model(session)}


def first_values(build: BuildView | None = None) -> dict[str, Any]:
    """What the form of a first spec begins with: what is known of the build, if there is one."""
    kind, title, blank_id, colour = "", "", None, FIRST_COLOUR
    if build is not None:
        kind, title, blank_id, colour = build.rod_kind, build.title, build.blank_id, build.thread_colour
    return values_of(Spec(kind, title, blank_id, thread_colour=colour))


def waiting_words(session: Session, build: BuildView, now: datetime, zone: ZoneInfo) -> str:
    """What an open enquiry waits for, as a sentence; empty for an order."""
    if not build.is_enquiry or build.closed_at is not None:
        return ""
    return waiting_of(session, build.id, now.astimezone(zone).date()).says


def clashing(session: Session, latest: SpecView | None, posted: Posted) -> list[SpecChange]:
    """What was typed beside what is on file by now, where the two differ; empty where it cannot be read."""
    fields = Fields(posted)
    typed = spec_of(posted, fields)
    if latest is None or fields.errors:
        return []
    return changes_in_words(latest.value, typed, blank_names(session))


def _topic_rows(row: BenchRow, latest: SpecView | None, blanks: Mapping[int, str]) -> list[TopicRow]:
    said: dict[str, SpecLine] = {}
    if latest is not None:
        blank = blanks.get(latest.value.blank_id or 0, "")
        said = {line.topic: line for line in spec_lines(latest.value, blank)}
    states = {item.topic.name: item for item in openness(row.sequence, row.facts.reached)}
    nothing = SpecLine("", "", "–")
    return [
        TopicRow(
            topic.label, said.get(topic.name, nothing).text, said.get(topic.name, nothing).colours,
            states[topic.name].is_open, states[topic.name].says,
        )
        for topic in TOPICS
    ]  # fmt: skip


def _reworks(views: list[SpecView], approval: ApprovalFact | None) -> list[str]:
    """The reworks that wait for a price or for the customer's yes to it, as sentences."""
    found = [
        (view, rework_waits_for(view.revision, view.asked_by, approval)) for view in views if view.rework
    ]
    return [
        f"Revision {view.revision} changes what had begun "
        f"({', '.join(LABELS[name].lower() for name in view.rework)}): a rework. It waits for: {waits_for}"
        for view, waits_for in found
        if waits_for
    ]


def _revision_rows(
    views: list[SpecView], blanks: Mapping[int, str], now: datetime, zone: ZoneInfo
) -> list[RevisionRow]:
    """The revisions, newest first, each with what it changed of the one before."""
    befores: list[SpecView | None] = [*views[1:], None]
    return [
        RevisionRow(
            view.revision,
            _written(view, now, zone),
            [] if before is None else changes_in_words(before.value, view.value, blanks, view.rework),
        )
        for view, before in zip(views, befores, strict=False)
    ]


def _written(view: SpecView, now: datetime, zone: ZoneInfo) -> str:
    whose = "the shop's own wish" if view.asked_by == SHOP else "the customer's wish"
    why = f": {view.reason}" if view.reason else ""
    return f"{when(view.entered_at, now, zone)}, {view.by}, {whose}{why}"


def spec_on_bench(session: Session, row: BenchRow, printed: str) -> dict[str, Any]:
    """What the rod's page says of its spec: what the next stage uses of it, and whether a ticket is stale.

    `printed` is what the code of a ticket names, empty where no ticket was scanned.
    """
    revisions = revisions_of_build(session, row.build.id)
    stage = row.decision.stage
    latest = latest_spec(session, row.build.id) if revisions.spec and stage and stage.uses else None
    lines: list[SpecLine] = []
    if latest is not None and stage is not None:
        lines = lines_used_by(spec_lines(latest.value, blank_of(session, latest)), stage.uses)
    return {"asked_for": lines, "revisions": revisions, "stale_ticket": _stale(printed, revisions)}


def blank_of(session: Session, view: SpecView) -> str:
    """The name of the blank on file that a spec names, empty where it names none."""
    if view.value.blank_id is None:
        return ""
    blank = blank_view(session, view.value.blank_id)
    return f"{blank.maker} {blank.model}".strip()


def _stale(printed: str, now: Revisions) -> str:
    """What is newer than the ticket that was scanned, as a sentence; empty where nothing is."""
    found = _PRINTED.fullmatch(printed)
    if found is None:
        return ""
    then = Revisions(*map(int, found.groups()))
    newer = [
        f"the {name} is at revision {present} and the ticket at {was or 'none'}"
        for name, present, was in (("make-up", now.make_up, then.make_up), ("spec", now.spec, then.spec))
        if present > was
    ]
    return f"Changed since the ticket was printed: {', '.join(newer)}. Print it anew." if newer else ""


def revision_words(revisions: Revisions) -> str:
    """The revisions that a ticket is printed from: `revision 2 of the make-up and revision 1 of the spec`."""
    named = (("make-up", revisions.make_up), ("spec", revisions.spec))
    return " and ".join(f"revision {revision} of the {name}" for name, revision in named if revision)


def ticket_address(base_url: str, number: str, revisions: Revisions) -> str:
    """What the code of a ticket opens: the rod's page, told which revisions the ticket was printed from."""
    address = f"{base_url}/builds/{number}"
    return f"{address}?ticket={revisions.make_up}.{revisions.spec}" if any(revisions) else address


def read_spec(posted: Posted, fields: Fields) -> Spec:
    """The spec as typed. Raises `BadInput` with every fault that keeps it from being read."""
    spec = spec_of(posted, fields)
    fields.done()
    return spec
