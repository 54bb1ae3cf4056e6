"""What a quote begins with: the parts of a newest make-up with their prices, and the hours of the stages."""

from collections.abc import Iterable

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.components import Component
from shop.queries.builds import BuildView
from shop.queries.make_ups import latest_make_up
from shop.rules.make_up import MakeUp
from shop.rules.quote_terms import PartsAt
from shop.rules.quotes import PricedPart, Suggestion, suggest
from shop.rules.sequences import Sequence

_PRICES = select(
    Component.id, Component.name, Component.price_cents, Component.cost_cents, Component.currency
).where(Component.id.in_(bindparam("ids", expanding=True)))


def suggestion_for(
    session: Session, build: BuildView, sequence: Sequence, parts_at: PartsAt, currency: str
) -> Suggestion:
    """The lines to begin a build's quote with, in two statements.

    A blank has no price on file, and a part priced in another currency counts as one without a price: both
    are named, and somebody says what they are worth.
    """
    latest = latest_make_up(session, build.id)
    parts = [] if latest is None else _parts_of(session, latest.value, parts_at, currency)
    return suggest(parts, sum(stage.attended_minutes for stage in sequence.stages))


def _parts_of(session: Session, make_up: MakeUp, parts_at: PartsAt, currency: str) -> list[PricedPart]:
    chosen = [(part.component_id, part.name) for part in make_up.parts]
    chosen += [(guide.component_id, guide.name) for guide in make_up.guides]
    on_file = _on_file(session, (component_id for component_id, _ in chosen if component_id), currency)
    found = [] if make_up.blank is None else [PricedPart(make_up.blank.name, None)]
    for component_id, name in chosen:
        price, cost = on_file.get(component_id or 0, (None, None))
        found.append(PricedPart(name, price if parts_at is PartsAt.PRICE else cost))
    return found


def _on_file(session: Session, ids: Iterable[int], currency: str) -> dict[int, tuple[int | None, int | None]]:
    """Price and cost of each component, none where it is not in that currency."""
    rows = session.execute(_PRICES, {"ids": sorted(set(ids))})
    return {row.id: (row.price_cents, row.cost_cents) for row in rows if row.currency == currency}
