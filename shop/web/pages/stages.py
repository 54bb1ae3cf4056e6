"""One stage of a sequence under Ways: its name and words, its holds, what is recorded."""

from dataclasses import replace
from functools import partial
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.quantities import Quantity, QuantityError, parse_quantity
from shop.db.sessions import Session
from shop.queries.sequences import sequence_value, sequence_view
from shop.rules.refusals import NotOnFile
from shop.rules.sequence_editing import (
    add_hold,
    add_record,
    change_stage,
    remove_hold,
    remove_record,
    rename_stage,
)
from shop.rules.sequences import DRAWABLE, NEEDS, PLACES, Hold, HoldKind, Record, RecordKind, Sequence
from shop.services.sequences import change_sequence
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays, Looking
from shop.web.forms import Fields, FormView
from shop.web.pages.sequences import editing, hold_words
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/stage.html"
CHOOSABLE = tuple(kind for kind in HoldKind if NEEDS[kind] or kind is HoldKind.WARM)


@router.get("/ways/sequences/{sequence_id}/stages/{position}")
def show_stage(actor: Looking, page: Page, session: Reading, sequence_id: int, position: int) -> Response:
    """One stage."""
    context = _stage(session, sequence_id, position)
    return page.show(TEMPLATE, here="ways", form=FormView(), **context)


def _stage(session: Session, sequence_id: int, position: int) -> dict[str, Any]:
    value = sequence_value(session, sequence_id)
    if not 0 <= position < len(value.stages):
        raise NotOnFile("That sequence has no such stage.")
    stage = value.stages[position]
    return {
        "sequence": sequence_view(session, sequence_id),
        "position": position,
        "stage": stage,
        "holds": list(enumerate(hold_words(hold) for hold in stage.holds)),
        "records": list(enumerate(f"{record.kind}: {record.name}" for record in stage.records)),
        "kinds": [(kind.value, kind.value.replace("_", " ")) for kind in CHOOSABLE],
        "record_kinds": [(kind.value, kind.value) for kind in RecordKind],
        "before": [earlier.name for earlier in value.stages[:position]],
        "places": sorted({*PLACES, *(place for s in value.stages for place in s.cure_places())}),
        "drawable": DRAWABLE,
    }


@router.post("/ways/sequences/{sequence_id}/stages/{position}")
def save_stage(
    actor: AtWays, page: Page, session: Writing, now: Now, sequence_id: int, position: int, posted: Form
) -> Response:
    """Change a stage: one of its forms was posted, and says which."""
    before = _stage(session, sequence_id, position)
    context = partial(_stage, session, sequence_id, position)
    with editing(page, session, sequence_id, posted, TEMPLATE, context) as sequence:
        changed = _changed(sequence, before["stage"].name, posted)
        record = change_sequence(session, sequence_id, now=now, sequence=changed)
    return page.go(f"/ways/sequences/{record.id}/stages/{position}", "The stage is saved.")


def _changed(sequence: Sequence, name: str, posted: Posted) -> Sequence:
    what = posted.get("what", "")
    fields = Fields(posted)
    if what == "add hold":
        return add_hold(sequence, name, _hold(posted, fields))
    if what == "add record":
        kind = fields.choice("record_kind", "What is recorded", tuple(RecordKind))
        record_name = fields.text("record_name", "Its name", 80, required=True)
        fields.done()
        return add_record(sequence, name, Record(RecordKind(kind), record_name))
    if what in ("remove hold", "remove record"):
        place = fields.whole("place_of", "Its place", 0, 100) or 0
        fields.done()
        remove = remove_hold if what == "remove hold" else remove_record
        return remove(sequence, name, place)
    return _described(sequence, name, posted, fields)


def _described(sequence: Sequence, name: str, posted: Posted, fields: Fields) -> Sequence:
    new_name = fields.text("name", "The name", 80, required=True)
    words = fields.text("customer_words", "The words for the customer", 200)
    minutes = fields.whole("attended_minutes", "The minutes", 0, 6000) or 0
    fields.done()
    draws = tuple(item for item in DRAWABLE if item in posted.all("draws"))
    changed = change_stage(
        sequence, name, lambda s: replace(s, customer_words=words, attended_minutes=minutes, draws=draws)
    )
    return changed if new_name == name else rename_stage(changed, name, new_name)


def _hold(posted: Posted, fields: Fields) -> Hold:
    kind = fields.choice("kind", "The kind of hold", CHOOSABLE)
    fields.done()
    needs = NEEDS[HoldKind(kind)]
    places = tuple(posted.all("places"))
    nominal, tolerance = _figure(fields, posted, "nominal"), _figure(fields, posted, "tolerance")
    missing = {
        "stages": not posted.all("stages") and "Tick the stages that come first.",
        "places": not places and "Tick the places it is about.",
        "place": not places and "Tick the place it is about.",
        "check": not posted.get("check") and "Name the check.",
        "name": not posted.get("figure") and "Name the figure.",
        "nominal": nominal is None and "Say what the figure is meant to be.",
        "tolerance": tolerance is None and "Say by how much it may differ.",
    }
    where = {"name": "figure", "place": "places"}
    for need in needs:
        if missing[need]:
            fields.errors.setdefault(where.get(need, need), str(missing[need]))
    fields.done()
    said: dict[str, Any] = {
        "stages": tuple(posted.all("stages")), "places": places, "place": places[0] if places else "",
        "check": posted.get("check", ""), "name": posted.get("figure", ""), "nominal": nominal,
        "tolerance": tolerance,
    }  # fmt: skip
    second = kind == HoldKind.CHECK and bool(posted.get("second_person"))
    return Hold(HoldKind(kind), second_person=second, **{need: said[need] for need in needs})


def _figure(fields: Fields, posted: Posted, name: str) -> Quantity | None:
    typed = posted.get(name, "")
    if not typed:
        return None
    try:
        return parse_quantity(typed)
    except QuantityError as fault:
        fields.errors[name] = str(fault)
        return None
