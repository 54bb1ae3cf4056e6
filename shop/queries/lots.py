"""Lots: what is on the shelf and how much is left, and recall both ways, between lots and builds.

Corrected entries of mixes and cures are left out; failed cures are kept, since the rod did carry the lot.
Whether a lot may be used is for `shop.rules.lots` to say.
"""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy import Row, Select, bindparam, case, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from shop.db.adhesives import Adhesive
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.customers import Customer
from shop.db.lots import Lot, LotEvent
from shop.db.mixes import Mix, Serving, Suspicion
from shop.db.shop import Shop
from shop.rules.lots import LotFact, LotLeft, fault_of_lot, last_day
from shop.rules.refusals import NotOnFile


class LotView(NamedTuple):
    """A lot as pages and API show it on a day.

    `opened_life_days` is what the bottle itself says, null where its adhesive's holds; `left_ml` is what
    came less what mixes are said to have drawn, null where nobody said what came. It is the most that can be
    left: `unsaid_mixes` mixes drew something from it that nobody stated. `fault` is why it may
    not be used on that day, as a sentence.
    """

    id: int
    adhesive_id: int
    adhesive: str
    part: str
    number: str
    received_on: date
    opened_on: date | None
    use_by: date | None
    opened_life_days: int | None
    position: str
    amount_ml: float | None
    left_ml: float | None
    unsaid_mixes: int
    emptied_on: date | None
    quarantined: str
    last_day: date | None
    fault: str
    version: int

    @property
    def usable(self) -> bool:
        """Whether somebody may take it from the shelf on that day."""
        return not self.fault


class LotHappening(NamedTuple):
    """One thing that happened to a lot."""

    kind: str
    at: datetime
    by: str
    note: str


class LotMix(NamedTuple):
    """A mix made from a lot: as which part, how much was drawn as far as anybody said, what it serves."""

    id: int
    mixed_at: datetime
    by: str
    parts: str
    drawn_ml: float | None
    cures: int
    suspect: str


class LotUse(NamedTuple):
    """One place on one build that was closed with a mix from a lot; the same for recall both ways.

    `parts` is what the lot was used as: `A`, `B` or `A and B`. `failed` is why the joint no longer stands.
    """

    lot_id: int
    lot: str
    adhesive: str
    parts: str
    build: str
    title: str
    customer: str
    handed_over: bool
    place: str
    pass_number: int
    mix_id: int
    mixed_at: datetime
    closed_at: datetime
    failed: str


class LotsOfBuild(NamedTuple):
    """The lots that a build carries, and the places closed with mixes that name no lot at all."""

    uses: list[LotUse]
    unnamed: list[str]


class MixedFrom(NamedTuple):
    """What a mix was made from: all that decides whether its lots were right."""

    adhesive_id: int
    mixed_at: datetime
    lot_a_id: int | None
    lot_b_id: int | None
    releases: list[Any]


def _drawn(named: Any, amount: Any) -> Any:
    """What the mixes that count drew from a lot as one of their parts."""
    return (
        select(func.coalesce(func.sum(amount), 0.0))
        .where(named == Lot.id, Mix.superseded_by_id.is_(None))
        .correlate(Lot)
        .scalar_subquery()
    )


