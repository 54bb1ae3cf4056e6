"""The API of intakes: how a rod came in for repair, the signature of whoever brought it, and its work."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.intakes import intake_view
from shop.rules.intakes import MOST_NAME, MOST_NOTE, MOST_ROD, MOST_WISH, MOST_WORK, Condition, IntakeSaid
from shop.rules.refusals import NotOnFile
from shop.services.intakes import sign_intake, write_intake
from shop.services.repair_works import choose_work
from shop.web.addresses import MOST_WHOLE
from shop.web.api.base import Body, Once, OnlyNumber, api_router
from shop.web.api.builds import BuildOut, build_out
from shop.web.api.times import DayIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForDesk

router = api_router("intakes")

State = Literal["not looked at", "sound", "worn", "loose", "cracked", "missing"]
VersionIn = Annotated[
    Annotated[int, Field(ge=0, le=MOST_WHOLE), OnlyNumber] | None,
    Field(description="The `version` that was seen, 0 before the first; to be told when there is a newer."),
]


class ConditionIn(Body):
    """One thing that was looked at; `item` as on the list, such as `tip-top`, `guide 3 wrap` or `blank`."""

    item: Annotated[str, Field(max_length=40, examples=["tip-top"])]
    state: State = "not looked at"
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""


class IntakeIn(Body):
    """How a rod came in; the list is kept whole as it is sent."""

    brought_on: Annotated[DayIn, Field(examples=["2026-03-02"])]
    rod: Annotated[str, Field(max_length=MOST_ROD, examples=["7 ft casting, dark green, no name"])]
    wish: Annotated[str, Field(max_length=MOST_WISH, examples=["New tip-top, and look at the seat."])]
    conditions: Annotated[list[ConditionIn], Field(default_factory=list, max_length=100)]
    version: VersionIn = None


class Signing(Body):
    """Who signs."""

    signed_name: Annotated[str, Field(max_length=MOST_NAME, examples=["Ada Thorn"])]
    version: VersionIn = None


class WorkIn(Body):
    """What is to be done on a repair: the name of the sequence that does it, with or without `Repair: `."""

    work: Annotated[str, Field(min_length=1, max_length=MOST_WORK, examples=["new tip-top"])]


class ConditionOut(BaseModel):
    """One thing that was looked at."""

    item: str
    state: State
    note: str


class IntakeOut(BaseModel):
    """How a rod came in; `signed_at` is null until whoever brought it has signed."""

    build: str
    brought_on: date
    rod: str
    wish: str
    conditions: list[ConditionOut]
    signed_name: str
    signed_at: InstantOut | None
    entered_at: InstantOut
    by: str
    version: int


def _shown(session: Session, number: str) -> dict[str, Any]:
    """The intake of a build. Raises `NotOnFile` where there is none."""
    view = intake_view(session, build_view(session, number).id)
    if view is None:
        raise NotOnFile(f"Nobody has written down how {number} came in.")
    return {"build": number, **view._asdict()}


@router.get("/builds/{number}/intake", response_model=IntakeOut)
def get_intake(actor: KeyForDesk, session: Reading, number: str) -> Any:
    """How a repair came in."""
    return _shown(session, number)


@router.put("/builds/{number}/intake", response_model=IntakeOut)
def put_intake(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: IntakeIn
) -> Any:
    """Write down how a repair came in, as long as nobody has signed for it."""
    conditions = tuple(Condition(row.item, row.state, row.note) for row in body.conditions)
    said = IntakeSaid(body.brought_on, body.rod, body.wish, conditions)
    write_intake(session, number, bench.bench(session, actor), said, version=body.version)
    return _shown(session, number)


@router.post("/builds/{number}/intake/sign", response_model=IntakeOut)
def post_signature(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: Signing
) -> Any:
    """Have the list signed by whoever brought the rod; the check of its sequence is ticked by that."""
    at_bench = bench.bench(session, actor)
    sign_intake(session, number, at_bench, name=body.signed_name, version=body.version)
    return _shown(session, number)


@router.post("/builds/{number}/work", response_model=BuildOut)
def post_work(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: WorkIn
) -> Any:
    """Choose what is to be done on a repair, and with it the sequence that it follows."""
    choose_work(session, number, bench.bench(session, actor), work=body.work)
    return build_out(build_view(session, number))
