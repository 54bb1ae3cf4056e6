"""The JSON that programs send, read strictly, and parameters that a call does not have.

Python's own reader lets through what no other program could read back: NaN, numbers beyond every table's
columns, half a surrogate pair, and NUL, which PostgreSQL cannot keep; of a name given twice it takes the last
in silence. All that is refused here once, before any handler sees it. What the fields mean is left to the
handlers' models.
"""

import json
import re
from collections.abc import Set
from typing import Any

from fastapi import Request

from shop.rules.refusals import BadInput
from shop.web.addresses import repeated

_UNKEEPABLE = re.compile("[\x00\ud800-\udfff]")
MOST_INTEGER = 2**63 - 1
# A name as long as a book is not said back.
MOST_NAME = 60


class NotJson(json.JSONDecodeError):
    """A body that is not JSON as RFC 8259 has it, or holds what cannot be kept."""

    def __init__(self, why: str) -> None:
        super().__init__(why, "", 0)


class GivenTwice(NotJson):
    """A body in which one object has a name more than once; `name` is it, shortened where it is long."""

    def __init__(self, name: str) -> None:
        self.name = name[:MOST_NAME]
        super().__init__(f"“{self.name}” is given more than once; give it once")


def read_json(body: bytes) -> Any:
    """A body as Python values. Raises `NotJson` with a sentence, `GivenTwice` among them."""
    try:
        value = json.loads(
            body.decode(), parse_constant=_no_constant, parse_float=_finite, parse_int=_whole,
            object_pairs_hook=_object,
        )  # fmt: skip
    except UnicodeDecodeError as fault:
        raise NotJson("it is not UTF-8") from fault
    except RecursionError as fault:
        raise NotJson("it is nested too deeply") from fault
    if b"\\u" in body:
        _check_texts(value)
    return value


def _no_constant(word: str) -> Any:
    raise NotJson(f"{word} is not a JSON number")


def _finite(digits: str) -> float:
    number = float(digits)
    if number - number != 0:
        raise NotJson("a number in it is too large")
    return number


def _whole(digits: str) -> int:
    if len(digits) > 20 or abs(number := int(digits)) > MOST_INTEGER:
        raise NotJson("a number in it is too large")
    return number


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = repeated(name for name, _ in pairs)[0]
        # A name that cannot be kept cannot be said back either; `_check_texts` refuses it.
        if not _UNKEEPABLE.search(twice):
            raise GivenTwice(twice)
    return found


def _check_texts(value: Any) -> None:
    """Refuse NUL and halves of surrogate pairs, which JSON can only spell with an escape."""
    waiting = [value]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict):
            waiting += [*part, *part.values()]
        elif isinstance(part, list):
            waiting += part
        elif isinstance(part, str) and _UNKEEPABLE.search(part):
            raise NotJson("a text in it has a character that cannot be kept")


class JsonRequest(Request):
    """A request whose body is read strictly."""

    async def json(self) -> Any:
        """The body as Python values, read once. Raises `NotJson`."""
        if not hasattr(self, "_strict_json"):
            self._strict_json = read_json(await self.body())
        return self._strict_json


def check_query(request: Request, known: Set[str]) -> None:
    """Refuse a parameter that the call does not have, so that a misspelt one is noticed, or has twice.

    Raises `BadInput`.
    """
    unknown = {name for name in request.query_params if name not in known}
    if unknown:
        raise BadInput(dict.fromkeys(sorted(unknown), "There is no such parameter in this call."))
    twice = repeated(name for name, _ in request.query_params.multi_items())
    if twice:
        raise BadInput({name: f"“{name}” is given more than once; give it once." for name in twice})
