"""What a decision about a build wants to know of the desk: its parts, its money, the customer's yes."""

from collections.abc import Iterable
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.blanks import Blank
from shop.db.build_parts import BuildPart
from shop.db.builds import Build
from shop.db.components import Component
from shop.db.payments import Payment
from shop.db.quotes import Quote
from shop.db.shop import Shop
from shop.db.specs import Spec
from shop.db.stocks import Stock
from shop.queries.quotes import HAS_YES
from shop.rules.facts import ApprovalFact, MoneyFact, PartFact


class DeskFacts(NamedTuple):
    """What is known of one build at the desk."""

    parts: tuple[PartFact, ...] = ()
    money: MoneyFact | None = None
    approval: ApprovalFact | None = None


class _Offer(NamedTuple):
    """A quote that was sent, by build: its revision and money, whether it has a yes or was withdrawn."""

    build_id: int
    spec_revision: int
    currency: str
    total_cents: int
    deposit_cents: int
    is_agreed: bool
    is_withdrawn: bool


_PART_STOCK, _BLANK_STOCK = aliased(Stock), aliased(Stock)
_OPEN = select(Build.id).where(Build.closed_at.is_(None))
_PARTS: Select[*tuple[Any, ...]] = (
    select(
        BuildPart.build_id, BuildPart.part_group,
        func.coalesce(Component.name, func.trim(Blank.maker + " " + Blank.model)), BuildPart.needed,
        BuildPart.set_aside, BuildPart.used,
        # What lies on the shelf and is set aside for no build.
        func.coalesce(
            _PART_STOCK.on_shelf - _PART_STOCK.set_aside, _BLANK_STOCK.on_shelf - _BLANK_STOCK.set_aside
        ),
        BuildPart.confirmed_at.is_not(None),
    )
    .join(Component, Component.id == BuildPart.component_id, isouter=True)
    .join(Blank, Blank.id == BuildPart.blank_id, isouter=True)
    .join(_PART_STOCK, _PART_STOCK.component_id == BuildPart.component_id, isouter=True)
    .join(_BLANK_STOCK, _BLANK_STOCK.blank_id == BuildPart.blank_id, isouter=True)
    .order_by(BuildPart.id)
)  # fmt: skip
_OFFERS: Select[*tuple[Any, ...]] = (
    select(
        Quote.build_id, Quote.spec_revision, Quote.currency, Quote.total_cents, Quote.deposit_cents, HAS_YES,
        Quote.withdrawn_at.is_not(None),
    )
    .where(Quote.sent_at.is_not(None))
    .order_by(Quote.id)
)  # fmt: skip
_PAID = select(Payment.build_id, func.sum(Payment.cents)).group_by(Payment.build_id)
# Whoever enquired is asked even before anything is written down; others only where there is a spec.
_SPECS = (
    select(Build.id, func.coalesce(func.max(Spec.revision), 0), Shop.currency)
    .join(Spec, Spec.build_id == Build.id, isouter=True)
    .join(Shop, Shop.id == 1)
    .where(Build.is_enquiry | Spec.id.is_not(None))
    .group_by(Build.id, Shop.currency)
)
_READS = (_PARTS, _OFFERS, _PAID, _SPECS)
_KEYS = (BuildPart.build_id, Quote.build_id, Payment.build_id, Build.id)
_OF_BUILD = tuple(read.where(key == bindparam("build_id")) for read, key in zip(_READS, _KEYS, strict=True))
_OF_OPEN = tuple(read.where(key.in_(_OPEN)) for read, key in zip(_READS, _KEYS, strict=True))


def desk_facts(session: Session, build_id: int) -> DeskFacts:
    """What the desk knows of one build, in four statements."""
    connection = session.connection()
    parts, offers, paid, specs = (
        connection.execute(read, {"build_id": build_id}).all() for read in _OF_BUILD
    )
    return _together(parts, offers, paid, specs).get(build_id, DeskFacts())


def open_desk_facts(session: Session) -> dict[int, DeskFacts]:
    """What the desk knows of every open build, by its id, in four statements."""
    connection = session.connection()
    parts, offers, paid, specs = (connection.execute(read).all() for read in _OF_OPEN)
    return _together(parts, offers, paid, specs)


def _together(
    parts: Iterable[Any], offers: Iterable[Any], paid: Iterable[Any], specs: Iterable[Any]
) -> dict[int, DeskFacts]:
    of_build: dict[int, list[PartFact]] = {}
    for build_id, *said in parts:
        of_build.setdefault(build_id, []).append(PartFact(*said))
    sent: dict[int, list[_Offer]] = {}
    for offer in map(_Offer._make, offers):
        sent.setdefault(offer.build_id, []).append(offer)
    sent = {build_id: _standing(offers) for build_id, offers in sent.items()}
    paid_cents = {build_id: int(cents) for build_id, cents in paid}
    revisions = {build_id: (revision, currency) for build_id, revision, currency in specs}
    return {
        build_id: DeskFacts(
            tuple(of_build.get(build_id, ())),
            _money(sent.get(build_id, []), paid_cents.get(build_id, 0), revisions.get(build_id)),
            _approval(sent.get(build_id, []), revisions.get(build_id)),
        )
        for build_id in {*of_build, *sent, *paid_cents, *revisions}
    }


def _standing(offers: list[_Offer]) -> list[_Offer]:
    """The quotes that count, of those that were sent: each with a yes, and the newest if it can have one.

    One that was sent before another is outdated for good, also where the later one was withdrawn.
    """
    return [offer for offer in offers if offer.is_agreed or (offer is offers[-1] and not offer.is_withdrawn)]


def _money(offers: list[_Offer], paid_cents: int, spec: tuple[int, str] | None) -> MoneyFact | None:
    agreed = [offer for offer in offers if offer.is_agreed]
    if agreed:
        newest = agreed[-1]
        return MoneyFact(newest.currency, newest.total_cents, newest.deposit_cents, paid_cents)
    if spec is None and not offers:
        return None
    currency = offers[-1].currency if offers else spec[1] if spec else ""
    return MoneyFact(currency, None, None, paid_cents)


def _approval(offers: list[_Offer], spec: tuple[int, str] | None) -> ApprovalFact | None:
    if spec is None and not offers:
        return None
    agreed = [offer.spec_revision for offer in offers if offer.is_agreed]
    quoted = offers[-1].spec_revision if offers else None
    return ApprovalFact(spec[0] if spec else 0, quoted, agreed[-1] if agreed else None)
