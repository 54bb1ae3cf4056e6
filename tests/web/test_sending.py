"""From the outbox to a real mail server: sent once, tried again, given up, over restarts and hanging ones."""

import asyncio
import logging
import stat
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy.orm import Session

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.db.sessions import Database
from shop.outside.folder import MAIL_PASSWORD, keep_mail_password, read_mail_password
from shop.outside.mail import ANSWER_SECONDS, MOST_SECONDS
from shop.queries.mails import MailView, mail_view
from shop.rules.mail_words import Words
from shop.rules.mails import CARE_AFTER, MailKind, MailState
from shop.rules.people import Role
from shop.services.mail_settings import Line, change_mail_settings
from shop.services.outbox import CLAIM, claim_mail
from shop.services.status_links import give_link
from shop.web import sending as sending_module
from shop.web.deps import Hub
from shop.web.sending import REST_SECONDS, Post, Step, sending
from tests.conftest import Hands, quick_settings
from tests.mail_server import PASSWORD, USER, PostOffice, hangs_up, misbehaving, post_office, says_nothing
from tests.mail_shop import (
    ADA,
    FROM,
    ROD,
    SEQUENCE,
    open_mail_shop,
    outbox,
    reach,
    switch_kind,
    switch_mail,
)


def open_shop(hub: Hub, hands: Hands, port: int, *stages: str) -> None:
    """A shop whose mail goes to a port, with some stages logged."""
    with hub.database.writing(hands.wall_at) as session:
        open_mail_shop(session, hands.wall_at, port=port)
        reach(session, hands.wall_at, *stages)


def step(hub: Hub) -> Step:
    return asyncio.run(Post(hub).step())


def steps(hub: Hub) -> list[Step]:
    """One look after another, until nothing is due."""
    found = [step(hub)]
    while found[-1] is not Step.NOTHING:
        found.append(step(hub))
    return found


def mail(hub: Hub, mail_id: int = 1) -> MailView:
    with hub.database.reading() as session:
        return mail_view(session, mail_id)


def ids(office: PostOffice) -> list[str]:
    return [str(arrived.message["Message-ID"]) for arrived in office.arrived]


def test_what_is_logged_arrives_once_and_as_it_was_written(hub: Hub, hands: Hands) -> None:
    hub = replace(hub, settings=hub.settings.model_copy(update={"public_url": "https://rods.example"}))
    with post_office() as office:
        open_shop(hub, hands, office.port)
        words = Words(
            "{rod}: {stage}", "Dear {customer}\n{stage}\n{link}", "<b>{customer}</b>\n<i>{link}</i>"
        )
        with hub.database.writing(hands.wall_at) as session:
            token = give_link(session, hub.secret, 1, now=hands.wall_at)
            switch_kind(session, MailKind.STAGE, words=words)
            reach(session, hands.wall_at, "agreed")
        assert steps(hub) == [Step.SENT, Step.NOTHING]
        hands.forward(days=1)
        assert step(hub) is Step.NOTHING
    (arrived,) = office.arrived
    assert (arrived.from_address, arrived.to_addresses) == (FROM, [ADA])
    assert arrived.message["Subject"] == "7 ft <casting>: We have agreed on your rod."
    assert arrived.message["From"].addresses[0].display_name == "The Long Bench"
    link = f"https://rods.example/rod/{token}"
    assert arrived.part("plain") == f"Dear Ada Thorn\nWe have agreed on your rod.\n{link}\n"
    assert arrived.part("html") == f"<b>Ada Thorn</b>\n<i>{link}</i>\n"
    assert (mail(hub).state, mail(hub).tries) == (MailState.SENT, 1)


@pytest.mark.parametrize(
    ("to_recipient", "to_data", "came_to", "state"),
    [
        ("550 no such user", "250 OK", Step.REFUSED, MailState.GIVEN_UP),
        ("250 OK", "554 spam", Step.REFUSED, MailState.GIVEN_UP),
        ("450 later", "250 OK", Step.LATER, MailState.WAITING),
        ("250 OK", "452 disk is full", Step.LATER, MailState.WAITING),
    ],
)
def test_a_refusal_for_good_is_given_up_and_one_for_now_tried_again(
    hub: Hub, hands: Hands, to_recipient: str, to_data: str, came_to: Step, state: MailState
) -> None:
    with post_office() as office:
        office.to_recipient, office.to_data = to_recipient, to_data
        open_shop(hub, hands, office.port, "agreed")
        assert steps(hub) == [came_to, Step.NOTHING]
        assert mail(hub).state is state
        assert to_recipient in mail(hub).last_error or to_data in mail(hub).last_error
        office.to_recipient, office.to_data = "250 OK", "250 OK"
        hands.forward(minutes=1)
        assert step(hub) is (Step.SENT if state is MailState.WAITING else Step.NOTHING)


