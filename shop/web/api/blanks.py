"""The API of blanks and their stations."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.blanks import BlankView, blank_view, blanks_after
from shop.rules.blanks import MOST_JOINTS
from shop.services.blanks import add_blank, change_blank
from shop.web.api.base import (
    After,
    Body,
    Limit,
    Once,
    Page,
    Truth,
    Whole,
    api_router,
    changes_of,
    page_of,
)
from shop.web.api.lengths import LengthIn, LengthOut, length_out
from shop.web.api.masses import LoadIn, MassIn, grams_out
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("blanks")

# What the API calls a fact, and what it is called where it is kept.
LENGTHS = {
    "length": "length_nm", "wall_butt": "wall_butt_nm", "wall_tip": "wall_tip_nm", "test_sag": "test_sag_nm",
}  # fmt: skip
MASSES = {"mass_g": "mass_mg", "test_load_g": "test_load_mg", "most_load_g": "most_load_mg"}
NULLABLE = ("wall_butt", "wall_tip", "test_sag", *MASSES)
# Lists of pairs: a distance from the butt, and what is stated of it.
PAIRS = {"stations": "od", "joints": "insertion"}

Text = Annotated[str, Field(max_length=120)]
Notes = Annotated[str, Field(max_length=4000)]
Confirmed = Annotated[Truth, Field(description="The diameter really grows toward the tip somewhere.")]


class StationIn(Body):
    """An outside diameter at a stated distance from the butt."""

    from_butt: LengthIn
    od: LengthIn


class JointIn(Body):
    """Where two pieces meet, and how far one goes into the other."""

    from_butt: LengthIn
    insertion: LengthIn


Joints = Annotated[list[JointIn], Field(max_length=MOST_JOINTS)]


class BlankIn(Body):
    """A new blank; `stations` and `joints` go from butt to tip.

    Of n pieces there are n − 1 joints, or none stated. The walls are those of a tube; leave them out of
    what is solid. A test load goes with the sag of the tip under it.
    """

    maker: Text = ""
    model: Text
    length: LengthIn
    pieces: Whole = 1
    mass_g: MassIn | None = None
    stations: Annotated[list[StationIn], Field(max_length=60)] = Field(default=[])
    joints: Joints = Field(default=[])
    wall_butt: LengthIn | None = None
    wall_tip: LengthIn | None = None
    test_load_g: LoadIn | None = None
    test_sag: LengthIn | None = None
    most_load_g: LoadIn | None = None
    notes: Notes = ""
    diameters_confirmed: Confirmed = False


class BlankChanges(Body):
    """What changes of a blank; whatever is left out stays. `stations` and `joints` replace all there were.

    A null takes the mass, a wall, the test load, its sag or the largest load away.
    """

    maker: Text | None = None
    model: Text | None = None
    length: LengthIn | None = None
    pieces: Whole | None = None
    mass_g: MassIn | None = None
    stations: Annotated[list[StationIn], Field(max_length=60)] | None = None
    joints: Joints | None = None
    wall_butt: LengthIn | None = None
    wall_tip: LengthIn | None = None
    test_load_g: LoadIn | None = None
    test_sag: LengthIn | None = None
    most_load_g: LoadIn | None = None
    notes: Notes | None = None
    diameters_confirmed: Confirmed = False


class StationOut(BaseModel):
    """An outside diameter at a stated distance from the butt."""

    from_butt: LengthOut
    od: LengthOut


class JointOut(BaseModel):
    """Where two pieces meet, and how far one goes into the other."""

    from_butt: LengthOut
    insertion: LengthOut


class BlankOut(BaseModel):
    """A blank on file; its `joints` as they were stated."""

    id: int
    maker: str
    model: str
    length: LengthOut
    pieces: int
    mass_g: float | None
    stations: list[StationOut]
    joints: list[JointOut]
    wall_butt: LengthOut | None
    wall_tip: LengthOut | None
    test_load_g: float | None
    test_sag: LengthOut | None
    most_load_g: float | None
    notes: str


def blank_out(blank: BlankView) -> dict[str, Any]:
    """A blank, for `BlankOut`."""
    kept = blank._asdict()
    lengths = {name: kept[column] for name, column in LENGTHS.items()}
    return {
        **kept,
        **{name: None if nm is None else length_out(nm) for name, nm in lengths.items()},
        **{name: grams_out(kept[column]) for name, column in MASSES.items()},
        **{name: [_pair_out(*pair, name=second) for pair in kept[name]] for name, second in PAIRS.items()},
    }


def _pair_out(at: int, nm: int, *, name: str) -> dict[str, Any]:
    return {"from_butt": length_out(at), name: length_out(nm)}


def _facts(body: dict[str, Any]) -> dict[str, Any]:
    """A body's fields as the service takes them: nanometres and milligrams."""
    columns = {**LENGTHS, **MASSES}
    facts = {columns.get(name, name): value for name, value in body.items()}
    for name, second in PAIRS.items():
        if name in facts:
            facts[name] = [(item["from_butt"], item[second]) for item in facts[name]]
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
    change_blank(session, blank_id, **_facts(changes_of(body, *NULLABLE)))
    return blank_out(blank_view(session, blank_id))
