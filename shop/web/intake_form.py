"""The form of an intake: the condition list as typed, and what it says; an intake on file in the form."""

from datetime import date
from typing import Any, NamedTuple

from shop.db.sessions import Session
from shop.queries.builds import BuildView, build_view_by_id
from shop.queries.intakes import IntakeView, intake_view
from shop.queries.photos import photos_of_build
from shop.queries.returns import returns_of_build
from shop.rules.intakes import (
    FIRST_GUIDES,
    MOST_GUIDES,
    MOST_ROD,
    MOST_WISH,
    NOT_LOOKED_AT,
    SOUND,
    STATES,
    Condition,
    IntakeSaid,
    blank_list,
    guides_among,
    said_of_conditions,
    sides_lacking,
    with_guides,
    work_of,
)
from shop.services.repair_works import works_on_offer
from shop.web.benches import BenchSide
from shop.web.deps import Posted
from shop.web.forms import Fields
from shop.web.lot_page import on_paper
from shop.web.templating import Frame
from shop.web.wording import warranty_words

MOST_VERSION = 10**9


class ListRow(NamedTuple):
    """A row of the condition list as the form shows it; `amiss` is whether it is anything but sound."""

    item: str
    state: str
    note: str
    amiss: bool


def typed_conditions(posted: Posted) -> tuple[Condition, ...]:
    """The rows of the list as typed."""
    columns = (posted.all(f"row_{name}") for name in ("item", "state", "note"))
    return tuple(Condition(*cells) for cells in zip(*columns, strict=False))


def intake_of(posted: Posted, fields: Fields) -> IntakeSaid | None:
    """The intake as typed, its guides as many as were said; none, with the faults noted, without a day."""
    brought_on = fields.required("brought_on", "The day", fields.day("brought_on", "The day"))
    rod = fields.text("rod", "The rod", MOST_ROD)
    wish = fields.text("wish", "What is to be done", MOST_WISH).replace("\r\n", "\n")
    guides = fields.whole("guides", "The number of guides", 0, MOST_GUIDES)
    conditions = typed_conditions(posted)
    if guides is not None and conditions:
        conditions = with_guides(conditions, guides)
    return None if brought_on is None else IntakeSaid(brought_on, rod, wish, conditions)


def values_for(view: IntakeView | None, today: date) -> dict[str, Any]:
    """An intake on file as the form shows it, but for its list; or the form before one is on file."""
    if view is None:
        return {"brought_on": today.isoformat(), "guides": FIRST_GUIDES, "version": 0}
    return {
        "brought_on": view.brought_on.isoformat(), "rod": view.rod, "wish": view.wish,
        "guides": guides_among(view.conditions), "version": view.version,
    }  # fmt: skip


def list_rows(conditions: tuple[Condition, ...]) -> list[ListRow]:
    """A condition list as the form and the receipt show it."""
    return [
        ListRow(row.item, row.state, row.note, row.state not in (SOUND, NOT_LOOKED_AT)) for row in conditions
    ]


def intake_context(page: Frame, session: Session, bench: BenchSide, build: BuildView) -> dict[str, Any]:
    """Everything that `pages/intake.html` and `pages/receipt.html` need but the form."""
    view = intake_view(session, build.id)
    conditions = blank_list(FIRST_GUIDES) if view is None else view.conditions
    sequence = bench.hub.sequences.of_build(session, build.sequence_id).value
    lacking = sides_lacking(photo.side for photo in photos_of_build(session, build.id))
    own = None if build.copied_from_id is None else build_view_by_id(session, build.copied_from_id)
    brought_on = bench.now.astimezone(page.zone).date() if view is None else view.brought_on
    return {
        "build": build,
        "own": own,
        "came_back_for": "" if own is None else _cause_of(session, own.id, build.number),
        "warranty": "" if own is None else warranty_words(own.warranty_until, brought_on),
        "intake": view,
        "rows": list_rows(conditions),
        "states": [(state, state) for state in STATES],
        "summary": said_of_conditions(conditions),
        "brought": "" if view is None else view.brought_on.isoformat(),
        "signed": "" if view is None or view.signed_at is None else on_paper(view.signed_at, page.zone),
        "lacking": " and ".join(lacking),
        "work": work_of(sequence.name),
        "sequence_name": sequence.name,
        "works": works_on_offer(session),
        "printed": on_paper(bench.now, page.zone),
    }


def _cause_of(session: Session, own_id: int, repair: str) -> str:
    """Why one of our own rods came back for a repair; empty where nobody has written that down."""
    return next((line.cause for line in returns_of_build(session, own_id) if line.repair == repair), "")
