"""Promises: a row and an event for every change, no way around them, and what is told and read of them."""

import re
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from shop.queries.builds import build_record, build_view
from shop.queries.events import events_of_build
from shop.queries.mails import mails_of_build
from shop.queries.promises import (
    MovedPromise,
    finished_promises,
    moved_promises,
    promises_of_build,
)
from shop.rules.mails import MailState, day_words
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.promises import FinishedBuild
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.bench import Signer
from shop.services.builds import change_build, take_on_build
from shop.services.outbox import claim_mail, mark_failed, mark_sent
from shop.services.promises import change_promise
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import START
from tests.house import tree
from tests.mail_shop import open_mail_shop

NELL = Signer(START, Actor("Nell", ROLE_RIGHTS[Role.OWNER]))
DAY, LATE, LATER_STILL = date(2026, 4, 2), date(2026, 4, 9), date(2026, 4, 16)
WHY = "A guide came bent."


@pytest.fixture
def shop(session: Session) -> Session:
    fill(session, START)
    return session


def take_on(session: Session, **plan: Any) -> str:
    return take_on_build(
        session, now=START, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft", rod_kind="casting",
        sequence_id=SEQUENCE, actor=NELL.actor, **plan,
    ).number  # fmt: skip


def rows(session: Session, number: str) -> list[tuple[date | None, date | None, str, str]]:
    found = promises_of_build(session, build_view(session, number).id)
    return [(row.was_on, row.promised_on, row.reason, row.by) for row in found]


def notes(session: Session, number: str) -> list[tuple[str, str]]:
    return [(event.kind, event.note) for event in events_of_build(session, build_view(session, number).id)]


def test_every_change_is_a_row_and_an_event(shop: Session) -> None:
    number = take_on(shop, promised_on=DAY)
    change_promise(shop, number, NELL, promised_on=LATE, reason=f"  {WHY}\n Sorry. ")
    change_build(shop, number, NELL, promised_on=None, promise_reason="No blank in sight.")
    change_promise(shop, number, NELL, promised_on=DAY)
    assert rows(shop, number) == [
        (None, DAY, "", "Nell"), (DAY, LATE, f"{WHY} Sorry.", "Nell"),
        (LATE, None, "No blank in sight.", "Nell"), (None, DAY, "", "Nell"),
    ]  # fmt: skip
    assert notes(shop, number) == [
        ("promise", "Promised for Thursday 2 April 2026."),
        (
            "promise",
            f"Promised later: from Thursday 2 April 2026 to Thursday 9 April 2026. {WHY} Sorry.",
        ),
        ("promise", "The promise of Thursday 9 April 2026 is taken back. No blank in sight."),
        ("promise", "Promised for Thursday 2 April 2026."),
    ]
    assert build_view(shop, number).promised_on == DAY


def test_what_changes_nothing_writes_nothing(shop: Session) -> None:
    number = take_on(shop)
    assert change_promise(shop, number, NELL, promised_on=None) is None
    change_build(shop, number, NELL, title="8 ft")
    assert (rows(shop, number), notes(shop, number)) == ([], [])


def test_a_change_without_its_reason_leaves_everything(shop: Session) -> None:
    number = take_on(shop, promised_on=DAY)
    before = build_view(shop, number)
    for change in (change_promise, change_build):
        with pytest.raises(BadInput) as refused:
            change(shop, number, NELL, promised_on=LATE)
        assert list(refused.value.errors) == ["promise_reason"]
    with pytest.raises(BadInput) as both:
        change_build(shop, number, NELL, promised_on=LATE, title=" ")
    assert set(both.value.errors) == {"promise_reason", "title"}
    assert build_view(shop, number) == before
    assert len(rows(shop, number)) == 1


def test_a_closed_build_is_promised_no_more(shop: Session) -> None:
    number = take_on(shop, promised_on=DAY)
    build_record(shop, number).closed_at = START
    with pytest.raises(Overtaken, match="handed over; nothing is promised"):
        change_promise(shop, number, NELL, promised_on=LATE, reason=WHY)
    with pytest.raises(NotOnFile):
        change_promise(shop, "26-099", NELL, promised_on=LATE)


@pytest.mark.parametrize("statement", ["UPDATE promises SET reason = 'x'", "DELETE FROM promises"])
def test_the_database_refuses_to_change_one(shop: Session, statement: str) -> None:
    take_on(shop, promised_on=DAY)
    with pytest.raises(DBAPIError), shop.begin_nested():
        shop.execute(text(statement))


