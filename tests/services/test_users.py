"""People's accounts: what is refused, which tries count, which sessions end, and that an owner stays."""

from collections.abc import Callable
from datetime import timedelta
from threading import Barrier, Thread

import pytest
from sqlalchemy.orm import Session

from shop.db.users import User
from shop.outside.passwords import Passwords
from shop.queries.users import (
    KnownPassword,
    actor_of_session,
    list_users,
    live_owners,
    live_sessions_of,
    password_of,
)
from shop.rules.people import Role
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.setup import open_shop
from shop.services.shop import ShopFacts
from shop.services.users import (
    MOST_FAILURES_FOR_NAME,
    MOST_FAILURES_FROM_ADDRESS,
    SESSION_LIFE,
    TRY_SPAN,
    add_user,
    change_own_password,
    change_password,
    change_role,
    count_try,
    end_account,
    end_session,
    end_sessions,
    let_in,
    start_session,
)
from shop.web.deps import Hub
from tests.conftest import PASSWORD, START

FACTS = ShopFacts("Our shop", "Europe/Lisbon", "EUR")
QUICK = Passwords(1, 8)


@pytest.fixture
def person(session: Session) -> Callable[[str, Role], User]:
    def add(name: str, role: Role) -> User:
        return add_user(session, QUICK, now=START, name=name, role=role, password=PASSWORD)

    return add


Person = Callable[[str, Role], User]


@pytest.mark.parametrize(
    ("name", "password", "field"),
    [
        ("", PASSWORD, "name"),
        ("   ", PASSWORD, "name"),
        ("x" * 81, PASSWORD, "name"),
        ("ß" * 41, PASSWORD, "name"),  # 82 characters once folded, more than the column takes
        ("Ru\x00th", PASSWORD, "name"),
        ("rUTH", PASSWORD, "name"),  # somebody is called Ruth already
        ("Ida", "x" * 9, "password"),
        ("Ida", "x" * 201, "password"),
    ],
)
def test_an_account_that_cannot_be_is_refused(
    session: Session, person: Person, name: str, password: str, field: str
) -> None:
    person("Ruth", Role.HELPER)
    with pytest.raises(BadInput) as refused:
        add_user(session, QUICK, now=START, name=name, role=Role.HELPER, password=password)
    assert list(refused.value.errors) == [field]


@pytest.mark.parametrize(("name", "password"), [("I", "x" * 10), ("x" * 80, "x" * 200), ("ß" * 40, PASSWORD)])
def test_an_account_at_the_limits_is_taken(session: Session, name: str, password: str) -> None:
    user = add_user(session, QUICK, now=START, name=name, role=Role.HELPER, password=password)
    assert QUICK.matches(user.password_hash, password)


def test_the_only_owner_can_neither_be_demoted_nor_ended(session: Session, person: Person) -> None:
    owner = person("Ruth", Role.OWNER)
    person("Ida", Role.BUILDER)
    with pytest.raises(BadInput, match="Ruth is the only owner"):
        change_role(session, owner.id, role=Role.BUILDER, version=owner.version)
    with pytest.raises(BadInput, match="Ruth is the only owner"):
        end_account(session, owner.id, now=START, version=owner.version)
    assert live_owners(session) == 1


def test_an_owner_whose_account_has_ended_does_not_count(session: Session, person: Person) -> None:
    ruth, ida = person("Ruth", Role.OWNER), person("Ida", Role.OWNER)
    end_account(session, ida.id, now=START, version=ida.version)
    with pytest.raises(BadInput, match="Ruth is the only owner"):
        change_role(session, ruth.id, role=Role.HELPER, version=ruth.version)


def test_the_only_owner_may_stay_owner(session: Session, person: Person) -> None:
    owner = person("Ruth", Role.OWNER)
    assert change_role(session, owner.id, role=Role.OWNER, version=owner.version).role == Role.OWNER


