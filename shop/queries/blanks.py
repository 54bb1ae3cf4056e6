"""Blanks and their stations: frozen views, one record for a verb."""

from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session, selectinload

from shop.db.blanks import Blank, Station
from shop.rules.refusals import NotOnFile


class BlankView(NamedTuple):
    """A blank; lengths in nanometres, masses and loads in milligrams.

    `stations` are pairs of distance from the butt and outside diameter, `joints` of distance from the butt
    and insertion; both go from butt to tip.
    """

    id: int
    maker: str
    model: str
    length_nm: int
    pieces: int
    mass_mg: int | None
    wall_butt_nm: int | None
    wall_tip_nm: int | None
    test_load_mg: int | None
    test_sag_nm: int | None
    most_load_mg: int | None
    notes: str
    joints: tuple[tuple[int, int], ...]
    stations: tuple[tuple[int, int], ...]


class BlankLine(NamedTuple):
    """A blank as one line of a list; `measured` is how many stations it has."""

    id: int
    maker: str
    model: str
    length_nm: int
    pieces: int
    mass_mg: int | None
    measured: int


# The last of a view's fields is no column: the stations have rows of their own.
_VIEW: Select[*tuple[Any, ...]] = select(*(getattr(Blank, name) for name in BlankView._fields[:-1]))
_ONE = _VIEW.where(Blank.id == bindparam("id"))
_PAGE = _VIEW.where(Blank.id > bindparam("after")).order_by(Blank.id).limit(bindparam("most"))
_MEASURED = select(func.count()).where(Station.blank_id == Blank.id).correlate(Blank).scalar_subquery()
_BY_MODEL = select(
    Blank.id, Blank.maker, Blank.model, Blank.length_nm, Blank.pieces, Blank.mass_mg, _MEASURED
).order_by(Blank.model, Blank.id)
_STATIONS = (
    select(Station.blank_id, Station.from_butt_nm, Station.od_nm)
    .where(Station.blank_id.in_(bindparam("ids", expanding=True)))
    .order_by(Station.blank_id, Station.from_butt_nm)
)


def _with_stations(session: Session, rows: list[Any]) -> list[BlankView]:
    found: dict[int, list[tuple[int, int]]] = {}
    for blank_id, from_butt, od in session.execute(_STATIONS, {"ids": [row[0] for row in rows]}):
        found.setdefault(blank_id, []).append((from_butt, od))
    return [
        BlankView._make((*facts, joints_kept(joints), tuple(found.get(facts[0], ()))))
        for *facts, joints in rows
    ]


def joints_kept(joints: list[Any]) -> tuple[tuple[int, int], ...]:
    """The joints of a blank's record, as pairs."""
    return tuple((joint["from_butt_nm"], joint["insertion_nm"]) for joint in joints)


def blank_view(session: Session, blank_id: int) -> BlankView:
    """One blank. Raises `NotOnFile`."""
    rows = list(session.execute(_ONE, {"id": blank_id}))
    if not rows:
        raise NotOnFile(f"There is no blank {blank_id} on file.")
    return _with_stations(session, rows)[0]


def blanks_after(session: Session, after: int, most: int) -> list[BlankView]:
    """At most `most` blanks whose id is above `after`, by id."""
    return _with_stations(session, list(session.execute(_PAGE, {"after": after, "most": most})))


def blanks_by_model(session: Session) -> list[BlankLine]:
    """Every blank, by model."""
    return [BlankLine(*row) for row in session.execute(_BY_MODEL)]


def blank_record(session: Session, blank_id: int) -> Blank:
    """The record of one blank with its stations, for a verb. Raises `NotOnFile`."""
    wanted = select(Blank).where(Blank.id == blank_id).options(selectinload(Blank.stations))
    blank = session.scalars(wanted).first()
    if blank is None:
        raise NotOnFile(f"There is no blank {blank_id} on file.")
    return blank
