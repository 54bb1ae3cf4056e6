"""Messages between a customer and the shop: what may be written, and how much in a day."""

import unicodedata
from datetime import timedelta

MOST_TEXT = 2000
MOST_A_DAY = 20
A_DAY = timedelta(hours=24)
# Whoever presses the button twice has written once.
SAME_TAP = timedelta(minutes=10)
TOO_MANY = (
    f"{MOST_A_DAY} messages have come over this link within a day, which is as many as it takes; please "
    "write again tomorrow, or ring the shop."
)
_LINES = ("\n", "\t")


def plain_text(text: str) -> str:
    """A text as it is kept: without what surrounds it, and with one kind of line end."""
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def faults_of_message(text: str) -> dict[str, str]:
    """What keeps a text, as `plain_text` leaves it, from being a message, by field."""
    if not text:
        return {"text": "There is nothing in it yet; please write something."}
    if len(text) > MOST_TEXT:
        return {"text": f"The message has {len(text)} characters; at most {MOST_TEXT} fit."}
    if any(unicodedata.category(sign) in ("Cc", "Cs") and sign not in _LINES for sign in text):
        return {"text": "The message has a character in it that cannot be kept; please type it again."}
    return {}
