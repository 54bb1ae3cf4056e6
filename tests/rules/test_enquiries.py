"""What an enquiry waits for: every case from the first wish to the order."""

import pytest

from shop.rules.enquiries import Enquiry, Waits, waiting_for
from shop.rules.facts import ApprovalFact, MoneyFact
from shop.rules.quote_answers import QuoteState

MISSING = ("the guides", "the thread")


def money(deposit: int | None, paid: int) -> MoneyFact:
    return MoneyFact("EUR", 60_000, deposit, paid)


@pytest.mark.parametrize(
    ("enquiry", "what", "says"),
    [
        (Enquiry(), Waits.SPEC, "nothing is written down"),
        (Enquiry(approval=ApprovalFact(0)), Waits.SPEC, "nothing is written down"),
        (Enquiry(MISSING, ApprovalFact(1)), Waits.SPEC, "The rest of the spec: the guides, the thread."),
        (Enquiry((), ApprovalFact(1)), Waits.QUOTE, "A quote."),
        # A quote for an earlier revision is none for this one, be it for the next lower.
        (Enquiry((), ApprovalFact(3, quoted=2)), Waits.QUOTE, "the last one is for revision 2"),
        (Enquiry(MISSING, ApprovalFact(3, quoted=2)), Waits.SPEC, "The rest of the spec"),
        (Enquiry((), ApprovalFact(3, quoted=3)), Waits.YES, "yes to the quote for revision 3"),
        (Enquiry(MISSING, ApprovalFact(3, quoted=3)), Waits.YES, "yes to the quote"),
        (Enquiry((), ApprovalFact(0, quoted=0)), Waits.YES, "yes to the quote for revision 0"),
        (Enquiry((), ApprovalFact(2, 2), offer=QuoteState.OPEN), Waits.YES, "yes to the quote"),
        (Enquiry((), ApprovalFact(2, 2), offer=QuoteState.REFUSED), Waits.ANSWER, "said no"),
        (Enquiry((), ApprovalFact(2, 2), offer=QuoteState.EXPIRED), Waits.QUOTE, "last day"),
        # A no to an earlier revision is answered by the further one.
        (Enquiry((), ApprovalFact(3, 2), offer=QuoteState.REFUSED), Waits.QUOTE, "revision 2"),
        # A yes to an earlier revision is none to this one.
        (Enquiry((), ApprovalFact(3, 2, agreed=2)), Waits.QUOTE, "revision 2"),
        (Enquiry((), ApprovalFact(3, 3, agreed=2)), Waits.YES, "revision 3"),
        (Enquiry((), ApprovalFact(2, 2, 2), money(20_000, 0)), Waits.DEPOSIT, "The deposit."),
        (Enquiry((), ApprovalFact(2, 2, 2), money(20_000, 19_999)), Waits.DEPOSIT, "The deposit."),
        (Enquiry((), ApprovalFact(2, 2, 2), money(20_000, 20_000)), Waits.TAKING_ON, "taken on"),
        (Enquiry((), ApprovalFact(2, 2, 2), money(0, 0)), Waits.TAKING_ON, "taken on"),
        (Enquiry(MISSING, ApprovalFact(2, 2, 2), money(None, 0)), Waits.TAKING_ON, "taken on"),
        (Enquiry((), ApprovalFact(2, 2, 2)), Waits.TAKING_ON, "taken on"),
    ],
)  # fmt: skip
def test_an_enquiry_waits_for_one_thing_at_a_time(enquiry: Enquiry, what: Waits, says: str) -> None:
    waiting = waiting_for(enquiry)
    assert waiting.what is what
    assert says in waiting.says