def test_a_server_that_hangs_up_or_is_gone_costs_a_wait(hub: Hub, hands: Hands) -> None:
    with misbehaving(hangs_up) as (port, came):
        open_shop(hub, hands, port, "agreed")
        assert step(hub) is Step.LATER
    assert came == [0]
    hands.forward(minutes=1)
    assert step(hub) is Step.LATER
    assert "cannot be reached" in mail(hub).last_error
    with post_office() as office:
        with hub.database.writing(hands.wall_at) as session:
            switch_mail(session, port=office.port)
        assert step(hub) is Step.NOTHING
        hands.forward(minutes=5)
        assert steps(hub) == [Step.SENT, Step.NOTHING]
    assert (mail(hub).tries, len(office.arrived)) == (3, 1)


def test_a_server_that_never_answers_blocks_neither_app_nor_database(
    hub: Hub, hands: Hands, signed_in: Callable[[Role], TestClient], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending_module, "LOOK_SECONDS", 0.01)
    monkeypatch.setattr(sending_module, "GRACE_SECONDS", 0.01)
    with misbehaving(says_nothing) as (port, came):
        open_shop(hub, hands, port, "agreed", "wrapped")
        with TestClient(create_app(hub), base_url="https://testserver", follow_redirects=False) as browser:
            browser.cookies = signed_in(Role.OWNER).cookies
            wait_for(lambda: bool(came))
            assert browser.get(f"/builds/{ROD}").status_code == 200
            assert browser.post(f"/builds/{ROD}/advance", data={"to": "coated"}).status_code == 303
            assert "is being sent" in browser.get("/desk/outbox").text
        # The app has stopped, and the try was cut rather than waited for.
    assert came == [0]
    first, second = mail(hub, 1), mail(hub, 2)
    assert (first.state, first.tries, first.claimed_until) == (MailState.WAITING, 1, None)
    # The loop may have begun with the next one before it was stopped; then that was cut too.
    assert (second.state, second.claimed_until) == (MailState.WAITING, None)


def wait_for(happened: Callable[[], bool]) -> None:
    """Wait until something is so; generous, for a loaded machine."""
    deadline = time.monotonic() + 60
    while not happened():
        assert time.monotonic() < deadline, "it did not come about"
        time.sleep(0.01)


@contextmanager
def two_processes(folder: Path, hands: Hands) -> Iterator[tuple[Hub, Hub]]:
    """Two hubs over one data folder, as two processes would have them."""
    hubs = [open_hub(quick_settings(folder), Clock(hands.wall, hands.steady)) for _ in range(2)]
    yield hubs[0], hubs[1]
    for hub in hubs:
        hub.database.close()


def test_a_mail_outlives_the_process_that_had_it(tmp_path: Path, hands: Hands) -> None:
    with post_office() as office, two_processes(tmp_path, hands) as (first, second):
        open_shop(first, hands, office.port, "agreed")
        with first.database.writing(hands.wall_at) as session:
            claim = claim_mail(session, now=hands.wall_at, secret=first.secret, public_url="")
        assert claim is not None
        # The first dies here, before or after the server has taken it: nobody can know.
        assert step(second) is Step.NOTHING
        hands.forward(seconds=CLAIM.total_seconds())
        assert steps(second) == [Step.SENT, Step.NOTHING]
    assert ids(office) == [claim.message_id]


def test_a_claim_outlives_the_longest_try() -> None:
    longest = MOST_SECONDS + ANSWER_SECONDS
    assert timedelta(seconds=longest + REST_SECONDS) < CLAIM


def test_two_processes_send_no_mail_twice(tmp_path: Path, hands: Hands) -> None:
    async def both(one: Post, other: Post) -> None:
        quiet = 0
        while quiet < 2:
            came_to = await asyncio.gather(one.step(), other.step())
            quiet = quiet + 1 if set(came_to) == {Step.NOTHING} else 0

    with post_office() as office, two_processes(tmp_path, hands) as (first, second):
        open_shop(first, hands, office.port, *(stage.name for stage in SEQUENCE.stages[:-1]))
        asyncio.run(both(Post(first), Post(second)))
        assert {mail(first, number).state for number in (1, 2, 3)} == {MailState.SENT}
    assert len(set(ids(office))) == len(office.arrived) == 3


