"""Parts of builds: what each takes and has got, what open builds still want, what its parts cost."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, case, func, literal, select
from sqlalchemy.orm import Session, aliased

from shop.db.blanks import Blank
from shop.db.build_parts import BuildPart
from shop.db.builds import Build
from shop.db.components import Component
from shop.db.sequences import Stage
from shop.db.stocks import Stock, StockMove
from shop.db.suppliers import Supplier
from shop.rules.build_parts import missing, too_many
from shop.rules.purchases import Wanted
from shop.rules.refusals import NotOnFile
from shop.rules.stock import MoveKind


class BuildPartView(NamedTuple):
    """One blank or component of a build: how many it takes, has set aside and has used.

    `stock_id`, `code`, `bin`, `on_shelf` and `free` are none where nobody counts it. `lead_days` is how long
    an order takes, none where nobody said.
    """

    id: int
    group: str
    blank_id: int | None
    component_id: int | None
    name: str
    needed: int
    set_aside: int
    used: int
    confirmed_at: datetime | None
    confirmed_by: str
    stock_id: int | None
    code: str | None
    bin: str | None
    on_shelf: int | None
    free: int | None
    lead_days: int | None

    @property
    def is_counted(self) -> bool:
        """Whether the shop counts it."""
        return self.stock_id is not None

    @property
    def missing(self) -> int:
        """How many are neither set aside nor used; nothing where it is not counted."""
        return missing(self.needed, self.set_aside, self.used) if self.is_counted else 0

    @property
    def seen(self) -> str:
        """What a page was shown of it, to be told from what there is by then."""
        return f"{self.set_aside}-{self.used}"

    @property
    def too_many(self) -> int:
        """How many are set aside that the build does not take any more."""
        return too_many(self.needed, self.set_aside, self.used)


class Surplus(NamedTuple):
    """What is set aside for a build, by its number, beyond what it takes: it is to be put back."""

    stock_id: int
    build: str
    name: str
    many: int


class CostOfBuild(NamedTuple):
    """What the parts that a build used cost: whole cents by currency, and how many had no cost on file."""

    cents: dict[str, int]
    unknown: int


class OwnUse(NamedTuple):
    """What a build has used of an item, and what one of it cost at the time."""

    used: int
    unit_cost_cents: int | None
    currency: str


_PART_STOCK, _BLANK_STOCK = aliased(Stock), aliased(Stock)


def _of_stock(column: str) -> Any:
    """A column of whichever of the two stocks is the part's."""
    return func.coalesce(getattr(_PART_STOCK, column), getattr(_BLANK_STOCK, column))


_VIEW: Select[*tuple[Any, ...]] = (
    select(
        BuildPart.id, BuildPart.part_group, BuildPart.blank_id, BuildPart.component_id,
        func.coalesce(Component.name, func.trim(Blank.maker + " " + Blank.model)), BuildPart.needed,
        BuildPart.set_aside, BuildPart.used, BuildPart.confirmed_at, BuildPart.confirmed_by, _of_stock("id"),
        _of_stock("code"), _of_stock("bin"), _of_stock("on_shelf"),
        _of_stock("on_shelf") - _of_stock("set_aside"),
        func.coalesce(_of_stock("lead_days"), Supplier.lead_days),
    )
    .select_from(BuildPart)
    .join(Component, Component.id == BuildPart.component_id, isouter=True)
    .join(Blank, Blank.id == BuildPart.blank_id, isouter=True)
    .join(_PART_STOCK, _PART_STOCK.component_id == BuildPart.component_id, isouter=True)
    .join(_BLANK_STOCK, _BLANK_STOCK.blank_id == BuildPart.blank_id, isouter=True)
    .join(Supplier, Supplier.id == _of_stock("supplier_id"), isouter=True)
    .where(BuildPart.build_id == bindparam("build_id"))
    .order_by(BuildPart.id)
)  # fmt: skip
_RECORDS = select(BuildPart).where(BuildPart.build_id == bindparam("build_id")).order_by(BuildPart.id)
_WANTED: Select[*tuple[Any, ...]] = (
    select(
        func.coalesce(_PART_STOCK.id, _BLANK_STOCK.id), Build.number, Build.promised_on,
        BuildPart.needed - BuildPart.set_aside - BuildPart.used,
    )
    .select_from(Build)
    .join(BuildPart, BuildPart.build_id == Build.id)
    .join(_PART_STOCK, _PART_STOCK.component_id == BuildPart.component_id, isouter=True)
    .join(_BLANK_STOCK, _BLANK_STOCK.blank_id == BuildPart.blank_id, isouter=True)
    .where(
        Build.closed_at.is_(None), ~Build.is_enquiry,
        BuildPart.needed > BuildPart.set_aside + BuildPart.used,
        func.coalesce(_PART_STOCK.id, _BLANK_STOCK.id).is_not(None),
    )
)  # fmt: skip
_SURPLUS: Select[*tuple[Any, ...]] = (
    select(
        func.coalesce(_PART_STOCK.id, _BLANK_STOCK.id), Build.number,
        func.coalesce(Component.name, func.trim(Blank.maker + " " + Blank.model)), BuildPart.needed,
        BuildPart.set_aside, BuildPart.used,
    )
    .select_from(BuildPart)
    .join(Build, Build.id == BuildPart.build_id)
    .join(Component, Component.id == BuildPart.component_id, isouter=True)
    .join(Blank, Blank.id == BuildPart.blank_id, isouter=True)
    .join(_PART_STOCK, _PART_STOCK.component_id == BuildPart.component_id, isouter=True)
    .join(_BLANK_STOCK, _BLANK_STOCK.blank_id == BuildPart.blank_id, isouter=True)
    .where(
        BuildPart.build_id.in_(select(Build.id).where(Build.closed_at.is_(None))), BuildPart.set_aside > 0,
        BuildPart.set_aside + BuildPart.used > BuildPart.needed,
        func.coalesce(_PART_STOCK.id, _BLANK_STOCK.id).is_not(None),
    )
)  # fmt: skip
_SPENT = (MoveKind.USED, MoveKind.CAME_OFF)
_COST = (
    select(
        StockMove.currency,
        func.sum(-StockMove.count * func.coalesce(StockMove.unit_cost_cents, 0)),
        func.sum(case((StockMove.unit_cost_cents.is_(None), -StockMove.count), else_=literal(0))),
    )
    .where(StockMove.build_id == bindparam("build_id"), StockMove.kind.in_(_SPENT))
    .group_by(StockMove.currency)
)
_LAST_USE = (
    select(StockMove.unit_cost_cents, StockMove.currency)
    .where(
        StockMove.build_id == bindparam("build_id"), StockMove.stock_id == bindparam("stock_id"),
        StockMove.kind == MoveKind.USED,
    )
    .order_by(StockMove.id.desc())
    .limit(1)
)  # fmt: skip
_USED_BY_MOVES = select(func.coalesce(func.sum(-StockMove.count), 0)).where(
    StockMove.build_id == bindparam("build_id"), StockMove.stock_id == bindparam("stock_id"),
    StockMove.kind.in_(_SPENT),
)  # fmt: skip
_HERE = aliased(Stage)
_GROUPS_PASSED = (
    select(Stage.uses)
    .join(_HERE, _HERE.sequence_id == Stage.sequence_id)
    .where(_HERE.id == bindparam("stage_id"), Stage.position <= _HERE.position)
)


