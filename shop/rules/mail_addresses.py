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
_HOST_FORM = rf"{_LABEL}(?:\.{_LABEL})*"
_HOST = re.compile(_HOST_FORM)
_ATOM = r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+"
_QUOTED = r'"(?:[ !#-\[\]-~]|\\[ -~])+"'
# The standard library's own parser stumbles over much that is no address, so it only sees what may be one.
_FORM = re.compile(
    rf"(?P<local>{_ATOM}(?:\.{_ATOM})*|{_QUOTED})@(?P<place>{_HOST_FORM}|\[[0-9A-Za-z.:]{{2,60}}\])"
)


def fault_of_address(text: str) -> str:
    """What is wrong with an address, as a sentence; empty for one that can be written to.

    Comments, folding and the obsolete forms of RFC 5322 are refused: no address in use has them, and mail
    programs read them differently.
    """
    if not text.isascii():
        return f"“{text}” has letters beyond plain ASCII, which not every mail server takes."
    found = _FORM.fullmatch(text)
    is_good = (
        found is not None
        and len(text) <= MOST_ADDRESS
        and len(found["local"]) <= MOST_LOCAL
        and (found["place"].startswith("[") or is_host(found["place"]))
        and _is_read_as_it_stands(text)
    )
    return "" if is_good else f"“{text}” is not an e-mail address; it needs a name, an @ and a place."


def _is_read_as_it_stands(text: str) -> bool:
    """Whether the standard library, which writes the header, reads the same address."""
    try:
        return Address(addr_spec=text).addr_spec == text
    except (ValueError, MessageError):
        return False


def is_host(text: str) -> bool:
    """Whether a text can be the name of a server (RFC 1123, 2.1)."""
    return len(text) <= MOST_HOST and _HOST.fullmatch(text) is not None