def test_a_mail_that_was_sent_is_noted_however_long_the_database_takes(
    tmp_path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.db.sessions.BUSY_SECONDS", 0.01)
    monkeypatch.setattr(sending_module, "LOOK_SECONDS", 0.01)
    with post_office() as office, two_processes(tmp_path, hands) as (hub, other):
        lock = Lock(other.database)
        open_shop(hub, hands, office.port, "agreed")
        office.on_data = lock.take
        logging.getLogger("tackfree").addHandler(lock)
        try:
            assert steps(hub) == [Step.SENT, Step.NOTHING]
        finally:
            logging.getLogger("tackfree").removeHandler(lock)
        assert lock.released
        assert (mail(hub).state, len(office.arrived)) == (MailState.SENT, 1)


class Lock(logging.Handler):
    """Somebody else's hold on the database, let go of when it is first complained about."""

    def __init__(self, database: Database) -> None:
        super().__init__()
        self._database = database
        self._held: Session | None = None
        self.released = False

    def take(self) -> None:
        self._held = self._database.begin()

    def emit(self, record: logging.LogRecord) -> None:
        if self._held is not None and "cannot be written down yet" in record.getMessage():
            self._database.abandon(self._held)
            self._held, self.released = None, True


def test_the_loop_of_the_app_sends_what_a_page_has_logged(
    hub: Hub, hands: Hands, signed_in: Callable[[Role], TestClient], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending_module, "LOOK_SECONDS", 0.01)
    with post_office() as office:
        open_shop(hub, hands, office.port)
        with TestClient(create_app(hub), base_url="https://testserver", follow_redirects=False) as browser:
            browser.cookies = signed_in(Role.OWNER).cookies
            assert browser.post(f"/builds/{ROD}/advance", data={"to": "agreed"}).status_code == 303
            wait_for(lambda: mail(hub).state is MailState.SENT)
            assert "News of your rod 26-001" in browser.get(f"/builds/{ROD}").text
    assert len(office.arrived) == 1


def test_the_loop_goes_on_after_a_fault_of_the_database(
    hub: Hub, hands: Hands, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(sending_module, "LOOK_SECONDS", 0.01)
    monkeypatch.setattr(sending_module, "REST_SECONDS", 0.01)

    async def run() -> None:
        async with sending(hub):
            while "no such table" not in caplog.text:
                await asyncio.sleep(0.01)
            with hub.database.engine.begin() as connection:
                connection.exec_driver_sql("ALTER TABLE hidden RENAME TO mails")
            while mail(hub).state is not MailState.SENT:
                await asyncio.sleep(0.01)

    with post_office() as office:
        open_shop(hub, hands, office.port, "agreed")
        with hub.database.engine.begin() as connection:
            connection.exec_driver_sql("ALTER TABLE mails RENAME TO hidden")
        asyncio.run(asyncio.wait_for(run(), 60))
    assert (mail(hub).state, len(office.arrived)) == (MailState.SENT, 1)


def test_care_notes_are_written_by_the_server_itself(hub: Hub, hands: Hands) -> None:
    open_shop(hub, hands, 2525, *(stage.name for stage in SEQUENCE.stages))

    async def look(times: int = 1) -> None:
        post = Post(hub)
        for _ in range(times):
            await post.write_cares()

    def kinds() -> list[str]:
        with hub.database.reading() as session:
            return [item.kind for item in outbox(session)]

    hands.forward(seconds=(CARE_AFTER - timedelta(seconds=1)).total_seconds())
    asyncio.run(look())
    assert "care" not in kinds()
    hands.forward(days=3)
    asyncio.run(look(2))
    asyncio.run(look())
    assert kinds().count("care") == 1


def test_a_demo_sends_nothing(hub: Hub) -> None:
    async def tasks(of: Hub) -> int:
        async with sending(of):
            return len(asyncio.all_tasks())

    assert asyncio.run(tasks(replace(hub, demo=True))) == 1
    assert asyncio.run(tasks(hub)) == 2


@pytest.mark.filterwarnings("ignore:Requiring AUTH", "ignore:Session.login_data")
def test_the_password_is_in_a_file_or_a_setting_and_in_no_log(
    hub: Hub, hands: Hands, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    with post_office(with_users=True) as office:
        open_shop(hub, hands, office.port, "agreed", "wrapped", "coated")
        with hub.database.writing(hands.wall_at) as session:
            line = Line(True, "127.0.0.1", office.port, "none", USER, FROM)
            change_mail_settings(session, line, version=2)
        keep_mail_password(hub.settings.data, "not the one")
        assert step(hub) is Step.LATER
        assert "does not let us in" in mail(hub).last_error
        keep_mail_password(hub.settings.data, PASSWORD)
        path = hub.settings.data / MAIL_PASSWORD
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert step(hub) is Step.SENT
        keep_mail_password(hub.settings.data, "")
        assert (path.exists(), read_mail_password(hub.settings.data)) == (False, "")
        hands.forward(minutes=2)
        outside = replace(hub, settings=hub.settings.model_copy(update={"smtp_password": PASSWORD}))
        assert step(outside) is Step.SENT
        assert PASSWORD not in repr(outside.settings)
    # The server of the test logs what it hears; what counts is what the shop's own process writes.
    logged = "\n".join(record.getMessage() for record in caplog.records if record.name != "mail.log")
    assert "was not taken" in logged
    assert PASSWORD not in logged
    assert ADA not in logged
    files = list(hub.settings.data.glob("tackfree.sqlite3*"))
    assert files
    assert [path.name for path in files if PASSWORD.encode() in path.read_bytes()] == []


def test_a_password_file_that_cannot_be_read_is_said(hub: Hub, hands: Hands) -> None:
    open_shop(hub, hands, 2525, "agreed")
    (hub.settings.data / MAIL_PASSWORD).mkdir()
    assert step(hub) is Step.LATER
    assert "password cannot be read" in mail(hub).last_error
    with suppress(OSError):
        (hub.settings.data / MAIL_PASSWORD).rmdir()