def test_a_change_to_an_account_that_somebody_else_changed_is_refused(
    session: Session, person: Person
) -> None:
    user = person("Ida", Role.HELPER)
    seen = user.version
    change_role(session, user.id, role=Role.BUILDER, version=seen)
    with pytest.raises(Overtaken, match="Somebody else changed Ida"):
        change_role(session, user.id, role=Role.OWNER, version=seen)
    with pytest.raises(Overtaken, match="Somebody else changed Ida"):
        end_account(session, user.id, now=START, version=seen)


def test_an_ended_account_cannot_be_changed_and_keeps_its_name(session: Session, person: Person) -> None:
    user = person("Ida", Role.HELPER)
    end_account(session, user.id, now=START, version=user.version)
    with pytest.raises(Overtaken, match="has ended"):
        change_password(session, QUICK, user.id, now=START, password=PASSWORD)
    with pytest.raises(BadInput, match="Ida had an account that has ended"):
        person("ida", Role.HELPER)
    assert password_of(session, "Ida") is None


def test_nobody_is_not_on_file(session: Session) -> None:
    with pytest.raises(NotOnFile):
        change_role(session, 99, role=Role.HELPER, version=1)


def two_at_once(hub: Hub, *works: Callable[[Session], object]) -> list[str]:
    """Do pieces of writing at the same moment; gives what each was refused with, or nothing."""
    start, said = Barrier(len(works)), [""] * len(works)

    def run(number: int, work: Callable[[Session], object]) -> None:
        start.wait()
        try:
            with hub.database.writing(START) as session:
                work(session)
        except (BadInput, Overtaken) as refusal:
            said[number] = refusal.sentence

    threads = [Thread(target=run, args=item) for item in enumerate(works)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return said


def test_two_owners_cannot_end_each_other_at_once(hub: Hub) -> None:
    with hub.database.writing(START) as session:
        ids = [
            add_user(session, QUICK, now=START, name=name, role=Role.OWNER, password=PASSWORD).id
            for name in ("Ruth", "Ida")
        ]
    said = two_at_once(
        hub,
        lambda session: end_account(session, ids[0], now=START, version=1),
        lambda session: end_account(session, ids[1], now=START, version=1),
    )
    assert sorted(bool(sentence) for sentence in said) == [False, True]
    with hub.database.reading() as session:
        assert live_owners(session) == 1


def test_two_first_runs_at_once_make_one_owner(hub: Hub) -> None:
    def first(name: str) -> Callable[[Session], object]:
        return lambda session: open_shop(session, QUICK, FACTS, now=START, name=name, password=PASSWORD)

    said = two_at_once(hub, first("Ruth"), first("Ida"))
    assert sorted(said)[0] == ""
    assert "has an owner already" in sorted(said)[1]
    with hub.database.reading() as session:
        assert len(list_users(session)) == 1


def test_the_first_run_says_every_fault_at_once(session: Session) -> None:
    with pytest.raises(BadInput) as refused:
        open_shop(session, QUICK, ShopFacts("", "Mars/Base", "euro"), now=START, name="", password="short")
    assert list(refused.value.errors) == ["shop_name", "time_zone", "currency", "name", "password"]


def failed(session: Session, times: int, name: str = "Ruth", address: str = "10.0.0.1") -> None:
    for number in range(times):
        at = START + timedelta(minutes=number)
        assert count_try(session, now=at, name=name, address=address) is None


def test_the_sixth_try_for_a_name_waits_until_the_first_is_a_quarter_of_an_hour_old(
    session: Session,
) -> None:
    failed(session, MOST_FAILURES_FOR_NAME)
    last_moment = START + TRY_SPAN - timedelta(seconds=1)
    for name, address in (("Ruth", "10.0.0.1"), (" rUTH ", "10.0.0.2")):
        assert count_try(session, now=last_moment, name=name, address=address) == START + TRY_SPAN
    assert count_try(session, now=last_moment, name="Ida", address="10.0.0.1") is None
    assert count_try(session, now=START + TRY_SPAN, name="Ruth", address="10.0.0.1") is None


def test_the_twenty_first_try_from_an_address_waits_whatever_the_name(session: Session) -> None:
    for number in range(MOST_FAILURES_FROM_ADDRESS):
        assert count_try(session, now=START, name=f"name {number}", address="10.0.0.1") is None
    now = START + timedelta(minutes=1)
    assert count_try(session, now=now, name="Ruth", address="10.0.0.1") == START + TRY_SPAN
    assert count_try(session, now=now, name="Ruth", address="10.0.0.2") is None


def test_waiting_tries_do_not_prolong_the_wait(session: Session) -> None:
    failed(session, MOST_FAILURES_FOR_NAME)
    for minute in range(5, 15):
        at = START + timedelta(minutes=minute)
        assert count_try(session, now=at, name="Ruth", address="10.0.0.1") == START + TRY_SPAN
    assert count_try(session, now=START + TRY_SPAN, name="Ruth", address="10.0.0.1") is None


def known(session: Session, name: str) -> KnownPassword:
    found = password_of(session, name)
    assert found is not None
    return found


def test_getting_in_forgets_the_tries_and_ends_the_browsers_earlier_session(
    session: Session, person: Person
) -> None:
    person("Ruth", Role.OWNER)
    failed(session, 4)
    start_session(session, now=START, user_id=known(session, "Ruth").user_id, token_hash="earlier")
    assert let_in(
        session, now=START, name="Ruth", known=known(session, "Ruth"), token_hash="t", instead_of="earlier"
    )
    failed(session, 5)
    assert actor_of_session(session, "earlier", START) is None
    assert actor_of_session(session, "t", START) is not None


def test_a_password_changed_while_it_was_judged_does_not_let_in(session: Session, person: Person) -> None:
    user = person("Ruth", Role.OWNER)
    judged = known(session, "Ruth")
    change_password(session, QUICK, user.id, now=START, password="another long password")
    assert not let_in(session, now=START, name="Ruth", known=judged, token_hash="t", instead_of="")
    assert live_sessions_of(session, user.id, START) == 0


def test_a_session_ends_at_sign_out_at_its_term_and_with_the_account(
    session: Session, person: Person
) -> None:
    user = person("Ruth", Role.HELPER)
    for token in ("a", "b", "c"):
        start_session(session, now=START, user_id=user.id, token_hash=token)
    end_session(session, "a", now=START)
    assert actor_of_session(session, "a", START) is None
    last_moment = START + SESSION_LIFE - timedelta(seconds=1)
    assert actor_of_session(session, "b", last_moment) is not None
    assert actor_of_session(session, "b", START + SESSION_LIFE) is None
    end_account(session, user.id, now=START, version=user.version)
    assert actor_of_session(session, "b", START) is None


def test_signing_out_everywhere_leaves_other_people_in(session: Session, person: Person) -> None:
    ruth, ida = person("Ruth", Role.HELPER), person("Ida", Role.HELPER)
    for user, token in ((ruth, "a"), (ruth, "b"), (ida, "c")):
        start_session(session, now=START, user_id=user.id, token_hash=token)
    end_sessions(session, ruth.id, now=START)
    assert [actor_of_session(session, token, START) is not None for token in "abc"] == [False, False, True]


def test_a_new_password_of_ones_own_keeps_this_browser_in(session: Session, person: Person) -> None:
    user = person("Ruth", Role.HELPER)
    start_session(session, now=START, user_id=user.id, token_hash="old")
    change_own_password(
        session, QUICK, user.id, now=START, password="another long password", token_hash="new"
    )
    assert actor_of_session(session, "old", START) is None
    assert actor_of_session(session, "new", START) is not None
    assert QUICK.matches(known(session, "Ruth").kept, "another long password")


def test_a_strangers_password_is_never_right() -> None:
    assert not QUICK.matches(None, "nobody's password")
    assert not QUICK.matches("not a hash at all", PASSWORD)
