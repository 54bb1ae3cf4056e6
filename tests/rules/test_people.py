"""Who may do what: the whole table of roles and scopes, written out by hand a second time."""

import pytest

from shop.rules.people import ROLE_RIGHTS, SCOPE_RIGHTS, Actor, Right, Role, Scope

# Rows are rights, columns who may: helper, builder, owner; keys to read, for sensors, the bench, the desk.
TABLE = {
    Right.LOOK: "helper builder owner read bench desk",
    Right.READINGS: "helper builder owner sensor bench desk",
    Right.BENCH: "helper builder owner bench desk",
    Right.CORRECT: "builder owner bench desk",
    Right.DESK: "builder owner desk",
    Right.RELEASE: "owner desk",
    Right.WAYS: "owner desk",
}


@pytest.mark.parametrize("right", Right)
def test_a_right_is_held_by_these_and_nobody_else(right: Right) -> None:
    holders = {str(role) for role, rights in ROLE_RIGHTS.items() if right in rights}
    holders |= {str(scope) for scope, rights in SCOPE_RIGHTS.items() if right in rights}
    assert holders == set(TABLE[right].split())


def test_every_role_and_every_scope_has_its_row() -> None:
    assert set(ROLE_RIGHTS) == set(Role)
    assert set(SCOPE_RIGHTS) == set(Scope)


def test_each_role_may_all_that_the_one_below_may() -> None:
    assert ROLE_RIGHTS[Role.HELPER] < ROLE_RIGHTS[Role.BUILDER] < ROLE_RIGHTS[Role.OWNER]


def test_a_sensor_s_key_reads_nothing() -> None:
    assert SCOPE_RIGHTS[Scope.SENSOR] == {Right.READINGS}


@pytest.mark.parametrize("right", Right)
def test_an_actor_may_what_is_among_its_rights(right: Right) -> None:
    program = Actor("sensor", SCOPE_RIGHTS[Scope.SENSOR], key_id=1)
    assert program.may(right) is (right is Right.READINGS)
    assert not Actor("nobody", frozenset()).may(right)
