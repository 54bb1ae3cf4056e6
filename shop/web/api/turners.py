"""The API of turners: places and who is on them, looks, stops, and the rods that a stop caught wet."""

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.cure_clock import Warmth
from shop.queries.turner_stops import StopView, stop_view
from shop.queries.turners import StayView, TurnerView, stay_view, turner_view, turners_after
from shop.rules.refusals import BadInput
from shop.rules.turners import MOST_NAME, MOST_NOTE, USUAL_CHECK_MINUTES
from shop.services.turner_stops import end_stop, inspect, stop_turner, turn_by_hand
from shop.services.turners import (
    MOST_REASON,
    add_turner,
    change_turner,
    move,
    note_turning,
    put_on,
    take_off,
)
from shop.web.api.base import (
    CAN_BE_HELD,
    After,
    Body,
    Limit,
    Once,
    Page,
    Ref,
    Truth,
    Whole,
    api_router,
    changes_of,
    page_of,
)
from shop.web.api.logged import By
from shop.web.api.times import InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForBench, KeyForLooking, KeyForWays

router = api_router("turners")

ASKED = "Minutes after which somebody is asked again whether it still turns."
WHICH = "A section by its number; 0 is the whole rod."
Name = Annotated[str, Field(max_length=MOST_NAME, examples=["Rack"])]
TAKES = "How many rods or sections it takes."
Places = Annotated[Whole, Field(description=TAKES, examples=[6])]
Number = Annotated[str, Field(max_length=20, examples=["26-014"])]
Section = Annotated[Whole, Field(description=WHICH, examples=[0])]
Place = Annotated[Whole, Field(description="The place, counted from 1.", examples=[3])]


class TurnerIn(Body):
    """A new turner; `zone_id` is where it stands."""

    name: Name
    places: Places
    check_minutes: Annotated[Whole, Field(description=ASKED)] = USUAL_CHECK_MINUTES
    zone_id: Ref | None = None


class TurnerChanges(Body):
    """What changes of a turner; whatever is left out stays."""

    name: Name | None = None
    places: Annotated[Places | None, Field(description=TAKES)] = None
    check_minutes: Annotated[Whole | None, Field(description=ASKED)] = None
    zone_id: Ref | None = None


class StayIn(Body):
    """A rod, or one section of it, that is put on a place; `on_at` is now if left out."""

    build: Number
    section: Section = 0
    place_number: Place
    on_at: InstantIn | None = None
    by: By = ""


class OffIn(Body):
    """A rod that comes off; before its turning time is over only for a `reason`, which stays on record."""

    off_at: InstantIn | None = None
    reason: Annotated[str, Field(max_length=MOST_REASON)] = ""
    by: By = ""


class StayMove(Body):
    """Where a rod goes; `at` is now if left out."""

    turner_id: Ref
    place_number: Place
    at: InstantIn | None = None
    by: By = ""


class TurnerLookIn(Body):
    """Somebody looked, and it turned; `at` is now if left out."""

    at: InstantIn | None = None
    by: By = ""


class TurnerStopIn(Body):
    """It stands still; since the last time that it was seen turning where `stopped_at` is left out."""

    stopped_at: InstantIn | None = None
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""
    by: By = ""


class TurnerStopEnd(Body):
    """It turns again; `ended_at` is now if left out."""

    ended_at: InstantIn | None = None
    by: By = ""


class StoppedRodIn(Body):
    """What was done with a rod that a stop caught wet: `turned` by hand, or inspected with an `outcome`.

    A flawed coat needs a `note`; `at` goes with `turned` alone.
    """

    build: Number
    section: Section = 0
    turned: Annotated[Truth, Field(examples=[True])] = False
    at: InstantIn | None = None
    outcome: Literal["good", "flawed"] | None = None
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""
    by: By = ""


class StayOut(BaseModel):
    """A rod on a place; `off_at` is null while it is on it.

    It must turn until `turns_until`, which is null where it carries no coat, or where no time ends it
    (`no_end`: too cold, or a tacky puddle). `by_sheet` is false where the sheet says no turning time and its
    set time counts. `to_inspect`: it stood still while it was wet, and nobody has looked at its coat since.
    """

    id: int
    turner_id: int
    place_number: Place
    build: str
    title: str
    section: Section
    on_at: InstantOut
    by: str
    turns_until: InstantOut | None
    no_end: bool
    by_sheet: bool
    to_inspect: bool
    off_at: InstantOut | None
    off_by: str


