"""The API of make-ups: what goes on a build and where, revision by revision, and the figures that follow."""

from dataclasses import replace
from typing import Annotated, Any

from fastapi import Query
from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.make_ups import MakeUpView, latest_make_up, make_up_at
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.bench_figures.sheet import bench_sheet
from shop.rules.make_up import Ways
from shop.rules.refusals import NotOnFile
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid, save_make_up
from shop.web.api.base import Body, Number, Once, OnlyNumber, Ref, api_router
from shop.web.api.lengths import LengthIn, LengthOut, length_out
from shop.web.api.quantities import quantity_out
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, TheHub, Writing
from shop.web.doors import KeyForDesk, KeyForLooking
from shop.web.sums import address_of

router = api_router("builds")

Place = Annotated[str, Field(max_length=40, examples=["rear grip"])]
Revision = Annotated[int, Field(ge=0, le=10_000), OnlyNumber]
Asked = Annotated[int, Query(ge=1, le=10_000, description="Which revision, counted from 1.")]
Load = Annotated[Number, Field(gt=0, le=20_000)]


class PartIn(Body):
    """A part of the handle: which component, and where it begins and ends from the butt of the blank."""

    place: Place
    component_id: Ref
    from_butt: LengthIn
    to_butt: LengthIn


class GuideIn(Body):
    """A guide by the distance of its ring from the tip; from tip to butt."""

    from_tip: LengthIn
    component_id: Ref | None = None


class WaysIn(Body):
    """The shop's own measures for this rod; whatever is left out is what is common practice."""

    clearance: LengthIn | None = None
    facing: LengthIn | None = None
    hood_gap: LengthIn | None = None
    recess_relief: LengthIn | None = None
    ream_limit: LengthIn | None = None
    tape: LengthIn | None = None
    allowance_percent: Annotated[Number, Field(ge=0, le=1000)] | None = None
    thread: LengthIn | None = None
    wrap: LengthIn | None = None
    minutes_a_wrap: Annotated[
        Annotated[Number, Field(ge=0, le=1000)] | None, Field(description="Minutes to coat one wrap.")
    ] = None
    light_load_g: Load | None = None
    middle_load_g: Load | None = None
    heavy_load_g: Load | None = None
    reel_g: Load | None = None
    reel_from_butt: LengthIn | None = None


class MakeUpIn(Body):
    """A whole make-up. `revision` is the one it was made from; left out, the latest, whichever it is."""

    parts: Annotated[list[PartIn], Field(max_length=20)] = Field(default=[])
    guides: Annotated[list[GuideIn], Field(max_length=30)] = Field(default=[])
    bond_id: Ref | None = None
    finish_id: Ref | None = None
    ways: WaysIn = Field(default=WaysIn())
    revision: Annotated[Revision | None, Field(description="The revision it was made from; 0 for none.")] = (
        None
    )
    reason: Annotated[str, Field(max_length=500)] = ""


class PartOut(BaseModel):
    """A part of the handle as this revision has it."""

    place: str
    kind: str
    name: str
    component_id: int | None
    from_butt: LengthOut
    to_butt: LengthOut


class GuideOut(BaseModel):
    """A guide; `from_butt` is null while no blank is chosen."""

    from_tip: LengthOut
    from_butt: LengthOut | None
    name: str
    component_id: int | None


class FigureOut(BaseModel):
    """A figure that follows; `meant` and `tolerance` are null where it is not measured.

    `sum` is the address of the calculator that gives it, filled in.
    """

    topic: str
    name: str
    says: str
    place: str
    meant: Any = None
    tolerance: Any = None
    sum: str


class MakeUpOut(BaseModel):
    """A revision of a make-up with the figures that follow from it."""

    revision: Annotated[int, Field(description="Which revision, counted from 1.")]
    entered_at: InstantOut
    by: str
    reason: str
    parts: list[PartOut]
    guides: list[GuideOut]
    bond_id: int | None
    finish_id: int | None
    figures: list[FigureOut]
    troubles: list[str]


