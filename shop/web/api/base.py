"""What every part of the API shares: strict bodies, lists by key, and retried writes.

A list answers `{"items": […], "next": …}`; `next` is the `after` of the next page or null. A write may
carry `Idempotency-Key`: the same key and body again gets the first answer, another body with it is
refused with 422. Refusals are not kept: nothing was done, so a retry is judged anew.
"""

import hashlib
import json
from collections.abc import Callable, Coroutine
from contextlib import suppress
from typing import Annotated, Any, Generic, TypeVar

from fastapi import APIRouter, Depends, Header, Query, Request
from fastapi.dependencies.models import Dependant
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response
from starlette.routing import Match
from starlette.types import Scope

from shop.queries.keys import first_answer
from shop.rules.people import Actor
from shop.rules.refusals import BadInput
from shop.services.answers import keep_answer
from shop.web.addresses import MOST_WHOLE
from shop.web.api.json_bodies import JsonRequest, check_query, read_json
from shop.web.deps import Writing, hub_of
from shop.web.running import ReadingRoute

T = TypeVar("T")
MOST_ITEMS = 200
KEY_HEADER = "Idempotency-Key"
# The mark of a call that may be refused with every hold; `shop.web.openapi` describes the answer.
CAN_BE_HELD: dict[str, Any] = {"x-can-be-held": True}
# The mark of a POST that only computes: nothing can overtake it, and a retry needs no key of its own.
WRITES_NOTHING: dict[str, Any] = {"x-writes-nothing": True}


class Body(BaseModel):
    """The base of every request body: unknown fields are refused, so that a misspelt one is noticed."""

    model_config = ConfigDict(extra="forbid", str_strip_whitespace=True)


def changes_of(body: Body, *nullable: str) -> dict[str, Any]:
    """What a `PATCH` was sent, by field. Raises `BadInput` for a null that is not among `nullable`."""
    changes = body.model_dump(exclude_unset=True)
    errors = {
        name: f"{name} may be left out, but it cannot be null."
        for name, value in changes.items()
        if value is None and name not in nullable
    }
    if errors:
        raise BadInput(errors)
    return changes


class Page(BaseModel, Generic[T]):
    """One page of a list."""

    items: list[T]
    next: str | None = None


def only_number(value: Any) -> Any:
    """Pydantic takes `false` for 0 and `"5"` for 5; a number that was sent as another kind is a mistake."""
    if isinstance(value, bool | str):
        raise ValueError("must be a number")
    return value


def only_truth(value: Any) -> Any:
    """Pydantic takes `1` and `"on"` for true; only JSON's own two words are meant."""
    if not isinstance(value, bool):
        raise ValueError("must be true or false")
    return value


OnlyNumber = BeforeValidator(only_number)
Number = Annotated[float, OnlyNumber]
Whole = Annotated[int, Field(ge=-MOST_WHOLE, le=MOST_WHOLE), OnlyNumber]
Ref = Annotated[int, Field(ge=1, le=MOST_WHOLE), OnlyNumber]
Truth = Annotated[bool, BeforeValidator(only_truth)]
Limit = Annotated[int, Query(ge=1, le=MOST_ITEMS, description="At most this many items.")]
After = Annotated[int, Query(ge=0, le=MOST_WHOLE, description="The `next` of the page before, or 0.")]


def page_of(items: list[T], limit: int, key_of: Callable[[T], Any]) -> dict[str, Any]:
    """The page of a list that was read one longer than `limit`, to know whether there is more."""
    more = len(items) > limit
    shown = items[:limit]
    return {"items": shown, "next": str(key_of(shown[-1])) if more else None}


class Replayed(Exception):
    """This request was answered before; `response` is that answer."""

    def __init__(self, response: Response) -> None:
        super().__init__()
        self.response = response


async def replayed(_request: Request, replay: Exception) -> Response:
    """Give the first answer again."""
    assert isinstance(replay, Replayed)
    return replay.response


async def once(
    request: Request,
    session: Writing,
    idempotency_key: Annotated[
        str | None,
        Header(
            alias=KEY_HEADER, min_length=1, max_length=200,
            description="Any text of yours; repeat it with a retry, and the write is done once.",
        ),
    ] = None,
) -> None:  # fmt: skip
    """Before a write: if its key has been answered already, give that answer and do nothing."""
    if idempotency_key is None:
        return
    body = await _said_in(request)
    earlier = await run_in_threadpool(first_answer, session, _actor_text(request), idempotency_key)
    if earlier is None:
        return
    if earlier.fingerprint != _fingerprint(request, body):
        sentence = "This Idempotency-Key was used with another request; use a new key for a new request."
        raise BadInput({KEY_HEADER: sentence})
    raise Replayed(Response(earlier.body, earlier.status, media_type="application/json"))


class ApiRoute(ReadingRoute):
    """A route that reads strictly, and keeps its first answer with the write itself, in one transaction."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The handler, whose answer is kept when the request carries a key and has written."""
        handle = super().get_route_handler()
        known = _parameters_of(self.dependant)

        async def keeping(request: Request) -> Response:
            check_query(request, known)
            strict = JsonRequest(request.scope, request.receive)
            response = await handle(strict)
            key = strict.headers.get(KEY_HEADER)
            session = getattr(strict.state, "writing", None)
            if key and session is not None and response.status_code < 300:
                keep_answer(
                    session, actor=_actor_text(strict), key=key,
                    fingerprint=_fingerprint(strict, await _said_in(strict)),
                    status=response.status_code, body=bytes(response.body).decode(),
                    now=hub_of(strict).clock.now(),
                )  # fmt: skip
            return response

        return keeping


class NamedRoute(ApiRoute):
    """A route at a name where other routes take an id, such as `/mixes/plan` beside `/mixes/{mix_id}`.

    Its path is its own for every method, so that another one is told 405 and not that a name is no id. Its
    router is to stand before those with the id.
    """

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Whether a request is for this path, whatever its method."""
        match, child = super().matches(scope)
        return Match.FULL if match is Match.PARTIAL else match, child


def _parameters_of(dependant: Dependant) -> set[str]:
    """The parameters that a call or anything it depends on takes from the address."""
    own = {field.alias for field in dependant.query_params}
    return own.union(*(_parameters_of(inner) for inner in dependant.dependencies))


async def _said_in(request: Request) -> bytes:
    """The body; or what stands for it where it was a form with a file, whose boundary every retry makes anew.

    `shop.web.photo_uploads` leaves it at `request.state.said`.
    """
    said: bytes | None = getattr(request.state, "said", None)
    return await request.body() if said is None else said


def _actor_text(request: Request) -> str:
    program: Actor = request.state.program
    return f"key {program.key_id}"


def _fingerprint(request: Request, body: bytes) -> str:
    with suppress(ValueError):  # what is not JSON is compared byte by byte
        body = json.dumps(read_json(body), sort_keys=True).encode()
    asked = f"?{request.url.query}" if request.url.query else ""
    line = f"{request.method} {request.url.path}{asked}\n".encode()
    return hashlib.sha256(line + body).hexdigest()


def api_router(tag: str, route_class: type[ApiRoute] = ApiRoute) -> APIRouter:
    """A router of the API for one noun."""
    return APIRouter(route_class=route_class, tags=[tag])


# Named after the actor and the session in a handler: whose key it is must be known first.
Once = Annotated[None, Depends(once)]
