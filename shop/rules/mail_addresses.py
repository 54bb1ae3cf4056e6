"""Addresses of mail: whether one can be written to, as RFC 5322 (3.4.1) and RFC 5321 (4.5.3.1) have it.

Only the form is judged; whether anybody reads what is sent there, nobody knows before it is sent.
"""

import re
from email.errors import MessageError
from email.headerregistry import Address

MOST_ADDRESS = 254
MOST_LOCAL = 64
MOST_HOST = 253
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_HOST = re.compile(rf"{_LABEL}(?:\.{_LABEL})*")
_LITERAL = re.compile(r"\[[0-9A-Za-z.:]{2,60}\]")


def fault_of_address(text: str) -> str:
    """What is wrong with an address, as a sentence; empty for one that can be written to.

    Comments, folding and the obsolete forms of RFC 5322 are refused: no address in use has them, and mail
    programs read them differently.
    """
    sentence = f"“{text}” is not an e-mail address; it needs a name, an @ and a place."
    if not text.isascii():
        return f"“{text}” has letters beyond plain ASCII, which not every mail server takes."
    if not text.isprintable() or len(text) > MOST_ADDRESS:
        return sentence
    try:
        parsed = Address(addr_spec=text)
    except (ValueError, IndexError, MessageError):  # the standard library's own, for what is no address
        return sentence
    local, _, _ = text.rpartition("@")
    place = parsed.domain
    # What the library reads differently than it stands there has something around it.
    is_whole = parsed.addr_spec == text and 0 < len(local) <= MOST_LOCAL
    return "" if is_whole and (is_host(place) or _LITERAL.fullmatch(place)) else sentence


def is_host(text: str) -> bool:
    """Whether a text can be the name of a server (RFC 1123, 2.1)."""
    return len(text) <= MOST_HOST and _HOST.fullmatch(text) is not None
