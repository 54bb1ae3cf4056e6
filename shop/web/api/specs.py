"""The API of specs: what is wanted of a rod, revision by revision."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.builds import BuildView, build_view
from shop.queries.specs import SpecView, latest_spec, specs_after
from shop.rules.spec import HandleRow, Spec
from shop.services.specs import revise_spec
from shop.web.api.base import After, Body, Limit, Once, OnlyNumber, Page, Ref, api_router, page_of
from shop.web.api.builds import Colour, RodKind, Title
from shop.web.api.lengths import LengthIn, LengthOut, length_out
from shop.web.api.make_ups import Revision
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("builds")

Short = Annotated[str, Field(max_length=40)]
Line = Annotated[str, Field(max_length=120)]
Words = Annotated[str, Field(max_length=200)]
HandlePlace = Literal[
    "butt cap", "gimbal", "rear grip", "arbor", "reel seat", "fore grip", "trim ring", "winding check"
]


class HandleIn(Body):
    """A part of the handle as it is wished for."""

    place: HandlePlace
    said: Annotated[str, Field(max_length=120, examples=["cork, full wells"])] = ""
    length: LengthIn | None = None


class SpecIn(Body):
    """A whole spec; sides are as seen from the butt.

    Left out, title, kind of rod, blank and colour of the thread are the build's; anything else is not said.

    `revision` is the one it was made from; left out, the latest, whichever it is. What changes after the
    stage that uses it could begin is a rework and needs a `reason`.
    """

    title: Title | None = None
    rod_kind: RodKind | None = None
    blank_id: Ref | None = None
    blank_words: Words = ""
    length_words: Annotated[Short, Field(examples=["7 ft"], description="In the customer's words.")] = ""
    power: Annotated[Short, Field(examples=["medium heavy"])] = ""
    action: Annotated[Short, Field(examples=["fast"])] = ""
    handle: Annotated[list[HandleIn], Field(max_length=20)] = Field(default=[])
    hand_size: Annotated[str, Field(max_length=60)] = ""
    reel: Line = ""
    reel_foot: Annotated[str, Field(max_length=60)] = ""
    winding_side: Literal["", "left", "right"] = ""
    guides: Words = ""
    guide_count: Annotated[int, Field(ge=1, le=30), OnlyNumber] | None = None
    thread_colour: Colour | None = None
    thread_name: Annotated[str, Field(max_length=80, examples=["dark red, size A"])] = ""
    trim_colour: Annotated[str, Field(pattern="^(#[0-9a-f]{6})?$", max_length=7)] = ""
    trim_name: Annotated[str, Field(max_length=80)] = ""
    inscription: Line = ""
    inscription_again: Annotated[
        Line, Field(description="The inscription typed a second time; it must be the same, or empty.")
    ] = ""
    inscription_side: Literal["", "left", "right", "top", "underside"] = ""
    wishes: Annotated[str, Field(max_length=4000)] = ""
    revision: Annotated[Revision | None, Field(description="The revision it was made from; 0 for none.")] = (
        None
    )
    reason: Annotated[str, Field(max_length=500)] = ""
    asked_by: Annotated[Literal["customer", "shop"], Field(description="Whose wish it is.")] = "customer"


class HandleOut(BaseModel):
    """A part of the handle as this revision has it."""

    place: str
    said: str
    length: LengthOut | None


class SpecOut(BaseModel):
    """A revision of a spec. `rework` names what was changed too late to be free."""

    revision: Annotated[int, Field(description="Which revision, counted from 1.")]
    entered_at: InstantOut
    by: str
    asked_by: str
    reason: str
    rework: list[str]
    title: str
    rod_kind: str
    blank_id: int | None
    blank_words: str
    length_words: str
    power: str
    action: str
    handle: list[HandleOut]
    hand_size: str
    reel: str
    reel_foot: str
    winding_side: str
    guides: str
    guide_count: int | None
    thread_colour: str
    thread_name: str
    trim_colour: str
    trim_name: str
    inscription: str
    inscription_again: str
    inscription_side: str
    wishes: str


def spec_out(view: SpecView) -> dict[str, Any]:
    """A revision of a spec, for `SpecOut`."""
    spec = view.value
    said = {name: getattr(spec, name) for name in SpecOut.model_fields if hasattr(spec, name)}
    rows = [
        {
            "place": row.place, "said": row.said,
            "length": None if row.length_nm is None else length_out(row.length_nm),
        }
        for row in spec.handle
    ]  # fmt: skip
    kept = {name: getattr(view, name) for name in SpecOut.model_fields if hasattr(view, name)}
    return {**said, **kept, "handle": rows}


def _spec_of(body: SpecIn, build: BuildView) -> Spec:
    said = body.model_dump(exclude={"revision", "reason", "asked_by", "handle"})
    for name in ("title", "rod_kind", "thread_colour"):
        said[name] = getattr(build, name) if said[name] is None else said[name]
    if "blank_id" not in body.model_fields_set:
        said["blank_id"] = build.blank_id
    rows = tuple(HandleRow(row.place, row.said, row.length) for row in body.handle)
    return Spec(**said, handle=rows)


def _latest(session: Session, build_id: int) -> SpecView:
    latest = latest_spec(session, build_id)
    assert latest is not None
    return latest


@router.get("/builds/{number}/specs", response_model=Page[SpecOut])
def list_specs(
    actor: KeyForLooking, session: Reading, number: str, after: After = 0, limit: Limit = 50
) -> Any:
    """Every revision of what is wanted of a rod, in order; `next` is the `after` of the next page."""
    views = specs_after(session, build_view(session, number).id, after, limit + 1)
    page = page_of(views, limit, lambda view: view.revision)
    return {**page, "items": [spec_out(view) for view in page["items"]]}


@router.post("/builds/{number}/specs", status_code=201, response_model=SpecOut)
def post_spec(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: SpecIn
) -> Any:
    """Keep a spec as the next revision; one that changes nothing keeps the present revision."""
    build = build_view(session, number)
    revise_spec(
        session, number, bench.bench(session, actor), _spec_of(body, build), revision=body.revision,
        reason=body.reason, asked_by=body.asked_by,
    )  # fmt: skip
    return spec_out(_latest(session, build.id))