_UNSAID = (
    select(func.count())
    .where(
        Mix.superseded_by_id.is_(None),
        ((Mix.lot_a_id == Lot.id) & Mix.amount_a_ml.is_(None))
        | ((Mix.lot_b_id == Lot.id) & Mix.amount_b_ml.is_(None)),
    )
    .correlate(Lot)
    .scalar_subquery()
)
_LIFE = func.coalesce(Lot.opened_life_days, Adhesive.opened_life_days)
_FACT: Select[*tuple[Any, ...]] = select(
    Lot.id, Lot.adhesive_id, Lot.part, Lot.number, Lot.received_on, Lot.opened_on, Lot.use_by, _LIFE,
    Lot.emptied_on, Lot.quarantined_reason,
).join(Adhesive, Adhesive.id == Lot.adhesive_id)  # fmt: skip
_FACT_ONE = _FACT.where(Lot.id == bindparam("id"))
_FACTS = _FACT.add_columns(select(Shop.time_zone).scalar_subquery()).where(
    Lot.id.in_(bindparam("ids", expanding=True))
)
_VIEW = _FACT.add_columns(
    Adhesive.name, Lot.opened_life_days, Lot.position, Lot.amount_ml,
    Lot.amount_ml - _drawn(Mix.lot_a_id, Mix.amount_a_ml) - _drawn(Mix.lot_b_id, Mix.amount_b_ml),
    _UNSAID, Lot.version,
)  # fmt: skip
_ONE = _VIEW.where(Lot.id == bindparam("id"))
_OF_ADHESIVE = _VIEW.where(Lot.adhesive_id == bindparam("adhesive_id"))
_ANY_OF_ADHESIVE = select(Lot.id).where(Lot.adhesive_id == bindparam("adhesive_id")).limit(1)
_AFTER = _VIEW.where(Lot.id > bindparam("after")).order_by(Lot.id).limit(bindparam("most"))
_AFTER_OF_ADHESIVE = _AFTER.where(Lot.adhesive_id == bindparam("adhesive_id"))
_ALIKE = _VIEW.where(
    Lot.adhesive_id == bindparam("adhesive_id"), Lot.number == bindparam("number"), Lot.id != bindparam("id")
)
_HISTORY = (
    select(LotEvent.kind, LotEvent.at, LotEvent.by, LotEvent.note)
    .where(LotEvent.lot_id == bindparam("id"))
    .order_by(LotEvent.id)
)
_FROM_LOT = or_(Mix.lot_a_id == bindparam("lot_id"), Mix.lot_b_id == bindparam("lot_id"))
_COUNTED = Mix.superseded_by_id.is_(None)
_AS_A, _AS_B = Mix.lot_a_id == bindparam("lot_id"), Mix.lot_b_id == bindparam("lot_id")
_PARTS = case((_AS_A & _AS_B, "A and B"), (_AS_A, "A"), else_="B")
# Of a kit that was both, the half that was stated counts where the other was not.
_BOTH = func.coalesce(Mix.amount_a_ml + Mix.amount_b_ml, Mix.amount_a_ml, Mix.amount_b_ml)
_DRAWN = case((_AS_A & _AS_B, _BOTH), (_AS_A, Mix.amount_a_ml), else_=Mix.amount_b_ml)
_SUSPECTED = (
    select(Suspicion.reason)
    .where(Suspicion.mix_id == Mix.root_id, Suspicion.verdict.is_(None))
    .limit(1)
    .correlate(Mix)
    .scalar_subquery()
)
_MIXES: Select[*tuple[Any, ...]] = (
    select(
        Mix.root_id, Mix.mixed_at, Mix.by, _PARTS, _DRAWN,
        select(func.count())
        .where(Cure.mix_id == Mix.root_id, Cure.superseded_by_id.is_(None))
        .correlate(Mix)
        .scalar_subquery(),
        func.coalesce(_SUSPECTED, ""),
    )
    .where(_FROM_LOT, _COUNTED)
    .order_by(Mix.mixed_at, Mix.root_id)
)  # fmt: skip
_lot_a, _lot_b = aliased(Lot), aliased(Lot)
_CURES: Select[*tuple[Any, ...]] = (
    select(
        _lot_a.id, _lot_a.number, _lot_b.id, _lot_b.number, Mix.adhesive_name, Build.number, Build.title,
        Customer.name, Build.closed_at, Cure.place, Cure.pass_number, Mix.root_id, Mix.mixed_at,
        Cure.closed_at, Cure.failed_reason,
    )
    .join_from(Cure, Mix, (Mix.root_id == Cure.mix_id) & _COUNTED)
    .join(Build, Build.id == Cure.build_id)
    .join(Customer, Customer.id == Build.customer_id)
    .outerjoin(_lot_a, _lot_a.id == Mix.lot_a_id)
    .outerjoin(_lot_b, _lot_b.id == Mix.lot_b_id)
    .where(Cure.superseded_by_id.is_(None))
)  # fmt: skip
_CURES_OF_LOT = _CURES.where(_FROM_LOT).order_by(Build.number, Cure.closed_at, Cure.id)
_CURES_OF_BUILD = _CURES.where(Cure.build_id == bindparam("build_id")).order_by(Cure.closed_at, Cure.id)
_STANDS = exists(
    select(Cure.id)
    .join(Build, Build.id == Cure.build_id)
    .where(
        Cure.mix_id == Mix.root_id, Cure.superseded_by_id.is_(None), Cure.failed_reason == "",
        Build.closed_at.is_(None),
    )
    .correlate(Mix)
)  # fmt: skip
_CLOSED_WITH_IT = exists(
    select(Cure.id)
    .where(
        Cure.mix_id == Serving.mix_id, Cure.build_id == Serving.build_id, Cure.place == Serving.place,
        Cure.superseded_by_id.is_(None),
    )
    .correlate(Serving)
)  # fmt: skip
_IS_MEANT = exists(
    select(Serving.id)
    .join(Build, Build.id == Serving.build_id)
    .where(
        Serving.mix_id == Mix.root_id, Serving.left_out_reason == "", Build.closed_at.is_(None),
        ~_CLOSED_WITH_IT,
    )
    .correlate(Mix)
)  # fmt: skip
_IN_HAND = (
    select(Mix.root_id)
    .where(_FROM_LOT, _COUNTED, _STANDS | _IS_MEANT | (Mix.mixed_at > bindparam("since")))
    .order_by(Mix.root_id)
)
# A cup that was mixed within this time may still be in somebody's hand, whatever was said of it.
CUP_IN_HAND = timedelta(days=1)


