"""The API of blanks and their stations."""

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, Field

from shop.queries.blanks import BlankView, blank_view, blanks_after
from shop.rules.blanks import mg_of_grams
from shop.services.blanks import add_blank, change_blank
from shop.web.api.base import (
    After,
    Body,
    Limit,
    Number,
    Once,
    Page,
    Truth,
    Whole,
    api_router,
    changes_of,
    page_of,
)
from shop.web.api.lengths import LengthIn, LengthOut, length_out
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("blanks")

Text = Annotated[str, Field(max_length=120)]
Notes = Annotated[str, Field(max_length=4000)]
Mass = Annotated[Number, Field(gt=0, le=5000, description="At most 3 decimals."), AfterValidator(mg_of_grams)]
Confirmed = Annotated[Truth, Field(description="The diameter really grows toward the tip somewhere.")]


class StationIn(Body):
    """An outside diameter at a stated distance from the butt."""

    from_butt: LengthIn
    od: LengthIn


class BlankIn(Body):
    """A new blank; `stations` go from butt to tip."""

    maker: Text = ""
    model: Text
    length: LengthIn
    pieces: Whole = 1
    mass_g: Mass | None = None
    stations: Annotated[list[StationIn], Field(max_length=60)] = Field(default=[])
    notes: Notes = ""
    diameters_confirmed: Confirmed = False


class BlankChanges(Body):
    """What changes of a blank; whatever is left out stays. `stations` replace all there were.

    A null takes the mass away.
    """

    maker: Text | None = None
    model: Text | None = None
    length: LengthIn | None = None
    pieces: Whole | None = None
    mass_g: Mass | None = None
    stations: Annotated[list[StationIn], Field(max_length=60)] | None = None
    notes: Notes | None = None
    diameters_confirmed: Confirmed = False


class StationOut(BaseModel):
    """An outside diameter at a stated distance from the butt."""

    from_butt: LengthOut
    od: LengthOut


class BlankOut(BaseModel):
    """A blank on file."""

    id: int
    maker: str
    model: str
    length: LengthOut
    pieces: int
    mass_g: float | None
    stations: list[StationOut]
    notes: str


def blank_out(blank: BlankView) -> dict[str, Any]:
    """A blank, for `BlankOut`."""
    return {
        **blank._asdict(),
        "length": length_out(blank.length_nm),
        "mass_g": None if blank.mass_mg is None else blank.mass_mg / 1000,
        "stations": [
            {"from_butt": length_out(at), "od": length_out(od)} for at, od in blank.stations
        ],
    }  # fmt: skip


def _facts(body: dict[str, Any]) -> dict[str, Any]:
    """A body's fields as the service takes them: nanometres and milligrams."""
    facts = dict(body)
    if "length" in facts:
        facts["length_nm"] = facts.pop("length")
    if "mass_g" in facts:
        facts["mass_mg"] = facts.pop("mass_g")
    if "stations" in facts:
        facts["stations"] = [(item["from_butt"], item["od"]) for item in facts["stations"]]
    return facts


@router.get("/blanks", response_model=Page[BlankOut])
def list_blanks(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Blanks by id."""
    page = page_of(blanks_after(session, after, limit + 1), limit, lambda item: item.id)
    return {**page, "items": [blank_out(blank) for blank in page["items"]]}


@router.post("/blanks", status_code=201, response_model=BlankOut)
def post_blank(actor: KeyForDesk, session: Writing, _once: Once, now: Now, body: BlankIn) -> Any:
    """Put a blank on file; a diameter that grows toward the tip must be confirmed."""
    blank = add_blank(session, now=now, **_facts(body.model_dump()))
    return blank_out(blank_view(session, blank.id))


@router.get("/blanks/{blank_id}", response_model=BlankOut)
def get_blank(actor: KeyForLooking, session: Reading, blank_id: int) -> Any:
    """One blank."""
    return blank_out(blank_view(session, blank_id))


@router.patch("/blanks/{blank_id}", response_model=BlankOut)
def patch_blank(actor: KeyForDesk, session: Writing, _once: Once, blank_id: int, body: BlankChanges) -> Any:
    """Change a blank's facts."""
    change_blank(session, blank_id, **_facts(changes_of(body, "mass_g")))
    return blank_out(blank_view(session, blank_id))
