"""Mail: what is written and when, never twice, taken back where it is no longer so; the outbox's steps."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.db.mails import Mail
from shop.db.promises import Promise
from shop.db.returns import Return
from shop.queries.builds import build_record
from shop.queries.customers import customer_record
from shop.queries.events import event_record, events_of_build
from shop.queries.mails import next_mail_at
from shop.queries.shop import shop_record
from shop.rules.mails import CARE_AFTER, CARE_AT_LATEST, MailKind, MailState
from shop.services.corrections import EventAnew, correct_event
from shop.services.events import send_back
from shop.services.mails import (
    take_back_care,
    tell_of_slip,
    tell_of_stage,
    write_due_mails,
)
from shop.services.outbox import mark_sent
from shop.web.deps import Hub
from tests.conftest import START, Hands
from tests.lot_shop import bench_at
from tests.mail_shop import (
    ADA,
    ROD,
    SEQUENCE,
    claimed_one,
    open_mail_shop,
    outbox,
    reach,
    state,
    switch_kind,
    switch_mail,
    take_rod,
)

LATER = START + timedelta(days=1)


@pytest.fixture
def shop(session: Session) -> Session:
    open_mail_shop(session, START)
    return session


def test_stages_that_tell_are_told_and_the_end_in_its_own_words(shop: Session) -> None:
    reach(shop, START, *(stage.name for stage in SEQUENCE.stages))
    mails = outbox(shop)
    assert [(mail.kind, mail.build) for mail in mails] == [
        ("stage", ROD), ("stage", ROD), ("ready", ROD), ("handed_over", ROD),
    ]  # fmt: skip
    first = mails[0]
    assert (first.to_address, first.subject, first.state) == (
        ADA,
        f"News of your rod {ROD}",
        MailState.WAITING,
    )
    assert "Hello Ada Thorn,\n\nThere is news of your rod, 7 ft <casting>.\n\nWe have agreed" in first.text
    assert "7 ft &lt;casting&gt;" in first.html
    assert "handed over on Monday 2 March 2026" in mails[3].text
    record = shop.get_one(Mail, 1)
    assert record.message_id.endswith("@rods.example>")
    assert len({shop.get_one(Mail, number).message_id for number in (1, 2, 3, 4)}) == 4


def test_a_kind_that_is_off_gives_way_to_the_stage_itself(session: Session) -> None:
    open_mail_shop(session, START, kinds=(MailKind.STAGE,))
    reach(session, START, *(stage.name for stage in SEQUENCE.stages))
    assert [mail.kind for mail in outbox(session)] == ["stage", "stage"]


def mail_off(session: Session) -> None:
    switch_mail(session, is_on=False)


def kind_off(session: Session) -> None:
    switch_kind(session, MailKind.STAGE, is_on=False)


def customer(**changes: Any) -> Callable[[Session], None]:
    def change(session: Session) -> None:
        for name, value in changes.items():
            setattr(customer_record(session, 1), name, value)
        session.flush()

    return change


@pytest.mark.parametrize(
    "change",
    [
        mail_off,
        kind_off,
        customer(wants_mail=False),
        customer(email=""),
        customer(email="nobody at all"),
        customer(email="ada@example.org\r\nBcc: eve@example.org"),
        customer(erased_at=START),
    ],
)
def test_nothing_is_written_unless_everything_says_so(
    shop: Session, change: Callable[[Session], None]
) -> None:
    change(shop)
    reach(shop, START, "agreed")
    assert outbox(shop) == []


def test_a_new_shop_writes_nothing(session: Session) -> None:
    open_mail_shop(session, START)
    mail_off(session)
    reach(session, START, *(stage.name for stage in SEQUENCE.stages))
    assert write_due_mails(session, now=START + CARE_AFTER) == 0
    assert (outbox(session), next_mail_at(session)) == ([], None)


def test_mail_is_written_with_its_event_or_not_at_all(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        open_mail_shop(session, hands.wall_at)
    session = hub.database.begin()
    reach(session, hands.wall_at, "agreed")
    assert len(outbox(session)) == 1
    hub.database.abandon(session)
    with hub.database.reading() as reading:
        assert (outbox(reading), events_of_build(reading, 1)) == ([], [])


def test_one_event_is_told_once(shop: Session) -> None:
    reach(shop, START, "agreed")
    event = event_record(shop, events_of_build(shop, 1)[0].id)
    before = outbox(shop)
    assert shop.get_one(Mail, 1).key == f"stage:{event.id}"
    assert tell_of_stage(shop, event, SEQUENCE, "agreed", ["agreed"]) is None
    assert outbox(shop) == before


def slip(session: Session, was: date | None, now_on: date | None, reason: str = "A guide is late.") -> Any:
    promise = Promise(build_id=1, promised_on=now_on, was_on=was, reason=reason, at=START, by="Nell")
    session.add(promise)
    session.flush()
    return tell_of_slip(session, build_record(session, ROD), promise)


def test_a_promise_that_moves_is_told_with_its_reason(shop: Session) -> None:
    assert slip(shop, None, date(2026, 4, 1)) is None
    assert slip(shop, date(2026, 4, 1), date(2026, 4, 1)) is None
    told = slip(shop, date(2026, 4, 1), date(2026, 4, 9))
    assert told.key == "slip:3"
    for words in ("Wednesday 1 April 2026", "Thursday 9 April 2026", "The reason: A guide is late."):
        assert words in told.text
        assert words in told.html
    taken_back = slip(shop, date(2026, 4, 9), None, reason="")
    assert "The new day: not known yet." in taken_back.text
    assert "reason" not in taken_back.text


def handed_over(session: Session, at: datetime = START) -> None:
    switch_kind(session, MailKind.HANDED_OVER, is_on=False)
    switch_kind(session, MailKind.STAGE, is_on=False)
    switch_kind(session, MailKind.READY, is_on=False)
    reach(session, at, *(stage.name for stage in SEQUENCE.stages))


@pytest.mark.parametrize(
    ("after", "written"),
    [
        (CARE_AFTER - timedelta(seconds=1), 0),
        (CARE_AFTER, 1),
        (CARE_AFTER + timedelta(days=5), 1),
        (CARE_AT_LATEST, 1),
        (CARE_AT_LATEST + timedelta(seconds=1), 0),
    ],
)
def test_the_care_note_falls_due_after_thirty_days_and_is_written_once(
    shop: Session, after: timedelta, written: int
) -> None:
    shop_record(shop).care_sheet = "Rinse it.\nDry it <well>."
    handed_over(shop)
    assert write_due_mails(shop, now=START + after) == written
    assert not written or write_due_mails(shop, now=START + after) == 0
    mails = outbox(shop)
    assert [mail.kind for mail in mails] == ["care"] * written
    if written:
        assert "Rinse it.\nDry it <well>." in mails[0].text
        assert "Rinse it.<br>\nDry it &lt;well&gt;." in mails[0].html


def test_a_rod_that_came_back_gets_no_care_note(shop: Session) -> None:
    handed_over(shop)
    due = START + CARE_AFTER
    shop.add(
        Return(
            build_id=1, returned_on=date(2026, 3, 20), cause="guide", under_warranty=True, entered_at=LATER,
            by="Nell",
        )
    )  # fmt: skip
    shop.flush()
    assert write_due_mails(shop, now=due) == 0
    number = take_rod(shop, START)
    reach(shop, START, *(stage.name for stage in SEQUENCE.stages), number=number)
    build_record(shop, number).closed_as = "cancelled"
    shop.flush()
    assert write_due_mails(shop, now=due) == 0


def test_a_care_note_that_waits_is_taken_back_with_its_rod(shop: Session) -> None:
    handed_over(shop)
    write_due_mails(shop, now=START + CARE_AFTER)
    take_back_care(shop, 1, now=LATER)
    assert state(shop)[0] is MailState.GIVEN_UP
    number = take_rod(shop, START)
    reach(shop, START, *(stage.name for stage in SEQUENCE.stages), number=number)
    write_due_mails(shop, now=START + CARE_AFTER)
    assert state(shop, 2)[0] is MailState.WAITING
    bench = bench_at(shop, START + CARE_AFTER)
    send_back(shop, number, bench, to="handed over", reason="the tip broke")
    assert state(shop, 2)[0] is MailState.GIVEN_UP


def test_what_was_put_right_before_it_went_out_is_taken_back(shop: Session) -> None:
    reach(shop, START, "agreed", "wrapped", "coated")
    events = [event.id for event in events_of_build(shop, 1)]
    correct_event(shop, bench_at(shop, LATER), events[2], anew=EventAnew(undone=True), reason="the wrong rod")
    assert [mail.state for mail in outbox(shop)] == [MailState.WAITING, MailState.GIVEN_UP]
    assert "put right on the record" in state(shop, 2)[1]
    reach(shop, LATER, "coated")
    assert [mail.state for mail in outbox(shop)][2:] == [MailState.WAITING]
    # Another fact put right leaves the mail as it is.
    correct_event(shop, bench_at(shop, LATER), events[0], anew=EventAnew(by="Bo"), reason="it was Bo")
    assert state(shop, 1)[0] is MailState.WAITING


def test_what_has_gone_out_stays_sent_when_the_record_is_put_right(shop: Session) -> None:
    reach(shop, START, "agreed")
    mark_sent(shop, claimed_one(shop), now=START)
    event = events_of_build(shop, 1)[0]
    correct_event(shop, bench_at(shop, LATER), event.id, anew=EventAnew(undone=True), reason="not yet")
    assert state(shop)[0] is MailState.SENT


def test_sending_back_takes_back_what_no_longer_stands(shop: Session) -> None:
    reach(shop, START, "agreed", "wrapped", "coated")
    send_back(shop, ROD, bench_at(shop, LATER), to="wrapped", reason="dust in the coat")
    assert [mail.state for mail in outbox(shop)] == [MailState.WAITING, MailState.GIVEN_UP]