def lot_fact(session: Session, lot_id: int) -> LotFact:
    """What decides whether one lot may be used. Raises `NotOnFile`."""
    row = session.execute(_FACT_ONE, {"id": lot_id}).first()
    if row is None:
        raise NotOnFile(f"There is no lot {lot_id} on file.")
    return LotFact(*row)


def lot_view(session: Session, lot_id: int, on: date) -> LotView:
    """One lot as it stands on a day. Raises `NotOnFile`."""
    return _view(_row_of(session, lot_id), on)


def lot_left(session: Session, lot_id: int) -> tuple[LotFact, LotLeft]:
    """What decides whether one lot may be used, and how much is left of it. Raises `NotOnFile`."""
    row = _row_of(session, lot_id)
    return LotFact(*row[:10]), LotLeft(None if row[14] is None else max(row[14], 0.0), row[15])


def _row_of(session: Session, lot_id: int) -> Row[*tuple[Any, ...]]:
    row = session.execute(_ONE, {"id": lot_id}).first()
    if row is None:
        raise NotOnFile(f"There is no lot {lot_id} on file.")
    return row


def has_lots(session: Session, adhesive_id: int) -> bool:
    """Whether any lot of an adhesive is on file, used up or not."""
    return session.execute(_ANY_OF_ADHESIVE, {"adhesive_id": adhesive_id}).first() is not None


def lots_of_adhesive(session: Session, adhesive_id: int, on: date) -> list[LotView]:
    """Every lot of an adhesive: those that may be used on a day first, what ends soonest at the head."""
    return _soonest_first(session.execute(_OF_ADHESIVE, {"adhesive_id": adhesive_id}), on)


def lots_on_file(session: Session, on: date) -> list[LotView]:
    """Every lot, those that may be used on a day first, what ends soonest at the head."""
    return _soonest_first(session.execute(_VIEW), on)


def lots_after(session: Session, after: int, most: int, on: date, adhesive_id: int | None) -> list[LotView]:
    """At most `most` lots whose id is above `after`, by id; of one adhesive if it is given."""
    wanted = _AFTER if adhesive_id is None else _AFTER_OF_ADHESIVE
    values = {"after": after, "most": most, "adhesive_id": adhesive_id}
    return [_view(row, on) for row in session.execute(wanted, values)]


def lots_alike(session: Session, lot: LotView, on: date) -> list[LotView]:
    """The other bottles of the same adhesive with the same maker's number."""
    values = {"adhesive_id": lot.adhesive_id, "number": lot.number, "id": lot.id}
    return _soonest_first(session.execute(_ALIKE, values), on)


def _soonest_first(rows: Iterable[Row[*tuple[Any, ...]]], on: date) -> list[LotView]:
    views = [_view(row, on) for row in rows]
    return sorted(views, key=lambda lot: (not lot.usable, lot.last_day or date.max, lot.received_on, lot.id))


def _view(row: Row[*tuple[Any, ...]], on: date) -> LotView:
    fact = LotFact(*row[:10])
    adhesive, own_life_days, position, amount_ml, left_ml, unsaid_mixes, version = row[10:]
    fault = fault_of_lot(fact, "A" if fact.part == "kit" else fact.part, fact.adhesive_id, on)
    # The rule lets the day of using it up count, for mixes of that morning; nobody can take it now.
    if not fault and fact.emptied_on is not None:
        fault = f"It was used up on {fact.emptied_on}."
    return LotView(
        fact.id, fact.adhesive_id, adhesive, fact.part, fact.number, fact.received_on, fact.opened_on,
        fact.use_by, own_life_days, position, amount_ml, None if left_ml is None else max(left_ml, 0.0),
        unsaid_mixes, fact.emptied_on, fact.quarantined_reason, last_day(fact), fault, version,
    )  # fmt: skip


