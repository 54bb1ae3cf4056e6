"""Moves: cures that were carried to another zone. What that does to their times is `shop.queries.cures`'s."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.cures import Cure, CureMove
from shop.rules.refusals import NotOnFile

# Zones by id, each with the instant a cure came there; the moves of one cure that stand, in their order.
Path = tuple[tuple[datetime, int], ...]


class Move(NamedTuple):
    """A cure carried to a zone; `undone` says why it is not so, and is empty where it stands."""

    id: int
    cure_id: int
    zone_id: int
    at: datetime
    by: str
    undone: str


_MOVES: Select[int, int, int, datetime, str, str] = select(
    CureMove.id, CureMove.cure_id, CureMove.zone_id, CureMove.at, CureMove.by, CureMove.undone_reason
)
# By way of the cures wanted: few cures were ever carried, but all that ever were are on file.
_OF_CURES = (
    select(*_MOVES.selected_columns)
    .join_from(Cure, CureMove, CureMove.cure_id == Cure.id)
    .order_by(CureMove.at, CureMove.id)
)
_ON_OPEN = _OF_CURES.where(
    Cure.build_id.in_(select(Build.id).where(Build.closed_at.is_(None))), CureMove.undone_reason == ""
)
_OF_BUILD = _OF_CURES.where(Cure.build_id == bindparam("build_id"))
_OF_MIXES = _OF_CURES.where(Cure.mix_id.in_(bindparam("mix_ids", expanding=True)))
_OF_CURE = _MOVES.where(CureMove.cure_id == bindparam("cure_id")).order_by(CureMove.at, CureMove.id)


def _by_cure(rows: Any) -> dict[int, list[Move]]:
    found: dict[int, list[Move]] = {}
    for row in rows:
        found.setdefault(row[1], []).append(Move(*row))
    return found


def open_moves(session: Session) -> dict[int, list[Move]]:
    """The moves that stand of the cures of every open build, by the cure's id."""
    return _by_cure(session.connection().execute(_ON_OPEN))


def moves_of_build(session: Session, build_id: int) -> dict[int, list[Move]]:
    """Every move of the cures of one build, undone ones included, by the cure's id."""
    return _by_cure(session.connection().execute(_OF_BUILD, {"build_id": build_id}))


def moves_of_mixes(session: Session, mix_ids: list[int]) -> dict[int, list[Move]]:
    """Every move of the cures of some mixes (by root id), undone ones included, by the cure's id."""
    return _by_cure(session.connection().execute(_OF_MIXES, {"mix_ids": mix_ids}))


def moves_of_cure(session: Session, cure_id: int) -> list[Move]:
    """Every move of one cure, undone ones included, in the order of their instants."""
    return [Move(*row) for row in session.execute(_OF_CURE, {"cure_id": cure_id})]


def paths(moves: Mapping[int, list[Move]]) -> dict[int, Path]:
    """The way that each cure went, by the moves that stand."""
    return {
        cure_id: tuple((move.at, move.zone_id) for move in made if not move.undone)
        for cure_id, made in moves.items()
    }


def move_record(session: Session, move_id: int) -> CureMove:
    """The record of one move, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    move = session.get(CureMove, move_id, with_for_update=True)
    if move is None:
        raise NotOnFile(f"There is no move {move_id} on record.")
    return move


def move_records(session: Session, cure_id: int) -> list[CureMove]:
    """The records of one cure's moves that stand, for a verb, in the order of their instants."""
    wanted = select(CureMove).where(CureMove.cure_id == cure_id, CureMove.undone_reason == "")
    return list(session.scalars(wanted.order_by(CureMove.at, CureMove.id)))
