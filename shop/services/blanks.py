"""Blanks: putting them on file with their measured stations, and keeping them right."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.blanks import Blank, Station
from shop.queries.blanks import blank_record
from shop.rules.blanks import GROWS, faults_of_blank, growing_station
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
    notes: str = "",
    diameters_confirmed: bool = False,
) -> Blank:
    """Put a blank on file. `stations` are pairs of distance from the butt and diameter, in nanometres.

    Raises `BadInput`; a diameter that grows toward the tip is asked about unless it is confirmed.
    """
    _check(model, length_nm, pieces, mass_mg, stations, diameters_confirmed)
    blank = Blank(
        maker=maker, model=model, length_nm=length_nm, pieces=pieces, mass_mg=mass_mg, notes=notes,
        created_at=now, stations=[Station(from_butt_nm=at, od_nm=od) for at, od in stations],
    )  # fmt: skip
    session.add(blank)
    session.flush()
    return blank


def change_blank(
    session: Session, blank_id: int, *, diameters_confirmed: bool = False, **changes: Any
) -> Blank:
    """Change some of a blank's facts; `stations`, where given, replace them all. Raises as `add_blank`."""
    blank = blank_record(session, blank_id)
    kept = [(station.from_butt_nm, station.od_nm) for station in blank.stations]
    stations = list(changes.pop("stations", kept))
    # What was confirmed once is not asked about again while it stays as it is.
    same = stations == kept
    _check(
        changes.get("model", blank.model), changes.get("length_nm", blank.length_nm),
        changes.get("pieces", blank.pieces), changes.get("mass_mg", blank.mass_mg),
        stations, diameters_confirmed or same,
    )  # fmt: skip
    for name, value in changes.items():
        setattr(blank, name, value)
    if not same:
        blank.stations.clear()
        # The old stations must be gone before new ones at the same places come.
        session.flush()
        blank.stations.extend(Station(from_butt_nm=at, od_nm=od) for at, od in stations)
    session.flush()
    return blank


def _check(
    model: str,
    length_nm: int | None,
    pieces: int,
    mass_mg: int | None,
    stations: Sequence[tuple[int, int]],
    confirmed: bool,
) -> None:
    errors = faults_of_blank(model, length_nm, pieces, mass_mg, stations)
    if not errors and not confirmed:
        question = growing_station(stations)
        if question:
            errors[GROWS] = question
    if errors:
        raise BadInput(errors)
