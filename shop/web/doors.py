"""Who may come in where: the one place that asks for a right.

A page's handler takes one of the aliases below (`AtBench`, `AtDesk` …), an API handler one of
`KeyForBench` …; both give the `Actor`. How a session or a key came about is left to `services`.
"""

from collections.abc import Callable, Coroutine, Mapping
from datetime import datetime
from typing import Annotated, Any

from fastapi import Depends, Request

from shop.queries.keys import actor_of_key
from shop.queries.users import actor_of_session
from shop.rules.people import ROLE_RIGHTS, SCOPE_RIGHTS, Actor, Right
from shop.rules.refusals import NotAllowed
from shop.services.tokens import hash_of
from shop.web.deps import Hub, hub_of

COOKIE = "tackfree"


class SignInNeeded(Exception):
    """Nobody is signed in, or the session has ended."""


class KeyNeeded(Exception):
    """No key was sent, or it is unknown or ended."""


async def person_of(request: Request) -> Actor | None:
    """The signed-in person, or none; asked once a request."""
    if not hasattr(request.state, "person"):
        token = request.cookies.get(COOKIE, "")
        hub = hub_of(request)
        request.state.person = await _known_person(hub, hash_of(token)) if token else None
    person: Actor | None = request.state.person
    return person


async def _known_person(hub: Hub, token_hash: str) -> Actor | None:
    now = hub.clock.now()
    if not hub.running.reads_on_loop:
        return await hub.running.read(_read_person, hub, token_hash, now)
    # A session that runs out is noticed with the next minute, as everything on a page is.
    key = ("person", token_hash, int(now.timestamp()) // 60)
    return hub.memory.recall(key, lambda: _read_person(hub, token_hash, now))


def _read_person(hub: Hub, token_hash: str, now: datetime) -> Actor | None:
    with hub.database.reading() as session:
        return actor_of_session(session, token_hash, now)


def _read_program(hub: Hub, key_hash: str) -> Actor | None:
    with hub.database.reading() as session:
        return actor_of_key(session, key_hash)


Door = Callable[[Request], Coroutine[Any, Any, Actor]]


def person_with(right: Right) -> Door:
    """A dependency that lets in a signed-in person who has this right."""

    async def door(request: Request) -> Actor:
        person = await person_of(request)
        if person is None:
            raise SignInNeeded
        return _checked(person, right)

    return _marked(door, right)


def program_with(right: Right) -> Door:
    """A dependency that lets in a program whose key has this right."""

    async def door(request: Request) -> Actor:
        kind, _, key = request.headers.get("authorization", "").partition(" ")
        hub = hub_of(request)
        program = None
        if kind.lower() == "bearer" and key:
            program = await hub.running.read(_read_program, hub, hash_of(key.strip()))
        if program is None:
            raise KeyNeeded
        request.state.program = program
        return _checked(program, right)

    return _marked(door, right)


def _checked(actor: Actor, right: Right) -> Actor:
    if actor.may(right):
        return actor
    if actor.role is None:
        holders = _holders(SCOPE_RIGHTS, right)
        raise NotAllowed(f"The key “{actor.name}” may not do this; it takes a key of scope {holders}.")
    holders = _holders(ROLE_RIGHTS, right)
    raise NotAllowed(f"{actor.name} may not do this; it takes the role {holders}, not {actor.role}.")


def _holders(rights: Mapping[Any, frozenset[Right]], right: Right) -> str:
    return " or ".join(sorted(holder.value for holder, held in rights.items() if right in held))


def _marked(door: Door, right: Right) -> Door:
    # Read by the test that walks every route and asserts that each has a door.
    door.right = right  # type: ignore[attr-defined]
    return door


Looking = Annotated[Actor, Depends(person_with(Right.LOOK))]
AtBench = Annotated[Actor, Depends(person_with(Right.BENCH))]
AtDesk = Annotated[Actor, Depends(person_with(Right.DESK))]
Correcting = Annotated[Actor, Depends(person_with(Right.CORRECT))]
Releasing = Annotated[Actor, Depends(person_with(Right.RELEASE))]
AtWays = Annotated[Actor, Depends(person_with(Right.WAYS))]
PostingReadings = Annotated[Actor, Depends(person_with(Right.READINGS))]

KeyForLooking = Annotated[Actor, Depends(program_with(Right.LOOK))]
KeyForReadings = Annotated[Actor, Depends(program_with(Right.READINGS))]
KeyForBench = Annotated[Actor, Depends(program_with(Right.BENCH))]
KeyForCorrecting = Annotated[Actor, Depends(program_with(Right.CORRECT))]
KeyForDesk = Annotated[Actor, Depends(program_with(Right.DESK))]
KeyForReleasing = Annotated[Actor, Depends(program_with(Right.RELEASE))]
KeyForWays = Annotated[Actor, Depends(program_with(Right.WAYS))]
