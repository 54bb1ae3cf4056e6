"""The demo's money: rates, one tax, quotes that were agreed and one that waits, deposits and a balance owed.

Every figure is invented.
"""

from datetime import date, datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from seed_demo.hand import Hand
from seed_demo.shop import TIME_ZONE
from shop.craft.quote import Basis, PartLine, TaxRule, Terms
from shop.queries.builds import build_view, enquiries
from shop.queries.payments import owed_of_build
from shop.queries.quote_beginnings import suggestion_for
from shop.queries.shop import shop_version
from shop.rules.payments import PaymentSaid
from shop.rules.quote_terms import PartsAt, QuoteTerms
from shop.rules.quotes import QuoteLines
from shop.rules.tax_rules import TaxRuleFacts
from shop.services.payments import record_payment
from shop.services.quote_terms import save_quote_terms
from shop.services.quotes import QuoteSaid, make_quote, send_quote, take_down_answer
from shop.services.tax_rules import add_tax_rule

RATES = QuoteTerms(
    42_00, Terms(Fraction(15), Basis.MARGIN, Fraction(30), Fraction(50)), 9_50, 30, PartsAt.COST
)
WORDS = (
    "Half of the total is due before work begins, the rest before the rod leaves the shop.\n"
    "Parts ordered for your rod alone cannot be given back.\n"
    "You may change what has not been begun; a later change is priced anew."
)
TAX = TaxRuleFacts(
    TaxRule("Sales tax", Fraction("12.5"), date(2024, 1, 1)),
    "Invented for this demo: ask an accountant which taxes are due where you are.",
    is_on=True,
)
BLANK_CENTS = 98_00
# Rods whose quote was agreed, and whether all of it has been paid.
AGREED = {
    "7 ft casting, finished": True, "12 ft surf, bass": True, "7 ft casting, a gift": False,
    "6 ft 8 in casting, pike": False,
}  # fmt: skip
WAITING = "7 ft casting, big lures"


def set_rates(session: Session, *, now: datetime) -> None:
    """Say what quotes begin with, and switch one tax on."""
    save_quote_terms(session, RATES, WORDS, version=shop_version(session))
    add_tax_rule(session, TAX, now=now)


def agree_on(hand: Hand, secret: bytes, number: str, title: str, at: datetime) -> None:
    """Quote a rod, take the customer's yes down, and write down what was paid, where it is one of those."""
    if title not in AGREED:
        return
    bench = hand.bench(at, "Maren")
    quote_id = _send(hand, secret, number, at)
    take_down_answer(hand.session, quote_id, bench, answer="yes", note="said at the counter")
    owed = owed_of_build(hand.session, build_view(hand.session, number).id)
    paid_on = at.astimezone(ZoneInfo(TIME_ZONE)).date()
    deposit = PaymentSaid("deposit", owed.deposit_cents or 0, "bank transfer", paid_on)
    record_payment(hand.session, number, bench, deposit)
    if AGREED[title]:
        rest = PaymentSaid("balance", owed.owed_cents - deposit.cents, "cash", paid_on, "paid with the order")
        record_payment(hand.session, number, bench, rest)


def quote_an_enquiry(hand: Hand, secret: bytes, *, now: datetime) -> None:
    """Send the customer of one enquiry a quote, which waits for an answer."""
    for build in enquiries(hand.session):
        if build.title == WAITING:
            _send(hand, secret, build.number, now - timedelta(days=1))


def _send(hand: Hand, secret: bytes, number: str, at: datetime) -> int:
    build, bench = build_view(hand.session, number), hand.bench(at, "Maren")
    sequence = hand.sequences.of_build(hand.session, build.sequence_id).value
    found = suggestion_for(hand.session, build, sequence, RATES.parts_at, "EUR")
    parts = [
        PartLine(line.name, line.how_many, BLANK_CENTS if line.cents is None else line.cents)
        for line in found.lines
    ]
    blank = [] if parts else [PartLine("Blank, grips, seat and guides", 1, 3 * BLANK_CENTS)]
    lines = QuoteLines(
        tuple(parts + blank), RATES.consumables_cents, found.hours, RATES.rate_cents, RATES.terms
    )
    until = at.astimezone(ZoneInfo(TIME_ZONE)).date() + timedelta(days=RATES.days_valid)
    note = "With thanks for asking. The colours are as you chose them."
    quote = make_quote(hand.session, number, bench, QuoteSaid(lines, until, note))
    send_quote(hand.session, secret, quote.id, bench)
    return quote.id
