"""One stage of a sequence under Ways: its name and words, its holds, what is recorded."""

from dataclasses import replace
from functools import partial
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.quantities import Quantity, QuantityError, parse_quantity
from shop.db.sessions import Session
from shop.queries.sequences import sequence_value, sequence_view
from shop.rules.people import Right
from shop.rules.refusals import NotOnFile, Overtaken
from shop.rules.sequence_editing import (
    add_hold,
    add_record,
    change_stage,
    remove_hold,
    remove_record,
    rename_stage,
)
from shop.rules.sequences import (
    DRAWABLE,
    FIGURES,
    MOST_NAME,
    MOST_WORDS,
    NEEDS,
    PLACES,
    TAKES,
    USES,
    Hold,
    HoldKind,
    Record,
    RecordKind,
    Sequence,
)
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays, Looking
from shop.web.forms import Fields, FormView
from shop.web.pages.sequences import editing, hold_words, keep, record_words, version_words
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/stage.html"
# Where a fault of the whole stage is said, and what is said when there is none, by what was asked for.
FIELD_OF = {"": "name", "add record": "record_name"}
SAVED = {
    "add hold": "The hold is added.", "remove hold": "The hold is taken off.",
    "add record": "It is recorded from now on.", "remove record": "It is no longer recorded.",
}  # fmt: skip
# The fields of the form that are not called what a hold calls them.
FIELD_FOR = {"name": "figure", "place": "places"}
MISSING = {
    "stages": "Tick the stages that come first.",
    "places": "Tick the places it is about.",
    "check": "Name the check.",
    "figure": "Name the figure.",
    "nominal": "Say what the figure is meant to be, or leave both empty to go by the make-up of the rod.",
    "tolerance": "Say by how much it may differ, or leave both empty to go by the make-up of the rod.",
}
_NEEDS_NOTHING = (
    HoldKind.LOT, HoldKind.TURNER, HoldKind.WARM, HoldKind.PARTS, HoldKind.SLIDE_ON, HoldKind.APPROVAL,
    HoldKind.DEPOSIT, HoldKind.BALANCE,
)  # fmt: skip
CHOOSABLE = tuple(kind for kind in HoldKind if NEEDS[kind] or kind in _NEEDS_NOTHING)


@router.get("/ways/sequences/{sequence_id}/stages/{position}")
def show_stage(actor: Looking, page: Page, session: Reading, sequence_id: int, position: int) -> Response:
    """One stage."""
    context = _stage(session, sequence_id, position, actor.may(Right.WAYS))
    return page.show(TEMPLATE, here="ways", form=FormView(), **context)


def _stage(session: Session, sequence_id: int, position: int, may_change: bool = True) -> dict[str, Any]:
    value, view = sequence_value(session, sequence_id), sequence_view(session, sequence_id)
    if not 0 <= position < len(value.stages):
        raise NotOnFile("That sequence has no such stage.")
    stage = value.stages[position]
    return {
        "sequence": view,
        "may_change": may_change and view.retired_at is None,
        "version_words": version_words(view),
        "address": f"/ways/sequences/{sequence_id}/stages/{position}",
        "stage": stage,
        "holds": list(enumerate(hold_words(hold) for hold in stage.holds)),
        "records": list(enumerate(record_words(record) for record in stage.records)),
        "kinds": [(kind.value, kind.value.replace("_", " ")) for kind in CHOOSABLE],
        "record_kinds": [(kind.value, kind.value) for kind in RecordKind],
        "before": [earlier.name for earlier in value.stages[:position]],
        "places": sorted({*PLACES, *(place for s in value.stages for place in s.cure_places())}),
        "drawable": DRAWABLE,
        "figures": FIGURES,
        "uses": USES,
    }


@router.post("/ways/sequences/{sequence_id}/stages/{position}")
def save_stage(
    actor: AtWays, page: Page, session: Writing, now: Now, sequence_id: int, position: int, posted: Form
) -> Response:
    """Change a stage: one of its forms was posted, and says which."""
    # The stage is known by its name: somebody may have moved another one to its place meanwhile.
    name = posted.get("stage") or _stage(session, sequence_id, position)["stage"].name
    context = partial(_stage, session, sequence_id, position)
    with editing(page, session, sequence_id, posted, TEMPLATE, context) as sequence:
        changed = _changed(sequence, name, posted)
        what = posted.get("what", "")
        kept = keep(session, sequence_id, now, changed, FIELD_OF.get(what, ""))
    place = next(
        place for place, (old, _new) in enumerate(zip(sequence.stages, changed.stages, strict=True))
        if old.name == name
    )  # fmt: skip
    return page.go(f"/ways/sequences/{kept}/stages/{place}", SAVED.get(what, "The stage is saved."))


