"""Roles of people, scopes of keys, and what each may do.

One table for pages and API alike. It does not know how anybody proved who they are.
"""

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a person is in the shop."""

    OWNER = "owner"
    BUILDER = "builder"
    HELPER = "helper"


class Scope(StrEnum):
    """What a program's key may do."""

    READ = "read"
    BENCH = "bench"
    DESK = "desk"
    SENSOR = "sensor"


class Right(StrEnum):
    """One kind of thing that somebody may do."""

    LOOK = "look"  # see the bench, builds, shelf, customers
    READINGS = "readings"  # post temperatures
    BENCH = "bench"  # log stages, mix, close cures, tick checks, measure
    CORRECT = "correct"  # correct facts on the record, send a build back, end a cure as failed
    DESK = "desk"  # customers, builds, promises, status links, the shelf
    RELEASE = "release"  # release a house rule, give a verdict on a mix, confirm the clock
    WAYS = "ways"  # sequences, zones, people, keys, the shop's settings


_HELPER = frozenset({Right.LOOK, Right.READINGS, Right.BENCH})
_BUILDER = _HELPER | {Right.CORRECT, Right.DESK}
_OWNER = frozenset(Right)

ROLE_RIGHTS: dict[Role, frozenset[Right]] = {
    Role.HELPER: _HELPER,
    Role.BUILDER: _BUILDER,
    Role.OWNER: _OWNER,
}
SCOPE_RIGHTS: dict[Scope, frozenset[Right]] = {
    Scope.SENSOR: frozenset({Right.READINGS}),
    Scope.READ: frozenset({Right.LOOK}),
    Scope.BENCH: _HELPER | {Right.CORRECT},
    # The desk's key acts for the owner at the desk; people and keys stay with signed-in owners.
    Scope.DESK: frozenset(Right),
}


@dataclass(frozen=True, slots=True)
class Actor:
    """Somebody who does something: a person (`user_id` set) or a program with a key (`key_id` set)."""

    name: str
    rights: frozenset[Right]
    user_id: int | None = None
    key_id: int | None = None
    role: Role | None = None

    def may(self, right: Right) -> bool:
        """Whether this actor may do it."""
        return right in self.rights
