"""How an order ends otherwise than by a rod that is handed over, and why: words that name nobody.

An order that ends stays on record for good, and a person may be erased: so the reason on the record is one of
a few, and whatever else is to be said goes with the build's notes.
"""

DECLINED, CANCELLED = "declined", "cancelled"
REASONS = (
    "the price", "the time it takes", "not a rod we build", "parts not to be had", "no answer any more",
    "changed their mind", "ordered elsewhere", "another reason",
)  # fmt: skip


def way_to_close(is_enquiry: bool) -> str:
    """What ending it is called: an enquiry is declined, by whichever side; an order is cancelled."""
    return DECLINED if is_enquiry else CANCELLED