def _changed(sequence: Sequence, name: str, posted: Posted) -> Sequence:
    what = posted.get("what", "")
    fields = Fields(posted)
    if what == "add hold":
        return add_hold(sequence, name, _hold(posted, fields))
    if what == "add record":
        kind = fields.choice("record_kind", "What is recorded", tuple(RecordKind))
        record_name = fields.text("record_name", "Its name", MOST_NAME, required=True)
        fields.done()
        return add_record(sequence, name, Record(RecordKind(kind), record_name))
    if what in ("remove hold", "remove record"):
        return _without(sequence, name, what, posted, fields)
    return _described(sequence, name, posted, fields)


def _without(sequence: Sequence, name: str, what: str, posted: Posted, fields: Fields) -> Sequence:
    """Take out the hold or record at a place; not another that has come to stand there meanwhile."""
    place = fields.whole("place_of", "Its place", 0, 100)
    fields.required("place_of", "Its place", place)
    fields.done()
    stage = sequence.stage(name)
    said: tuple[str, ...] = ()
    if stage is not None:
        words_of = {
            "remove hold": tuple(hold_words(hold) for hold in stage.holds),
            "remove record": tuple(record_words(record) for record in stage.records),
        }
        said = words_of[what]
    if place is None or place >= len(said) or posted.get("words", said[place]) != said[place]:
        raise Overtaken("Somebody has changed this stage meanwhile; look again at what is there now.")
    remove = remove_hold if what == "remove hold" else remove_record
    return remove(sequence, name, place)


def _described(sequence: Sequence, name: str, posted: Posted, fields: Fields) -> Sequence:
    new_name = fields.text("name", "The name", MOST_NAME, required=True)
    words = fields.text("customer_words", "The words for the customer", MOST_WORDS)
    minutes = fields.whole("attended_minutes", "The minutes", 0, 6000) or 0
    fields.done()
    draws = tuple(item for item in DRAWABLE if item in posted.all("draws"))
    figures = tuple(item for item in FIGURES if item in posted.all("figures"))
    uses = tuple(item for item in USES if item in posted.all("uses"))
    described = partial(
        replace, customer_words=words, attended_minutes=minutes, draws=draws, figures=figures, uses=uses,
        tells_customer=bool(posted.get("tells_customer")),
    )  # fmt: skip
    changed = change_stage(sequence, name, described)
    return changed if new_name == name else rename_stage(changed, name, new_name)


def _hold(posted: Posted, fields: Fields) -> Hold:
    kind = fields.choice("kind", "The kind of hold", CHOOSABLE)
    said: dict[str, Any] = {
        "stages": tuple(posted.all("stages")),
        "places": tuple(posted.all("places")),
        "check": fields.text("check", "The name of the check", MOST_NAME),
        "second_person": bool(posted.get("second_person")),
        "figure": fields.text("figure", "The name of the figure", MOST_NAME),
        "nominal": _figure(fields, posted, "nominal"),
        "tolerance": _figure(fields, posted, "tolerance"),
    }
    fields.done()
    needs = tuple(FIELD_FOR.get(need, need) for need in NEEDS[HoldKind(kind)])
    takes = TAKES.get(HoldKind(kind), ())
    if kind == HoldKind.MEASUREMENT and (said["nominal"] or said["tolerance"]):
        needs += takes  # a figure of its own is both or neither
    for field, value in said.items():
        if field in needs and not value:
            fields.errors[field] = MISSING[field]
        elif value and field not in (*needs, *takes):
            words = kind.replace("_", " ")
            fields.errors[field] = f"A {words} hold does not ask for this; leave it empty."
    if kind == HoldKind.RECOAT and len(said["places"]) > 1:
        fields.errors["places"] = "A recoat hold is about one place; tick that one alone."
    fields.done()
    if kind == HoldKind.RECOAT:
        return Hold(HoldKind.RECOAT, place=said["places"][0])
    said["name"] = said.pop("figure")
    return Hold(HoldKind(kind), **said)


def _figure(fields: Fields, posted: Posted, name: str) -> Quantity | None:
    typed = posted.get(name, "")
    if not typed:
        return None
    try:
        return parse_quantity(typed)
    except QuantityError as fault:
        fields.errors[name] = str(fault)
        return None