def make_up_out(view: MakeUpView, sheet: BenchSheet) -> dict[str, Any]:
    """A make-up, for `MakeUpOut`."""
    value = view.value
    return {
        "revision": view.revision, "entered_at": view.entered_at, "by": view.by, "reason": view.reason,
        "parts": [
            {
                "place": part.place, "kind": part.kind, "name": part.name,
                "component_id": part.component_id, "from_butt": length_out(part.from_butt_nm),
                "to_butt": length_out(part.to_butt_nm),
            }
            for part in value.parts
        ],
        "guides": [
            {
                "from_tip": length_out(guide.from_tip_nm), "name": guide.name,
                "from_butt": None if (at := value.from_butt(guide)) is None else length_out(at),
                "component_id": guide.component_id,
            }
            for guide in value.guides
        ],
        "bond_id": None if value.bond is None else value.bond.adhesive_id,
        "finish_id": None if value.finish is None else value.finish.adhesive_id,
        "figures": [_figure_out(figure) for figure in sheet.figures],
        "troubles": [trouble.sentence for trouble in sheet.troubles],
    }  # fmt: skip


def _figure_out(figure: BenchFigure) -> dict[str, Any]:
    return {
        "topic": figure.topic,
        "name": figure.name,
        "says": figure.said,
        "place": figure.place,
        "meant": None if figure.meant is None else quantity_out(figure.meant, figure.tolerance),
        "tolerance": None if figure.tolerance is None else quantity_out(figure.tolerance, figure.tolerance),
        "sum": address_of(figure.calculator, figure.given) if figure.calculator else "",
    }


def _said(body: MakeUpIn) -> MakeUpSaid:
    said = body.ways.model_dump(exclude_none=True)
    loads = {
        f"{name.removesuffix('_g')}_mg": round(grams * 1000)
        for name, grams in said.items()
        if name.endswith("_g")
    }
    plain = {name: value for name, value in said.items() if name in ("allowance_percent", "minutes_a_wrap")}
    lengths = {
        f"{name}_nm": value for name, value in said.items() if name not in plain and not name.endswith("_g")
    }
    return MakeUpSaid(
        [
            PartSaid(part.place, part.component_id, part.from_butt, part.to_butt) for part in body.parts
        ],
        [GuideSaid(guide.from_tip, guide.component_id) for guide in body.guides],
        body.bond_id, body.finish_id, replace(Ways(), **loads, **plain, **lengths),
    )  # fmt: skip


def _view_of(session: Session, number: str, revision: int | None) -> MakeUpView:
    build = build_view(session, number)
    view = latest_make_up(session, build.id) if revision is None else make_up_at(session, build.id, revision)
    if view is None:
        which = "no make-up" if revision is None else f"no revision {revision} of the make-up"
        raise NotOnFile(f"There is {which} of {number} on file.")
    return view


@router.get("/builds/{number}/make-up", response_model=MakeUpOut)
def get_make_up(
    actor: KeyForLooking, session: Reading, hub: TheHub, number: str, revision: Asked | None = None
) -> Any:
    """What goes on a build and where, and every figure that follows; the latest revision, or another."""
    view = _view_of(session, number, revision)
    return make_up_out(view, hub.sheets.of(view.id, view.value))


@router.post("/builds/{number}/make-up", status_code=201, response_model=MakeUpOut)
def post_make_up(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: MakeUpIn
) -> Any:
    """Keep a make-up as the next revision; one that changes nothing keeps the present revision."""
    kept = save_make_up(
        session, number, bench.bench(session, actor), _said(body), revision=body.revision, reason=body.reason
    )
    # Not from the kept figures: this revision is not committed yet, and its id may be given again.
    view = _view_of(session, number, kept)
    return make_up_out(view, bench_sheet(view.value))
