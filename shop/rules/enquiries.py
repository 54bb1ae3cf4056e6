"""What an enquiry waits for, from the first wish to the order: one answer for list, page and API.

Pure. What the spec says is `shop.rules.spec`, what has been quoted and paid comes in as facts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.rules.facts import ApprovalFact, MoneyFact
from shop.rules.quote_answers import QuoteState

NOTHING_SAID = ApprovalFact()


class Waits(StrEnum):
    """What comes next for an enquiry."""

    SPEC = "spec"
    QUOTE = "quote"
    YES = "yes"
    ANSWER = "answer"
    DEPOSIT = "deposit"
    TAKING_ON = "taking on"


@dataclass(frozen=True, slots=True)
class Enquiry:
    """What an answer rests on. `missing` is what a quote would want to know (`shop.rules.spec.missing_from`).

    `offer` is where the newest quote stands that was sent and not withdrawn; none where there is none.
    """

    missing: Sequence[str] = ()
    approval: ApprovalFact | None = None
    money: MoneyFact | None = None
    offer: QuoteState | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """What an enquiry waits for, and the same as a sentence of the shop."""

    what: Waits
    says: str


# What becomes of an enquiry whose newest quote can no longer be said yes to.
_ENDED: dict[QuoteState | None, Waiting] = {
    QuoteState.REFUSED: Waiting(Waits.ANSWER, "The shop: the customer said no to the newest quote."),
    QuoteState.EXPIRED: Waiting(Waits.QUOTE, "A new quote: the last day of the last one is over."),
}


def waiting_for(enquiry: Enquiry) -> Waiting:
    """What an enquiry waits for: a spec, a quote, the customer's yes, the deposit, or to be taken on.

    A quote for the newest revision counts even where the spec still lacks something: whoever sent it knew
    enough. A no waits for the shop, which offers otherwise or closes the enquiry.
    """
    said = enquiry.approval or NOTHING_SAID
    if said.revision == 0 and said.quoted is None:
        return Waiting(Waits.SPEC, "A spec: nothing is written down yet.")
    if is_agreed(said):
        return _agreed(enquiry.money)
    if said.quoted is not None and said.quoted >= said.revision:
        if enquiry.offer in _ENDED:
            return _ENDED[enquiry.offer]
        return Waiting(Waits.YES, f"The customer's yes to the quote for revision {said.quoted}.")
    if enquiry.missing:
        return Waiting(Waits.SPEC, f"The rest of the spec: {', '.join(enquiry.missing)}.")
    if said.quoted is not None:
        return Waiting(Waits.QUOTE, f"A new quote: the last one is for revision {said.quoted}.")
    return Waiting(Waits.QUOTE, "A quote.")


def is_agreed(said: ApprovalFact | None) -> bool:
    """Whether the customer has said yes to what is on file now; then only the taking on is left."""
    return said is not None and said.agreed is not None and said.agreed >= said.revision


def says_of_order(said: ApprovalFact | None) -> str:
    """How far an open enquiry is from being an order, for whoever looks at it in the shop."""
    if is_agreed(said):
        return "the customer said yes, and it waits to be taken on"
    return "nobody has ordered it yet"


def _agreed(money: MoneyFact | None) -> Waiting:
    if money is not None and money.deposit_cents is not None and money.paid_cents < money.deposit_cents:
        return Waiting(Waits.DEPOSIT, "The deposit.")
    return Waiting(Waits.TAKING_ON, "Nothing: it can be taken on.")
