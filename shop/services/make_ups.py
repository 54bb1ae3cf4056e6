"""Make-ups: saving what goes on a rod and where, as a further revision."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.make_ups import MakeUp as MakeUpRecord
from shop.queries.builds import build_record
from shop.queries.components import component_view
from shop.queries.make_ups import (
    MakeUpView,
    bare_blank,
    latest_make_up,
    sheet_on_file,
)
from shop.rules.bench_figures.sheet import bench_sheet, meant_of
from shop.rules.make_up import (
    GUIDE,
    NOT_ON_THE_HANDLE,
    TIP_TOP,
    GuideSpot,
    MakeUp,
    Part,
    Sheet,
    Ways,
    document_of,
)
from shop.rules.make_up_faults import faults_of_make_up
from shop.rules.record import EventKind, quantity_map
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.bench import Bench
from shop.services.build_parts import follow_make_up
from shop.services.events import add_event

T = TypeVar("T")


@dataclass(frozen=True)
class PartSaid:
    """A part of the handle as it is said: which component, and where it begins and ends from the butt."""

    place: str
    component_id: int
    from_butt_nm: int
    to_butt_nm: int


@dataclass(frozen=True)
class GuideSaid:
    """A guide as it is said: how far its ring is from the tip, and which component it is, where known."""

    from_tip_nm: int
    component_id: int | None = None


@dataclass(frozen=True)
class MakeUpSaid:
    """A whole make-up as it is said. The blank is that of the build."""

    parts: Sequence[PartSaid] = ()
    guides: Sequence[GuideSaid] = ()
    bond_id: int | None = None
    finish_id: int | None = None
    ways: Ways = field(default_factory=Ways)


def save_make_up(
    session: Session, number: str, bench: Bench, said: MakeUpSaid, *, revision: int | None, reason: str = ""
) -> int:
    """Keep a make-up as the next revision of a build's; gives its number.

    Where nothing has changed, nothing is kept and the present number is given. `revision` is the one that
    the change was made on (0 before the first; none: whichever is the latest). Raises `BadInput` with every
    fault by field, `NotOnFile` for the build, `Overtaken` where somebody has saved another one meanwhile.
    """
    build = build_record(session, number)
    latest = latest_make_up(session, build.id)
    present = 0 if latest is None else latest.revision
    if revision is not None and revision != present:
        raise Overtaken(
            f"Somebody has saved revision {present} of this make-up meanwhile; look at that first."
        )
    value = put_together(session, build, said, present)
    if latest is not None and latest.value == value:
        # A make-up from before its parts were followed is taken over when it is kept once more.
        follow_make_up(session, build)
        return present
    _write(session, bench, build, replace(value, revision=present + 1), reason, latest)
    return present + 1


def put_together(session: Session, build: Build, said: MakeUpSaid, revision: int) -> MakeUp:
    """The make-up as a value, with copies of what is on file. Raises `BadInput` with every fault by field."""
    errors: dict[str, str] = {}
    parts = tuple(_part(session, item, number, errors) for number, item in enumerate(said.parts, 1))
    guides = tuple(_guide(session, item, number, errors) for number, item in enumerate(said.guides, 1))
    value = MakeUp(
        revision=revision, rod_kind=build.rod_kind, blank=bare_blank(session, build.blank_id),
        parts=tuple(part for part in parts if part is not None),
        guides=tuple(guide for guide in guides if guide is not None),
        bond=_sheet(session, said.bond_id, "bond", errors),
        finish=_sheet(session, said.finish_id, "finish", errors), ways=said.ways,
    )  # fmt: skip
    errors = errors or faults_of_make_up(value)
    if errors:
        raise BadInput(errors)
    return value


def _part(session: Session, said: PartSaid, number: int, errors: dict[str, str]) -> Part | None:
    found = _found(lambda: component_view(session, said.component_id), f"parts.{number}.component", errors)
    if found is None:
        return None
    if found.kind in NOT_ON_THE_HANDLE:
        errors[f"parts.{number}.component"] = (
            f"“{found.name}” is a {found.kind}, which is no part of a handle."
        )
        return None
    return Part(
        said.place.strip(), found.kind, found.name, said.from_butt_nm, said.to_butt_nm, said.component_id,
        found.dimensions, found.mass_mg, found.material,
    )  # fmt: skip


def _guide(session: Session, said: GuideSaid, number: int, errors: dict[str, str]) -> GuideSpot | None:
    if said.component_id is None:
        return GuideSpot(said.from_tip_nm, "guide")
    component_id = said.component_id
    found = _found(lambda: component_view(session, component_id), f"guides.{number}.component", errors)
    if found is None:
        return None
    wanted = TIP_TOP if said.from_tip_nm == 0 else GUIDE
    if found.kind != wanted:
        where = "At the tip itself stands a tip-top" if wanted == TIP_TOP else "Here a guide stands"
        errors[f"guides.{number}.component"] = f"{where}; “{found.name}” is a {found.kind}."
        return None
    return GuideSpot(
        said.from_tip_nm, found.name, component_id, found.dimensions, found.feet or 1, found.mass_mg
    )


def _sheet(session: Session, adhesive_id: int | None, use: str, errors: dict[str, str]) -> Sheet | None:
    return _found(lambda: sheet_on_file(session, adhesive_id, use), f"{use}_id", errors)


def _found(read: Callable[[], T], field_name: str, errors: dict[str, str]) -> T | None:
    """What is read; none, and a sentence beside the field, where it is not on file."""
    try:
        return read()
    except NotOnFile as gone:
        errors[field_name] = f"{gone.sentence} Please choose another."
        return None


def _write(
    session: Session, bench: Bench, build: Build, value: MakeUp, reason: str, latest: MakeUpView | None
) -> None:
    meant = {
        name: {"nominal": quantity_map(figure.nominal), "tolerance": quantity_map(figure.tolerance)}
        for name, figure in meant_of(bench_sheet(value)).items()
    }
    record = MakeUpRecord(
        build_id=build.id, revision=value.revision, entered_at=bench.now, by=bench.actor.name, reason=reason,
        blank_id=build.blank_id, document=document_of(value), meant=meant,
    )  # fmt: skip
    session.add(record)
    words = reason or ("What goes on the rod is laid down." if latest is None else "")
    details = {"revision": value.revision}
    add_event(session, build, bench, EventKind.MAKE_UP, bench.now, "", words, details)
    session.flush()
    follow_make_up(session, build)