def test_nothing_else_sets_a_promised_day() -> None:
    sets = re.compile(r"\.promised_on\s*=[^=]|\bBuild\([^)]*promised_on=")
    setters = [module.name for module in tree.modules("shop", "seed_demo") if sets.search(module.source)]
    assert setters == ["shop.services.promises"]


def test_a_slip_is_mailed_when_it_is_known(session: Session) -> None:
    open_mail_shop(session, START)
    number = take_on(session, promised_on=DAY)
    build_id = build_view(session, number).id
    assert mails_of_build(session, build_id) == []
    change_promise(session, number, NELL, promised_on=LATE, reason=WHY)
    (mail,) = mails_of_build(session, build_id)
    assert (mail.kind, WHY in mail.text) == ("slip", True)


@pytest.mark.parametrize(
    ("moves", "told"),
    [
        # Days in turn, "sent" where the outbox is emptied in between; then what waits to be told.
        ([LATE, LATER_STILL], [(DAY, LATER_STILL)]),
        ([LATE, DAY], []),
        ([LATE, LATER_STILL, DAY], []),
        ([LATE, None, LATER_STILL], [(DAY, LATER_STILL)]),
        ([LATE, "sent", DAY], [(LATE, DAY)]),
        ([LATE, "sent", LATER_STILL, LATE], []),
        ([None, "sent", LATE], [(None, LATE)]),
        ([LATE, "tried", LATER_STILL], [(DAY, LATER_STILL)]),
        # What was tried may have arrived, so that the way back is told.
        ([LATE, "tried", DAY], [(LATE, DAY)]),
        # One that is being sent counts as told.
        ([LATE, "claimed", LATER_STILL], [(LATE, LATER_STILL)]),
    ],
)
def test_of_moves_in_quick_turn_the_customer_hears_the_last(
    session: Session, moves: list[Any], told: list[tuple[date | None, date]]
) -> None:
    open_mail_shop(session, START)
    number = take_on(session, promised_on=DAY)
    for move in moves:
        if isinstance(move, str):
            claim = claim_mail(session, now=START, secret=bytes(32), public_url="")
            assert claim is not None
            if move == "sent":
                mark_sent(session, claim, now=START)
            if move == "tried":
                mark_failed(session, claim, now=START, says="451 busy", is_for_good=False)
        else:
            change_promise(session, number, NELL, promised_on=move, reason=WHY)
    waiting = [
        mail.text
        for mail in mails_of_build(session, build_view(session, number).id)
        if mail.state is MailState.WAITING and mail.claimed_until is None
    ]
    said = ["" if was is None else f"The old day: {day_words(was)}.\n" for was, _ in told]
    assert [mail.count("The old day") for mail in waiting] == [1 if was else 0 for was, _ in told]
    for mail, was, (_, day) in zip(waiting, said, told, strict=True):
        assert was in mail
        assert f"The new day: {day_words(day)}." in mail


def test_what_moved_is_listed_with_the_first_day(shop: Session) -> None:
    moved, steady = take_on(shop, promised_on=DAY), take_on(shop, promised_on=DAY)
    gone, back = take_on(shop, promised_on=DAY), take_on(shop, promised_on=DAY)
    for number in (moved, gone, back):
        change_promise(shop, number, NELL, promised_on=LATE, reason=WHY)
    later = Signer(START + timedelta(hours=1), NELL.actor)
    change_promise(shop, gone, later, promised_on=None, reason="No blank.")
    change_promise(shop, back, later, promised_on=DAY, reason="The blank came after all.")
    assert moved_promises(shop) == [
        MovedPromise(moved, "7 ft", "Ada Thorn", DAY, LATE, 1, WHY, START),
        MovedPromise(gone, "7 ft", "Ada Thorn", DAY, None, 2, "No blank.", later.now),
    ]
    assert rows(shop, steady) == [(None, DAY, "", "Nell")]


def test_what_was_kept_goes_by_the_shops_own_day(shop: Session) -> None:
    number = take_on(shop, promised_on=date(2026, 3, 2))
    change_promise(shop, number, NELL, promised_on=date(2026, 3, 3), reason=WHY)
    take_on(shop)
    build_record(shop, number).closed_at = START.replace(hour=23)
    shop.flush()
    for zone, on in (("UTC", date(2026, 3, 2)), ("Europe/Oslo", date(2026, 3, 3))):
        assert finished_promises(shop, 2026, ZoneInfo(zone)) == [
            FinishedBuild(on, date(2026, 3, 2), date(2026, 3, 3))
        ]
    assert finished_promises(shop, 2027, ZoneInfo("UTC")) == []
