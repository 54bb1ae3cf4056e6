"""Payments: what can be said of one, and what is owed of what was agreed.

No card is charged here; a payment is written down when it came in or went back. The methods are a fixed
list, so that a period's sums by method add up and nobody's name ends in a row that stays for good.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from shop.craft.saying import say_money
from shop.rules.quotes import MOST_CENTS

KINDS = ("deposit", "balance", "other")
METHODS = ("cash", "bank transfer", "card", "cheque", "online payment", "voucher", "other")
MOST_NOTE = 200
MOST_DAYS_BEFORE = 366


@dataclass(frozen=True, slots=True)
class PaymentSaid:
    """A payment as it is said: above nothing in `cents`; `given_back` where it went to the customer."""

    kind: str
    cents: int
    method: str
    paid_on: date
    note: str = ""
    given_back: bool = False


@dataclass(frozen=True, slots=True)
class Owed:
    """What was agreed for a build, what is paid and what is owed, in whole cents of `currency`.

    `agreed_cents` and `deposit_cents` are none before there is a quote with a yes. Nothing is owed for an
    order that was declined or cancelled.
    """

    currency: str
    agreed_cents: int | None
    deposit_cents: int | None
    paid_cents: int
    is_dropped: bool = False

    @property
    def owed_cents(self) -> int:
        """What is still to come in; never below nothing."""
        return 0 if self.is_dropped else max(0, (self.agreed_cents or 0) - self.paid_cents)

    @property
    def deposit_owed_cents(self) -> int:
        """What of the deposit is still to come in; never below nothing."""
        return 0 if self.is_dropped else max(0, (self.deposit_cents or 0) - self.paid_cents)

    @property
    def over_cents(self) -> int:
        """What was paid beyond what was agreed; all of it while nothing is agreed, or not any more."""
        agreed = 0 if self.is_dropped else self.agreed_cents or 0
        return max(0, self.paid_cents - agreed)


def faults_of_payment(said: PaymentSaid, today: date, taken_on: date, owed: Owed) -> dict[str, str]:
    """What cannot be of a payment, by field. `taken_on` is the day on which the build was taken on."""
    errors = {}
    if said.kind not in KINDS:
        errors["kind"] = f"A payment is one of {', '.join(KINDS)}."
    if said.method not in METHODS:
        errors["method"] = f"The method must be one of {', '.join(METHODS)}."
    if not 1 <= said.cents <= MOST_CENTS:
        errors["cents"] = f"The amount must be more than nothing, and at most {say_money(MOST_CENTS)}."
    elif said.given_back and said.cents > owed.paid_cents:
        paid = say_money(owed.paid_cents)
        errors["cents"] = f"Only {paid} {owed.currency} has been paid; no more can be given back."
    elif not said.given_back and owed.paid_cents + said.cents > MOST_CENTS:
        errors["cents"] = f"All payments together may be at most {say_money(MOST_CENTS)}."
    if said.paid_on > today:
        errors["paid_on"] = "That day is still to come; a payment is written down when it is in."
    elif said.paid_on < taken_on - timedelta(days=MOST_DAYS_BEFORE):
        errors["paid_on"] = f"That day lies more than a year before the order, which is of {taken_on}."
    if len(said.note) > MOST_NOTE or "\0" in said.note:
        errors["note"] = f"The note is a line of at most {MOST_NOTE} characters."
    return errors


def say_kind(kind: str, cents: int) -> str:
    """What a row of money is called: a deposit that came in, or one that was given back."""
    words = {"deposit": "Deposit", "balance": "Balance", "other": "Other payment"}[kind]
    return f"{words}, given back" if cents < 0 else words
