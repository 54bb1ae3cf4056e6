"""Addresses that no record can have, refused before the database is asked, and names given more than once."""

import re
from collections import Counter
from collections.abc import Iterable

from shop.rules.refusals import NotOnFile

# What an integer column of every engine holds; a larger number would break its driver.
MOST_WHOLE = 2**31 - 1
# All that is read as a whole number, the odd ways of writing one included.
_WHOLE = re.compile(r"[-+]?(?P<digits>\d[\d_]*)(\.0*)?", re.ASCII)


def check_address(parts: Iterable[str]) -> None:
    """Raises `NotOnFile` if one of the parts that an address varies in is no id, number or token of ours."""
    for part in parts:
        found = _WHOLE.fullmatch(part.strip())
        digits = "" if found is None else found["digits"].replace("_", "").lstrip("0")
        if "\x00" in part or len(digits) > len(str(MOST_WHOLE)) or int(digits or 0) > MOST_WHOLE:
            raise NotOnFile("There is nothing on file at this address.")


def repeated(names: Iterable[str]) -> list[str]:
    """The names that come more than once, each once; nobody knows which of their values counts."""
    return [name for name, times in Counter(names).items() if times > 1]
