"""Servings: the places that a cup was mixed for, and which of them have been closed with it since."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Serving
from shop.rules.refusals import NotOnFile


class ServingView(NamedTuple):
    """A place that a cup was for. `closed_at` is null until it is closed; `left_out` says why it was not."""

    id: int
    mix_id: int
    build_id: int
    build: str
    title: str
    place: str
    closed_at: datetime | None
    left_out: str

    @property
    def is_open(self) -> bool:
        """Whether it is still asked when the place was closed."""
        return self.closed_at is None and not self.left_out


_CLOSED_AT = (
    select(Cure.closed_at)
    .where(
        Cure.mix_id == Serving.mix_id,
        Cure.build_id == Serving.build_id,
        Cure.place == Serving.place,
        Cure.superseded_by_id.is_(None),
    )
    .order_by(Cure.id.desc())
    .limit(1)
    .correlate(Serving)
    .scalar_subquery()
)
_VIEW = select(
    Serving.id, Serving.mix_id, Serving.build_id, Build.number, Build.title, Serving.place, _CLOSED_AT,
    Serving.left_out_reason,
).join(Build, Build.id == Serving.build_id)  # fmt: skip
_OF_MIXES = _VIEW.where(Serving.mix_id.in_(bindparam("mix_ids", expanding=True))).order_by(Serving.id)


def servings_of_mix(session: Session, mix_id: int) -> list[ServingView]:
    """The places that one cup (by its root id) was mixed for, in the order chosen."""
    return servings_of_mixes(session, [mix_id]).get(mix_id, [])


def servings_of_mixes(session: Session, mix_ids: Iterable[int]) -> dict[int, list[ServingView]]:
    """The same of several cups, by root id, in one statement."""
    found: dict[int, list[ServingView]] = {}
    for row in session.execute(_OF_MIXES, {"mix_ids": list(mix_ids)}):
        view = ServingView(*row)
        found.setdefault(view.mix_id, []).append(view)
    return found


def serving_record(session: Session, mix_id: int, serving_id: int) -> Serving:
    """The record of one serving of a cup (by its root id), for a verb. Raises `NotOnFile`."""
    serving = session.get(Serving, serving_id, with_for_update=True)
    if serving is None or serving.mix_id != mix_id:
        raise NotOnFile(f"There is no serving {serving_id} of mix {mix_id} on record.")
    return serving


def serving_at(session: Session, mix_id: int, build_id: int, place: str) -> Serving | None:
    """The record of the serving of a cup (by its root id) for a place, for a verb; none where it was not."""
    wanted = select(Serving).where(
        Serving.mix_id == mix_id, Serving.build_id == build_id, Serving.place == place
    )
    return session.scalars(wanted.with_for_update()).one_or_none()