class TurnerOut(BaseModel):
    """A turner with the rods on it. `stop_id` is set while it stands still, since `stopped_at`.

    `last_seen_at` is when somebody last stood at it and it turned; `look_at` is when to look next, null
    where nothing on it has to go on turning.
    """

    id: int
    name: str
    places: Places
    free: Annotated[int, Field(description="Places that a rod could be put on now.")]
    check_minutes: Annotated[int, Field(description=ASKED)]
    zone_id: int | None
    last_seen_at: InstantOut | None
    look_at: InstantOut | None
    stop_id: int | None
    stopped_at: InstantOut | None
    on: list[StayOut]


class StoppedRodOut(BaseModel):
    """A rod that stood still while it was wet; `outcome` is empty until somebody has inspected it.

    `by_hand` says that it stands still and is wet: turn it by hand, and inspect it later.
    """

    build: str
    section: Section
    place_number: Annotated[int | None, Field(description="Where it is now, on whichever turner.")]
    by_hand: bool
    turns_until: InstantOut | None
    turned_at: InstantOut | None
    turned_by: str
    inspected_at: InstantOut | None
    inspected_by: str
    outcome: Literal["", "good", "flawed"]
    note: str


class TurnerStopOut(BaseModel):
    """A stop; `rods` are those that it caught wet, in the order in which to turn them by hand."""

    id: int
    turner_id: int
    stopped_at: InstantOut
    by: str
    note: str
    ended_at: InstantOut | None
    ended_by: str
    rods: list[StoppedRodOut]


def _stay_out(stay: StayView) -> dict[str, Any]:
    turning = stay.turning
    shown = {"turns_until": turning.until, "no_end": turning.no_end, "by_sheet": turning.by_sheet}
    return {**stay._asdict(), **shown}


def _turner_out(view: TurnerView, now: datetime) -> dict[str, Any]:
    shown = {"free": view.free, "last_seen_at": view.last_seen_at, "look_at": view.look_at(now)}
    return {**view._asdict(), **shown, "on": [_stay_out(stay) for stay in view.stays]}


def _stop_out(view: StopView, now: datetime) -> dict[str, Any]:
    rods = [
        {
            **rod._asdict(),
            "turns_until": rod.turning.until,
            "by_hand": not rod.outcome and view.needs_hand(rod, now),
        }
        for rod in view.rods
    ]
    return {**view._asdict(), "rods": rods}


def _shown_stop(session: Session, stop_id: int, warmth: Warmth, now: datetime) -> dict[str, Any]:
    session.flush()
    return _stop_out(stop_view(session, stop_id, warmth), now)


@router.get("/turners", response_model=Page[TurnerOut])
def list_turners(
    actor: KeyForLooking, session: Reading, bench: TheBench, after: After = 0, limit: Limit = 50
) -> Any:
    """Turners by id, with who is on them."""
    page = page_of(
        turners_after(session, bench.warmth(session), after, limit + 1), limit, lambda view: view.id
    )
    return {**page, "items": [_turner_out(view, bench.now) for view in page["items"]]}


@router.post("/turners", status_code=201, response_model=TurnerOut)
def post_turner(
    actor: KeyForWays, session: Writing, _once: Once, now: Now, bench: TheBench, body: TurnerIn
) -> Any:
    """Put a turner on file."""
    turner = add_turner(session, now=now, **body.model_dump())
    return _turner_out(turner_view(session, turner.id, bench.warmth(session)), now)


@router.get("/turners/{turner_id}", response_model=TurnerOut)
def get_turner(actor: KeyForLooking, session: Reading, bench: TheBench, turner_id: int) -> Any:
    """One turner with who is on it."""
    return _turner_out(turner_view(session, turner_id, bench.warmth(session)), bench.now)


@router.patch("/turners/{turner_id}", response_model=TurnerOut)
def patch_turner(
    actor: KeyForWays, session: Writing, _once: Once, bench: TheBench, turner_id: int, body: TurnerChanges
) -> Any:
    """Change what is on file of a turner; a place with a rod on it cannot go."""
    at_bench = bench.bench(session, actor)
    change_turner(session, at_bench, turner_id, **changes_of(body, "zone_id"))
    return _turner_out(turner_view(session, turner_id, at_bench.warmth), bench.now)


