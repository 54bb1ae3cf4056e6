"""The sequence editor under Ways: the list, and one sequence with its stages in order."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.sequences import (
    SequenceView,
    present_sequences,
    sequence_value,
    sequence_view,
    versions_of,
)
from shop.rules.people import Right
from shop.rules.refusals import BadInput
from shop.rules.sequence_editing import add_stage, move_stage, remove_stage
from shop.rules.sequences import MOST_NAME, ROD_KINDS, Hold, HoldKind, Record, Sequence, Stage, doubts_of
from shop.services.sequences import begin_sequence, change_sequence, retire_sequence
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/sequences.html"
ONE = "pages/sequence.html"


@router.get("/ways/sequences")
def show_sequences(actor: Looking, page: Page, session: Reading) -> Response:
    """The sequences in use, and a form for a new one."""
    return page.show(LIST, here="ways", form=FormView(), **_list(session, actor.may(Right.WAYS)))


def _list(session: Session, may_change: bool = True) -> dict[str, Any]:
    present = present_sequences(session)
    rows = [
        [{"text": item.name, "href": f"/ways/sequences/{item.id}"}, item.rod_kind, item.version, item.builds]
        for item in present
    ]
    copies = [(item.id, f"a copy of “{item.name}” ({item.rod_kind})") for item in present]
    return {
        "rows": rows, "kinds": [(kind, kind) for kind in ROD_KINDS], "may_change": may_change,
        "copies": [("", "one stage, named below"), *copies],
    }  # fmt: skip


@router.post("/ways/sequences")
def begin(actor: AtWays, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Begin a new sequence with its first stage, or as a copy of another."""
    page.here = "ways"
    with showing_again(page, LIST, posted, lambda: _list(session)):
        fields = Fields(posted)
        name = fields.text("name", "The name", MOST_NAME, required=True)
        kind = fields.choice("rod_kind", "The kind of rod", ROD_KINDS)
        copied = fields.chosen("copy_of", "What to copy") if posted.get("copy_of") else None
        first = fields.text("first", "The first stage", MOST_NAME, required=copied is None)
        if copied is not None and first:
            fields.errors["first"] = "A copy brings its own stages; leave this empty, or copy nothing."
        fields.done()
        stages = (Stage(first),) if copied is None else sequence_value(session, copied).stages
        record = begin_sequence(session, now=now, sequence=Sequence(name, kind, stages))
    return page.go(f"/ways/sequences/{record.id}", f"{name} is begun; make its stages what you need.")


@router.get("/ways/sequences/{sequence_id}")
def show_sequence(actor: Looking, page: Page, session: Reading, sequence_id: int) -> Response:
    """One sequence with its stages."""
    context = one_sequence(session, sequence_id, actor.may(Right.WAYS))
    return page.show(ONE, here="ways", form=FormView(), **context)


def one_sequence(session: Session, sequence_id: int, may_change: bool = True) -> dict[str, Any]:
    """What the page of one sequence needs. Raises `NotOnFile`."""
    value, view = sequence_value(session, sequence_id), sequence_view(session, sequence_id)
    stages = [
        {
            "position": position,
            "name": stage.name,
            "words": stage.customer_words,
            "minutes": stage.attended_minutes,
            "holds": [hold_words(hold) for hold in stage.holds],
            "records": [record_words(record) for record in stage.records],
            "first": position == 0,
            "last": position == len(value.stages) - 1,
        }
        for position, stage in enumerate(value.stages)
    ]
    newest = versions_of(session, view.family_id)[0]
    after = [(stage.name, f"after “{stage.name}”") for stage in reversed(value.stages)]
    return {
        "sequence": view, "stages": stages, "after": [*after, ("", "at the very start")], "newest": newest,
        "version_words": version_words(view), "doubts": doubts_of(value),
        "may_change": may_change and view.retired_at is None,
    }  # fmt: skip


def version_words(view: SequenceView) -> str:
    """What a change of this version does, in a sentence."""
    if view.retired_at is not None:
        return "This version is out of use for new builds and is not changed any more."
    if not view.builds:
        return "No build has started on it yet, so a change changes it in place."
    who = "One build has started on it and keeps" if view.builds == 1 else (
        f"{view.builds} builds have started on it and keep"
    )  # fmt: skip
    return f"{who} it as it is: the next change makes version {view.version + 1}, for new builds."


