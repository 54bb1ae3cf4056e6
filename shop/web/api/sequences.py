"""The API of sequences: every version with its stages, holds and records."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, Field

from shop.db.sessions import Session
from shop.queries.sequences import (
    SequenceView,
    sequence_value,
    sequence_values,
    sequence_view,
    sequences_after,
)
from shop.rules.sequences import FIGURES, USES, Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.services.sequences import add_sequence
from shop.web.api.base import After, Body, Limit, Once, Page, Truth, Whole, api_router, page_of
from shop.web.api.quantities import QuantityIn, quantity_out
from shop.web.api.times import InstantOut
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForLooking, KeyForWays

router = api_router("sequences")

Name = Annotated[str, Field(max_length=80)]
Names = Annotated[list[Name], Field(max_length=60)]


def read_kind(value: Any) -> Any:
    """A kind of hold as sent. Raises `ValueError` with a sentence for one that nothing would judge."""
    known = ", ".join(HoldKind)
    if isinstance(value, str) and value not in set(HoldKind):
        raise ValueError(f"There is no hold of the kind “{value[:20]}”; use one of {known}")
    return value


class HoldIn(Body):
    """A hold on a stage; only the fields that its kind needs.

    A `measurement` without `nominal` and `tolerance` goes by the make-up of each build: it holds until the
    make-up says what the figure of that `name` should be, and the figure is on record and within tolerance.
    """

    kind: Annotated[HoldKind, BeforeValidator(read_kind)]
    stages: Names = Field(default=[])
    places: Names = Field(default=[])
    place: Name = ""
    check: Name = ""
    second_person: Truth = False
    name: Name = ""
    nominal: QuantityIn | None = Field(
        default=None,
        description="What a measured figure is meant to be; with `tolerance`, or neither of the two: then "
        "the hold goes by the make-up of the build.",
    )
    tolerance: QuantityIn | None = Field(
        default=None, description="By how much it may differ; with `nominal`, or neither of the two."
    )


class RecordIn(Body):
    """Something to record on reaching a stage; the name of a `cure` is its place."""

    kind: RecordKind
    name: Name


class StageIn(Body):
    """A named point a build can reach, with the words the customer sees, or none."""

    name: Name
    customer_words: Annotated[str, Field(max_length=200)] | None = None
    attended_minutes: Annotated[Whole, Field(ge=0, le=6000)] = 0
    holds: Annotated[list[HoldIn], Field(max_length=40)] = Field(default=[])
    records: Annotated[list[RecordIn], Field(max_length=40)] = Field(default=[])
    draws: Names = Field(default=[])
    figures: Names = Field(
        default=[], description=f"Which figures of the rod this stage shows, among: {', '.join(FIGURES)}."
    )
    uses: Names = Field(
        default=[], description=f"Which parts of the rod this stage uses, among: {', '.join(USES)}."
    )
    tells_customer: Truth = False


class SequenceIn(Body):
    """A sequence; one of a present sequence's name and kind becomes that one's next version."""

    name: Name
    rod_kind: Name
    stages: Annotated[list[StageIn], Field(min_length=1, max_length=60)]


class StageOut(BaseModel):
    """A stage; a hold carries the fields that its kind needs."""

    name: str
    customer_words: str | None
    attended_minutes: int
    holds: list[dict[str, Any]]
    records: list[dict[str, str]]
    draws: list[str]
    figures: list[str]
    uses: list[str]
    tells_customer: bool


class SequenceOut(BaseModel):
    """One version of a sequence. `builds` have started on it; a retired one takes no new builds."""

    id: int
    name: str
    rod_kind: str
    version: int
    builds: int
    created_at: InstantOut
    retired_at: InstantOut | None
    stages: list[StageOut]


def _hold(hold: HoldIn) -> Hold:
    return Hold(
        hold.kind,
        stages=tuple(hold.stages),
        places=tuple(hold.places),
        place=hold.place,
        check=hold.check,
        second_person=hold.second_person,
        name=hold.name,
        nominal=hold.nominal,
        tolerance=hold.tolerance,
    )


def _stage(stage: StageIn) -> Stage:
    return Stage(
        stage.name,
        stage.customer_words or "",
        stage.attended_minutes,
        tuple(_hold(hold) for hold in stage.holds),
        tuple(Record(record.kind, record.name) for record in stage.records),
        tuple(stage.draws),
        tuple(stage.figures),
        tuple(stage.uses),
        stage.tells_customer,
    )


def hold_json(hold: Hold) -> dict[str, Any]:
    """A hold with the fields that are filled."""
    said: dict[str, Any] = {
        "stages": list(hold.stages), "places": list(hold.places), "place": hold.place, "check": hold.check,
        "name": hold.name, "nominal": hold.nominal and quantity_out(hold.nominal, hold.tolerance),
        "tolerance": hold.tolerance and quantity_out(hold.tolerance, hold.tolerance),
    }  # fmt: skip
    filled = {name: value for name, value in said.items() if value}
    if hold.kind is HoldKind.CHECK:
        filled["second_person"] = hold.second_person
    return {"kind": hold.kind.value, **filled}


def sequence_out(view: SequenceView, value: Sequence) -> dict[str, Any]:
    """One version, for `SequenceOut`."""
    stages = [
        {
            "name": stage.name,
            "customer_words": stage.customer_words or None,
            "attended_minutes": stage.attended_minutes,
            "holds": [hold_json(hold) for hold in stage.holds],
            "records": [{"kind": record.kind.value, "name": record.name} for record in stage.records],
            "draws": list(stage.draws),
            "figures": list(stage.figures),
            "uses": list(stage.uses),
            "tells_customer": stage.tells_customer,
        }
        for stage in value.stages
    ]
    return {**view._asdict(), "stages": stages}


@router.get("/sequences", response_model=Page[SequenceOut])
def list_sequences(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Every version by id, retired ones included."""
    page = page_of(sequences_after(session, after, limit + 1), limit, lambda item: item.id)
    values = sequence_values(session, [view.id for view in page["items"]])
    return {**page, "items": [sequence_out(view, values[view.id]) for view in page["items"]]}


@router.post("/sequences", status_code=201, response_model=SequenceOut)
def post_sequence(actor: KeyForWays, session: Writing, _once: Once, now: Now, body: SequenceIn) -> Any:
    """Put a sequence on file."""
    value = Sequence(body.name, body.rod_kind, tuple(_stage(stage) for stage in body.stages))
    return _one(session, add_sequence(session, now=now, sequence=value).id)


@router.get("/sequences/{sequence_id}", response_model=SequenceOut)
def get_sequence(actor: KeyForLooking, session: Reading, sequence_id: int) -> Any:
    """One version of a sequence."""
    return _one(session, sequence_id)


def _one(session: Session, sequence_id: int) -> dict[str, Any]:
    return sequence_out(sequence_view(session, sequence_id), sequence_value(session, sequence_id))
