"""The API of builds: taking them on, what comes next, logging stages, sending back."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.queries.builds import BuildView, build_view, builds_after
from shop.queries.sequences import sequence_for_kind
from shop.queries.shop import read_shop
from shop.rules.promises import MOST_REASON
from shop.rules.refusals import BadInput
from shop.services.bench import Signer
from shop.services.builds import change_build, take_on_build
from shop.services.events import advance, send_back
from shop.web.api.base import CAN_BE_HELD, After, Body, Limit, Once, Page, Ref, Truth, api_router, page_of
from shop.web.api.holds import NextOut, next_out
from shop.web.api.logged import AdvanceIn, By, Name, Reason, logged_of
from shop.web.api.times import DayIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForBench, KeyForCorrecting, KeyForDesk, KeyForLooking

router = api_router("builds")

Title = Annotated[str, Field(max_length=120, examples=["7 ft casting rod"])]
RodKind = Literal["casting", "spinning", "fly", "surf", "boat", "repair"]
Colour = Annotated[str, Field(pattern="^#[0-9a-f]{6}$", examples=["#7a1f2b"])]
Notes = Annotated[str, Field(max_length=4000)]
REASON = "Why the promised day moves; the customer is told, and it stays on the record."
PromiseReason = Annotated[str, Field(max_length=MOST_REASON, description=REASON)]
CHANGE_BY = "The last day on which the customer may change something, where the shop named one."


class BuildIn(Body):
    """A new build. Without `sequence_id` it follows the present sequence for its kind of rod."""

    customer_id: Ref
    title: Title
    rod_kind: RodKind | None = None
    sequence_id: Ref | None = None
    blank_id: Ref | None = None
    promised_on: DayIn | None = None
    thread_colour: Colour = "#7a1f2b"
    notes: Notes = ""
    is_enquiry: Annotated[Truth, Field(description="Nobody has ordered it yet.")] = False


class BuildChanges(Body):
    """What changes of a build; whatever is left out stays, and null takes a blank or a day away.

    A promise that was made moves with a `promise_reason`.
    """

    customer_id: Ref | None = None
    title: Title | None = None
    blank_id: Ref | None = None
    promised_on: DayIn | None = None
    promise_reason: PromiseReason = ""
    change_by: Annotated[DayIn | None, Field(description=CHANGE_BY)] = None
    thread_colour: Colour | None = None
    notes: Notes | None = None


class BuildOut(BaseModel):
    """A build. `stage` is the one last reached in the present pass.

    `closed_as` is empty, or says how an order ended that came to nothing: declined or cancelled.
    """

    number: str
    title: str
    rod_kind: str
    customer_id: int
    sequence_id: int
    blank_id: int | None
    promised_on: date | None
    thread_colour: str
    notes: str
    change_by: Annotated[date | None, Field(description=CHANGE_BY)]
    stage: str | None
    pass_: Annotated[int, Field(serialization_alias="pass")]
    is_enquiry: bool
    created_at: InstantOut
    closed_at: InstantOut | None
    closed_as: str


class SendBackIn(Body):
    """The stage that still stands, and why everything after it is to be done again."""

    to: Name
    reason: Reason
    by: By = ""


def build_out(build: BuildView) -> dict[str, Any]:
    """A build, for `BuildOut`."""
    return {**build._asdict(), "pass_": build.pass_number}


@router.get("/builds", response_model=Page[BuildOut])
def list_builds(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Builds, finished ones included, in the order they were taken on."""
    page = page_of(builds_after(session, after, limit + 1), limit, lambda build: build.id)
    return {**page, "items": [build_out(build) for build in page["items"]]}


@router.post("/builds", status_code=201, response_model=BuildOut)
def post_build(actor: KeyForDesk, session: Writing, _once: Once, now: Now, body: BuildIn) -> Any:
    """Take a build on; it gets the next printed number of the year."""
    plan = body.model_dump()
    plan["sequence_id"], plan["rod_kind"] = sequence_for_kind(session, body.sequence_id, body.rod_kind)
    build = take_on_build(session, now=now, zone=read_shop(session).zone, actor=actor, **plan)
    return build_out(build_view(session, build.number))


@router.get("/builds/{number}", response_model=BuildOut)
def get_build(actor: KeyForLooking, session: Reading, number: str) -> Any:
    """One build by its printed number."""
    return build_out(build_view(session, number))


@router.patch("/builds/{number}", response_model=BuildOut)
def patch_build(
    actor: KeyForDesk, session: Writing, _once: Once, now: Now, number: str, body: BuildChanges
) -> Any:
    """Change the plan of a build; its kind of rod and its sequence stay as it started."""
    changes = body.model_dump(exclude_unset=True)
    for name in ("customer_id", "title", "thread_colour", "notes"):
        if name in changes and changes[name] is None:
            raise BadInput({name: f"{name} may be left out, but it cannot be null."})
    change_build(session, number, Signer(now, actor), **changes)
    return build_out(build_view(session, number))


@router.get("/builds/{number}/next", response_model=NextOut)
def get_next(actor: KeyForLooking, session: Reading, bench: TheBench, number: str) -> Any:
    """The next stage, and every reason why it may not be reached yet."""
    return next_out(bench.row(session, number).decision)


@router.post("/builds/{number}/advance", response_model=BuildOut, openapi_extra=CAN_BE_HELD)
def post_advance(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: AdvanceIn
) -> Any:
    """Log that a build has reached a stage; 409 with every hold when it may not."""
    advance(session, number, bench.bench(session, actor), logged_of(body, actor.name))
    return build_out(build_view(session, number))


@router.post("/builds/{number}/send-back", response_model=BuildOut)
def post_send_back(
    actor: KeyForCorrecting, session: Writing, _once: Once, bench: TheBench, number: str, body: SendBackIn
) -> Any:
    """Send a build back to a stage it has reached; a new pass begins."""
    send_back(session, number, bench.bench(session, actor), to=body.to, reason=body.reason, by=body.by)
    return build_out(build_view(session, number))
