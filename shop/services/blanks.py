"""Blanks: putting them on file with their measured stations, and keeping them right."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.blanks import Blank, Station
from shop.queries.blanks import blank_record, joints_kept
from shop.rules.blanks import GROWS, BlankFacts, faults_of_blank, growing_station
from shop.rules.refusals import BadInput


def add_blank(
    session: Session,
    *,
    now: datetime,
    model: str,
    length_nm: int,
    maker: str = "",
    pieces: int = 1,
    mass_mg: int | None = None,
    stations: Sequence[tuple[int, int]] = (),
    joints: Sequence[tuple[int, int]] = (),
    wall_butt_nm: int | None = None,
    wall_tip_nm: int | None = None,
    test_load_mg: int | None = None,
    test_sag_nm: int | None = None,
    most_load_mg: int | None = None,
    notes: str = "",
    diameters_confirmed: bool = False,
) -> Blank:
    """Put a blank on file; lengths in nanometres, masses and loads in milligrams.

    `stations` are pairs of distance from the butt and diameter, `joints` of distance from the butt and
    insertion. Raises `BadInput`; a diameter that grows toward the tip is asked about unless confirmed.
    """
    facts = BlankFacts(
        model, length_nm, pieces, mass_mg, stations, joints, wall_butt_nm, wall_tip_nm, test_load_mg,
        test_sag_nm, most_load_mg,
    )  # fmt: skip
    _check(facts, diameters_confirmed)
    blank = Blank(maker=maker, notes=notes, created_at=now, **_columns(facts), stations=_rows(stations))
    session.add(blank)
    session.flush()
    return blank


def change_blank(
    session: Session, blank_id: int, *, diameters_confirmed: bool = False, **changes: Any
) -> Blank:
    """Change some of a blank's facts; `stations` and `joints`, where given, replace them all.

    Raises as `add_blank`.
    """
    blank = blank_record(session, blank_id)
    kept = _facts_on(blank)
    facts = kept._replace(**{name: changes.pop(name) for name in kept._fields if name in changes})
    # What was confirmed once is not asked about again while it stays as it is.
    same = list(facts.stations) == kept.stations
    _check(facts, diameters_confirmed or same)
    for name, value in {**changes, **_columns(facts)}.items():
        setattr(blank, name, value)
    if not same:
        blank.stations.clear()
        # The old stations must be gone before new ones at the same places come.
        session.flush()
        blank.stations.extend(_rows(facts.stations))
    session.flush()
    return blank


def _facts_on(blank: Blank) -> BlankFacts:
    """The facts on a blank's record."""
    stations = [(station.from_butt_nm, station.od_nm) for station in blank.stations]
    return BlankFacts(
        blank.model, blank.length_nm, blank.pieces, blank.mass_mg, stations, joints_kept(blank.joints),
        blank.wall_butt_nm, blank.wall_tip_nm, blank.test_load_mg, blank.test_sag_nm, blank.most_load_mg,
    )  # fmt: skip


def _columns(facts: BlankFacts) -> dict[str, Any]:
    """Facts as a blank's own columns keep them; the stations have rows of their own."""
    columns = facts._asdict()
    del columns["stations"]
    return {**columns, "joints": joints_to_keep(facts.joints)}


def joints_to_keep(joints: Iterable[tuple[int, int]]) -> list[dict[str, int]]:
    """Joints as the table keeps them."""
    return [{"from_butt_nm": at, "insertion_nm": insertion} for at, insertion in joints]


def _rows(stations: Sequence[tuple[int, int]]) -> list[Station]:
    return [Station(from_butt_nm=at, od_nm=od) for at, od in stations]


def _check(facts: BlankFacts, confirmed: bool) -> None:
    errors = faults_of_blank(facts)
    if not errors and not confirmed:
        question = growing_station(facts.stations)
        if question:
            errors[GROWS] = question
    if errors:
        raise BadInput(errors)