def record_words(record: Record) -> str:
    """What is recorded, in a few plain words."""
    return f"{record.kind}: {record.name}"


def hold_words(hold: Hold) -> str:
    """A hold in a few plain words."""
    names = ", ".join((*hold.stages, *hold.places))
    by_make_up = "" if hold.nominal else ", as the make-up of the build says"
    words = {
        HoldKind.ORDER: f"after {names}",
        HoldKind.SET: f"set: {names}",
        HoldKind.FULL_CURE: f"fully cured: {names}",
        HoldKind.RECOAT: f"in the recoat window: {hold.place}",
        HoldKind.POT_LIFE: f"closed within pot life: {names}",
        HoldKind.CHECK: f"check: {hold.check}" + (", by a second person" if hold.second_person else ""),
        HoldKind.MEASUREMENT: f"within tolerance: {hold.name}{by_make_up}",
        HoldKind.LOT: "lots in date",
        HoldKind.TURNER: "a turner place free",
        HoldKind.WARM: "warm enough to mix",
    }
    return words.get(hold.kind, hold.kind.value)


@contextmanager
def editing(
    page: Frame, session: Session, sequence_id: int, posted: Posted, template: str,
    context: Callable[[], dict[str, Any]],
) -> Iterator[Sequence]:  # fmt: skip
    """Give the sequence to edit; a fault shows the form again with nothing changed."""
    page.here = "ways"

    def clean() -> dict[str, Any]:
        session.rollback()
        return context()

    with showing_again(page, template, posted, clean):
        try:
            yield sequence_value(session, sequence_id)
        except LookupError as fault:
            raise BadInput({"": str(fault)}) from fault


def keep(session: Session, sequence_id: int, now: datetime, changed: Sequence, field: str = "") -> int:
    """Put a change on file; gives the id of the version that has it. A fault stands beside `field`."""
    try:
        return change_sequence(session, sequence_id, now=now, sequence=changed).id
    except BadInput as bad:
        raise BadInput({field: bad.sentence}) from bad


@router.post("/ways/sequences/{sequence_id}/stages")
def put_stage_in(
    actor: AtWays, page: Page, session: Writing, now: Now, sequence_id: int, posted: Form
) -> Response:
    """Add a stage."""
    context = partial(one_sequence, session, sequence_id)
    with editing(page, session, sequence_id, posted, ONE, context) as sequence:
        fields = Fields(posted)
        name = fields.text("name", "The name", MOST_NAME, required=True)
        fields.done()
        changed = add_stage(sequence, name, posted.get("after", ""))
        kept = keep(session, sequence_id, now, changed, "name")
    return page.go(_row(kept, changed, name), f"“{name}” is added.")


@router.post("/ways/sequences/{sequence_id}/arrange")
def arrange_stages(
    actor: AtWays, page: Page, session: Writing, now: Now, sequence_id: int, posted: Form
) -> Response:
    """Move a stage up or down, or take it out."""
    context = partial(one_sequence, session, sequence_id)
    with editing(page, session, sequence_id, posted, ONE, context) as sequence:
        fields = Fields(posted)
        what = fields.choice("what", "What to do", ("up", "down", "remove"))
        fields.done()
        name = posted.get("stage", "")
        by = {"up": -1, "down": 1}.get(what)
        changed = remove_stage(sequence, name) if by is None else move_stage(sequence, name, by)
        kept = keep(session, sequence_id, now, changed)
    said = f"“{name}” is taken out." if by is None else f"“{name}” is moved {what}."
    return page.go(_row(kept, changed, name), said)


def _row(sequence_id: int, sequence: Sequence, name: str) -> str:
    """The address of a stage's row, so that whoever moves one again and again finds it in sight."""
    rows = (f"#stage-{place}" for place, stage in enumerate(sequence.stages) if stage.name == name)
    return f"/ways/sequences/{sequence_id}{next(rows, '')}"


@router.post("/ways/sequences/{sequence_id}/retire")
def take_out_of_use(actor: AtWays, page: Page, session: Writing, now: Now, sequence_id: int) -> Response:
    """Take a sequence out of use for new builds."""
    retire_sequence(session, sequence_id, now=now)
    return page.go("/ways/sequences", "Out of use for new builds; builds on it go on.")
