"""A shop whose one rod waits for the customer's yes, a deposit and the balance, with a make-up to quote from.

The parts are priced so that the quote can be worked by hand: 186.40 of parts, 6.5 hours of attended work.
"""

from datetime import date, datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.craft.quote import Basis, PartLine, TaxRule, Terms
from shop.queries.cure_clock import CureClock
from shop.queries.facts import surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.queries.shop import shop_record, shop_version
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.quote_terms import QuoteTerms
from shop.rules.quotes import QuoteLines
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.rules.tax_rules import TaxRuleFacts
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.components import change_component
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid, save_make_up
from shop.services.quote_terms import save_quote_terms
from shop.services.quotes import QuoteSaid
from shop.services.sequences import add_sequence
from shop.services.tax_rules import add_tax_rule, switch_tax_rule
from tests.api.filled import CUSTOMER
from tests.make_up_shop import BLANK, FORE, REAR, RING, SEAT, fill_for_make_ups, nm

NUMBER = "26-002"
SECRET = bytes(range(32))
EXCISE = 1  # the example that the migration brings
SEQUENCE = Sequence(
    "quoted",
    "casting",
    (
        Stage("agreed", holds=(Hold(HoldKind.APPROVAL),), attended_minutes=90),
        Stage("begun", holds=(Hold(HoldKind.DEPOSIT),), attended_minutes=240),
        Stage("handed over", holds=(Hold(HoldKind.BALANCE),), attended_minutes=60),
    ),
)
TERMS = Terms(Fraction(15), Basis.MARGIN, Fraction(30), Fraction(50))
RATES = QuoteTerms(38_00, TERMS, 6_20, 30)
LINES = QuoteLines(
    (PartLine("Heron 70", 1, 120_00), PartLine("Ring guide 8", 8, 8_30)), 6_20, Fraction("6.5"), 38_00, TERMS
)
SAID = QuoteSaid(LINES, note="With our thanks for asking.")
WORDS = "Half to begin with.\nThe rest before you get the rod."
SALES_TAX = TaxRuleFacts(TaxRule("Sales tax", Fraction("6.25"), date(2020, 1, 1)), is_on=True)


def fill_for_quotes(session: Session, now: datetime) -> None:
    """Put the shop on file, with rates and taxes, and take the rod on."""
    fill_for_make_ups(session, now)
    shop_record(session).currency = "USD"
    save_quote_terms(session, RATES, WORDS, version=shop_version(session))
    switch_tax_rule(session, EXCISE, is_on=True)
    add_tax_rule(session, SALES_TAX, now=now)
    sequence = add_sequence(session, now=now, sequence=SEQUENCE)
    take_on_build(
        session, now=now, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft casting",
        rod_kind="casting", sequence_id=sequence.id, blank_id=BLANK,
    )  # fmt: skip


def lay_down(session: Session, now: datetime) -> None:
    """Lay down what goes on the rod: three handle parts of 40.00 each and three guides of 8.30."""
    for part in (REAR, SEAT, FORE):
        change_component(session, part, price_cents=40_00, currency="USD")
    change_component(session, RING, price_cents=8_30, cost_cents=5_00, currency="USD")
    parts = [
        PartSaid("rear grip", REAR, nm("1/2"), nm("9 1/2")),
        PartSaid("reel seat", SEAT, nm("9 1/2"), nm("14")),
        PartSaid("fore grip", FORE, nm("14"), nm("16 1/2")),
    ]
    guides = [GuideSaid(nm(at), RING) for at in ("4", "18 1/2", "52")]
    save_make_up(session, NUMBER, bench_of(session, now), MakeUpSaid(parts, guides), revision=0)


def bench_of(session: Session, now: datetime, name: str = "Nell") -> Bench:
    """An owner at the desk at an instant."""
    warmth = CureClock().warmth(session)
    actor = Actor(name, ROLE_RIGHTS[Role.OWNER])
    return Bench(now, actor, warmth, surroundings(warmth, "", now.timestamp()), KeptSequences())