@router.post("/turners/{turner_id}/stays", status_code=201, response_model=StayOut)
def post_stay(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, turner_id: int, body: StayIn
) -> Any:
    """Put a rod, or one section of it, on a place."""
    at_bench = bench.bench(session, actor)
    stay = put_on(session, at_bench, turner_id, **body.model_dump())
    return _stay_out(stay_view(session, stay.id, at_bench.warmth))


@router.post("/stays/{stay_id}/off", response_model=StayOut, openapi_extra=CAN_BE_HELD)
def post_stay_off(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, stay_id: int, body: OffIn
) -> Any:
    """Take a rod off; 409 with `holds` before its turning time is over, or before it was inspected."""
    at_bench = bench.bench(session, actor)
    take_off(session, at_bench, stay_id, **body.model_dump())
    return _stay_out(stay_view(session, stay_id, at_bench.warmth))


@router.post("/stays/{stay_id}/move", status_code=201, response_model=StayOut)
def post_stay_move(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, stay_id: int, body: StayMove
) -> Any:
    """Move a rod to another place; gives its new stay."""
    at_bench = bench.bench(session, actor)
    stay = move(session, at_bench, stay_id, **body.model_dump())
    return _stay_out(stay_view(session, stay.id, at_bench.warmth))


@router.post("/turners/{turner_id}/checks", status_code=201, response_model=TurnerOut)
def post_turner_check(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, turner_id: int, body: TurnerLookIn
) -> Any:
    """Write down that somebody looked and it turned."""
    at_bench = bench.bench(session, actor)
    note_turning(session, at_bench, turner_id, **body.model_dump())
    return _turner_out(turner_view(session, turner_id, at_bench.warmth), bench.now)


@router.post("/turners/{turner_id}/stops", status_code=201, response_model=TurnerStopOut)
def post_turner_stop(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, turner_id: int, body: TurnerStopIn
) -> Any:
    """Write down that a turner stands still; gives the rods that it caught wet, the wettest first."""
    at_bench = bench.bench(session, actor)
    stop = stop_turner(session, at_bench, turner_id, **body.model_dump())
    return _shown_stop(session, stop.id, at_bench.warmth, bench.now)


@router.get("/stops/{stop_id}", response_model=TurnerStopOut)
def get_turner_stop(actor: KeyForLooking, session: Reading, bench: TheBench, stop_id: int) -> Any:
    """One stop with the rods that it caught wet."""
    return _stop_out(stop_view(session, stop_id, bench.warmth(session)), bench.now)


@router.post("/stops/{stop_id}/end", response_model=TurnerStopOut)
def post_turner_stop_end(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, stop_id: int, body: TurnerStopEnd
) -> Any:
    """Write down that it turns again; every rod that it caught wet is then to be inspected."""
    at_bench = bench.bench(session, actor)
    end_stop(session, at_bench, stop_id, **body.model_dump())
    return _shown_stop(session, stop_id, at_bench.warmth, bench.now)


@router.post("/stops/{stop_id}/rods", response_model=TurnerStopOut, openapi_extra=CAN_BE_HELD)
def post_stopped_rod(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, stop_id: int, body: StoppedRodIn
) -> Any:
    """Write down that a rod was turned by hand, or how its coat was found; 409 while it is wet and stands."""
    at_bench = bench.bench(session, actor)
    _check_one_thing(body)
    rod = body.model_dump(include={"build", "section", "by"})
    if body.outcome is None:
        turn_by_hand(session, at_bench, stop_id, at=body.at, **rod)
    else:
        inspect(session, at_bench, stop_id, outcome=body.outcome, note=body.note, **rod)
    return _shown_stop(session, stop_id, at_bench.warmth, bench.now)


def _check_one_thing(body: StoppedRodIn) -> None:
    if body.turned == (body.outcome is not None):
        raise BadInput({"turned": "Say either that it was turned by hand or how its coat was found."})
    if body.outcome is not None and body.at is not None:
        raise BadInput({"at": "An inspection is of now; a time goes with turning by hand."})