def parts_of_build(session: Session, build_id: int) -> list[BuildPartView]:
    """Every part of a build, in the order of its make-up, in one statement."""
    return [BuildPartView(*row) for row in session.execute(_VIEW, {"build_id": build_id})]


def part_of_build(session: Session, build_id: int, part_id: int) -> BuildPartView:
    """One part of a build. Raises `NotOnFile`."""
    found = next((part for part in parts_of_build(session, build_id) if part.id == part_id), None)
    if found is None:
        raise NotOnFile("This rod has no such part on its list any more.")
    return found


def part_records(session: Session, build_id: int) -> dict[int, BuildPart]:
    """The records of a build's parts by their ids, for a verb that has locked the build."""
    return {part.id: part for part in session.scalars(_RECORDS, {"build_id": build_id})}


def wanted_by_open_builds(session: Session) -> dict[int, list[Wanted]]:
    """What ordered and unfinished builds still wait for, by the id of the stock, in one statement."""
    found: dict[int, list[Wanted]] = {}
    for stock_id, number, promised_on, count in session.execute(_WANTED):
        found.setdefault(stock_id, []).append(Wanted(number, promised_on, count))
    return found


def surplus_of_open_builds(session: Session) -> list[Surplus]:
    """What is set aside for unfinished builds that they do not take any more, by build, in one statement."""
    found = [
        Surplus(stock_id, number, name, too_many(*counts))
        for stock_id, number, name, *counts in session.execute(_SURPLUS)
    ]
    # Sorted here: asked in that order, the database reads the parts of every rod that ever was.
    return sorted(found, key=lambda item: (item.build, item.name))


def cost_of_build(session: Session, build_id: int) -> CostOfBuild:
    """What a build's used parts cost when they were used, less what came off whole: the sum of its moves."""
    cents: dict[str, int] = {}
    unknown = 0
    for currency, total, without in session.execute(_COST, {"build_id": build_id}):
        if total or not without:
            cents[currency] = int(total)
        unknown += int(without)
    return CostOfBuild(cents, unknown)


def own_use(session: Session, build_id: int, stock_id: int) -> OwnUse:
    """What a build has used of a counted item by its moves, and at what cost the last time."""
    values = {"build_id": build_id, "stock_id": stock_id}
    used = int(session.scalar(_USED_BY_MOVES, values) or 0)
    last = session.execute(_LAST_USE, values).first()
    return OwnUse(used, None, "") if last is None else OwnUse(used, *last)


def groups_passed(session: Session, stage_id: int | None) -> frozenset[str]:
    """The groups of parts that the stages up to one use up."""
    if stage_id is None:
        return frozenset()
    used: Iterable[list[str]] = session.scalars(_GROUPS_PASSED, {"stage_id": stage_id})
    return frozenset(group for uses in used for group in uses)
