"""The API of adhesives."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.queries.adhesives import adhesive_view, adhesives_after, changes_after
from shop.services.adhesives import add_adhesive, change_adhesive, confirm_adhesive
from shop.web.api.base import After, Body, Limit, Number, Once, Page, Whole, api_router, changes_of, page_of
from shop.web.api.times import DayIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("adhesives")

MAY_BE_SILENT = (
    "density_a", "density_b", "recoat_from_minutes", "recoat_until_minutes", "coldest_c", "doubling_c",
    "turn_minutes", "opened_life_days", "sheet_date",
)  # fmt: skip

Name = Annotated[str, Field(max_length=120)]
TURN = "Minutes for which a coat is kept turning."
AS_FIELD = "In the unit of the field; null or empty where there was nothing."
LIFE = "Days for which a bottle may be used once opened; a lot may say otherwise."
Source = Annotated[str, Field(max_length=300, description="Where the figures come from")]


class AdhesiveIn(Body):
    """A product with the figures of its data sheet; minutes hold at `reference_c`, parts are by volume."""

    name: Name
    use: Literal["bond", "finish"]
    parts_a: Number
    parts_b: Number
    density_a: Number | None = None
    density_b: Number | None = None
    reference_c: Number
    pot_life_minutes: Number
    set_minutes: Number
    full_cure_minutes: Number
    recoat_from_minutes: Number | None = None
    recoat_until_minutes: Number | None = None
    coldest_c: Number | None = None
    doubling_c: Number | None = None
    turn_minutes: Number | None = Field(default=None, description=TURN)
    opened_life_days: Whole | None = Field(default=None, description=LIFE)
    source: Source = ""
    sheet_date: DayIn | None = None


class AdhesiveChanges(Body):
    """What changes of an adhesive; whatever is left out stays, and null means that the sheet is silent."""

    name: Name | None = None
    use: Literal["bond", "finish"] | None = None
    parts_a: Number | None = None
    parts_b: Number | None = None
    density_a: Number | None = None
    density_b: Number | None = None
    reference_c: Number | None = None
    pot_life_minutes: Number | None = None
    set_minutes: Number | None = None
    full_cure_minutes: Number | None = None
    recoat_from_minutes: Number | None = None
    recoat_until_minutes: Number | None = None
    coldest_c: Number | None = None
    doubling_c: Number | None = None
    turn_minutes: Number | None = Field(default=None, description=TURN)
    opened_life_days: Whole | None = Field(default=None, description=LIFE)
    source: Source | None = None
    sheet_date: DayIn | None = None


class ConfirmIn(Body):
    """The data sheet that the figures stand on, and the date of that sheet."""

    source: Source
    sheet_date: DayIn


class AdhesiveOut(BaseModel):
    """An adhesive on file; densities in g/mL, null where the sheet is silent.

    `ready_made` is the class whose placeholders the figures began as, or empty; `confirmed` says whether
    somebody stands by them as those of a data sheet that is named and dated.
    """

    id: int
    name: str
    use: str
    parts_a: float
    parts_b: float
    density_a: float | None
    density_b: float | None
    reference_c: float
    pot_life_minutes: float
    set_minutes: float
    full_cure_minutes: float
    recoat_from_minutes: float | None
    recoat_until_minutes: float | None
    coldest_c: float | None
    doubling_c: float | None
    turn_minutes: float | None = Field(description=TURN)
    opened_life_days: int | None = Field(description=LIFE)
    source: str
    sheet_date: date | None
    ready_made: str
    confirmed: bool
    confirmed_at: InstantOut | None = Field(description="Since when somebody has stood by the figures.")
    confirmed_by: str
    sheet_mark: str = Field(description="What its figures lack to be a data sheet's; empty where nothing.")


class FigureChange(BaseModel):
    """One figure that an act changed; days are ISO texts."""

    field: str
    before: float | str | None = Field(description=AS_FIELD)
    after: float | str | None = Field(description=AS_FIELD)


class SheetChangeOut(BaseModel):
    """One act on an adhesive's sheet: it was put on file, changed or confirmed, by whom and what."""

    id: int
    kind: Literal["made", "changed", "confirmed"]
    at: InstantOut
    by: str
    changes: list[FigureChange]


@router.get("/adhesives", response_model=Page[AdhesiveOut])
def list_adhesives(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Adhesives by id."""
    return page_of(adhesives_after(session, after, limit + 1), limit, lambda item: item.id)


@router.post("/adhesives", status_code=201, response_model=AdhesiveOut)
def post_adhesive(actor: KeyForDesk, session: Writing, _once: Once, now: Now, body: AdhesiveIn) -> Any:
    """Put an adhesive on file."""
    return adhesive_view(session, add_adhesive(session, now=now, by=actor.name, **body.model_dump()).id)


@router.get("/adhesives/{adhesive_id}", response_model=AdhesiveOut)
def get_adhesive(actor: KeyForLooking, session: Reading, adhesive_id: int) -> Any:
    """One adhesive."""
    return adhesive_view(session, adhesive_id)


@router.patch("/adhesives/{adhesive_id}", response_model=AdhesiveOut)
def patch_adhesive(
    actor: KeyForDesk, session: Writing, _once: Once, now: Now, adhesive_id: int, body: AdhesiveChanges
) -> Any:
    """Change an adhesive's figures; cures under way keep those they began with."""
    change_adhesive(session, adhesive_id, now=now, by=actor.name, **changes_of(body, *MAY_BE_SILENT))
    return adhesive_view(session, adhesive_id)


@router.post("/adhesives/{adhesive_id}/confirm", response_model=AdhesiveOut)
def post_confirmation(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, adhesive_id: int, body: ConfirmIn
) -> Any:
    """Say that the figures stand on the product's own data sheet, and on which."""
    confirm_adhesive(session, bench.bench(session, actor), adhesive_id, **body.model_dump())
    return adhesive_view(session, adhesive_id)


@router.get("/adhesives/{adhesive_id}/changes", response_model=Page[SheetChangeOut])
def list_sheet_changes(
    actor: KeyForLooking, session: Reading, adhesive_id: int, after: After = 0, limit: Limit = 50
) -> Any:
    """What was changed of an adhesive's sheet, when and by whom, in the order it was done."""
    item = adhesive_view(session, adhesive_id)
    return page_of(changes_after(session, item.id, after, limit + 1), limit, lambda change: change.id)