def lot_history(session: Session, lot_id: int) -> list[LotHappening]:
    """What happened to a lot, in the order entered."""
    return [LotHappening(*row) for row in session.execute(_HISTORY, {"id": lot_id})]


def mixes_of_lot(session: Session, lot_id: int) -> list[LotMix]:
    """The mixes made from a lot, oldest first."""
    return [LotMix(*row) for row in session.execute(_MIXES, {"lot_id": lot_id})]


def builds_of_lot(session: Session, lot_id: int) -> list[LotUse]:
    """The places on builds that were closed with a lot, by number: what a recall asks for."""
    uses = _uses(session.execute(_CURES_OF_LOT, {"lot_id": lot_id}))
    return [use for use in uses if use.lot_id == lot_id]


def lots_of_build(session: Session, build_id: int) -> LotsOfBuild:
    """The lots used on a build, in the order closed."""
    rows = session.execute(_CURES_OF_BUILD, {"build_id": build_id}).all()
    unnamed = [row[9] for row in rows if row[0] is None and row[2] is None]
    return LotsOfBuild(_uses(rows), list(dict.fromkeys(unnamed)))


def _uses(rows: Iterable[Row[*tuple[Any, ...]]]) -> list[LotUse]:
    found: list[LotUse] = []
    for a_id, a_number, b_id, b_number, adhesive, build, title, customer, closed, *rest in rows:
        lots = [(a_id, a_number, "A"), (b_id, b_number, "B")]
        if a_id == b_id:
            lots = [(a_id, a_number, "A and B")]
        found.extend(
            LotUse(lot_id, number, adhesive, parts, build, title, customer, closed is not None, *rest)
            for lot_id, number, parts in lots
            if lot_id is not None
        )
    return found


def mixes_in_hand(session: Session, lot_id: int, now: datetime) -> list[int]:
    """The root id of every mix from a lot that a quarantine is to hold.

    Those that stand on a build which is not handed over, are meant for a place on one, or are so fresh that
    the cup may still be in use.
    """
    values = {"lot_id": lot_id, "since": now - CUP_IN_HAND}
    return [root_id for (root_id,) in session.execute(_IN_HAND, values) if root_id]


def lot_faults(session: Session, mixes: dict[int, MixedFrom]) -> dict[int, str]:
    """What is wrong with the lots of each mix, by its root id; mixes with nothing wrong are left out.

    One statement, and none where no lot was named. A mix is judged at the shop's own day on which it was
    made; a fault for which an owner released the rule counts no more, and any other still does.
    """
    asked = {root_id: mix for root_id, mix in mixes.items() if mix.lot_a_id or mix.lot_b_id}
    ids = {lot_id for mix in asked.values() for lot_id in (mix.lot_a_id, mix.lot_b_id) if lot_id}
    if not ids:
        return {}
    rows = session.execute(_FACTS, {"ids": sorted(ids)}).all()
    zone = ZoneInfo(rows[0][10])
    lots = {row[0]: LotFact(*row[:10]) for row in rows}
    found = {}
    for root_id, mix in asked.items():
        day = mix.mixed_at.astimezone(zone).date()
        parts = [("A", mix.lot_a_id), ("B", mix.lot_b_id)]
        faults = [fault_of_lot(lots[lot_id], part, mix.adhesive_id, day) for part, lot_id in parts if lot_id]
        left = (fault for fault in faults if fault and not _is_released(fault, mix.releases))
        sentence = " ".join(dict.fromkeys(left))
        if sentence:
            found[root_id] = sentence
    return found


def _is_released(fault: str, releases: list[Any]) -> bool:
    """Whether an owner released the rule of lots for this fault; an old release names none and covers all."""
    return any(rule["kind"] == "lot" and fault in rule.get("faults", [fault]) for rule in releases)


def lot_record(session: Session, lot_id: int) -> Lot:
    """The record of one lot, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    lot = session.get(Lot, lot_id, with_for_update=True)
    if lot is None:
        raise NotOnFile(f"There is no lot {lot_id} on file.")
    return lot
