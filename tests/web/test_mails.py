"""The pages of mail: its settings with a trial, the words of each kind, the outbox, the rod's own list."""

from collections.abc import Callable
from dataclasses import replace
from html import escape, unescape

import pytest
from fastapi.testclient import TestClient

from shop.app import create_app
from shop.outside.folder import keep_mail_password, read_mail_password
from shop.queries.customers import customer_view
from shop.queries.mail_settings import mail_template, read_mail_settings
from shop.queries.mails import MailView, mail_view
from shop.rules.mail_words import OUR_WORDS
from shop.rules.mails import MailKind, MailState
from shop.rules.people import Role
from shop.services.outbox import CLAIM, claim_mail, mark_failed, mark_sent
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.mail_server import post_office
from tests.mail_shop import FROM, ROD, open_mail_shop, reach, switch_mail

LINE = {
    "version": "1", "is_on": "on", "host": "mail.example.org", "port": "465", "security": "tls",
    "user_name": "nell", "password": "bright-amber-7", "from_address": FROM, "from_name": "The Long Bench",
}  # fmt: skip
SLIP = "/ways/mail/kinds/slip"
WORDS = {
    "version": "0", "is_on": "on", "subject": "{rod} is late", "text": "Dear {customer}: {reason}",
    "html": "<p>{reason}</p><script>alert(1)</script>",
}  # fmt: skip
either_way = pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])


@pytest.fixture
def owner(signed_in: Callable[[Role], TestClient]) -> TestClient:
    return signed_in(Role.OWNER)


@either_way
def test_the_settings_are_saved_and_the_password_is_on_no_page(
    hub: Hub, owner: TestClient, headers: dict[str, str]
) -> None:
    answer = owner.post("/ways/mail", data=LINE, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/mail")
    with hub.database.reading() as session:
        assert read_mail_settings(session) == (
            True, "mail.example.org", 465, "tls", "nell", FROM, "The Long Bench", 2,
        )  # fmt: skip
    assert read_mail_password(hub.settings.data) == "bright-amber-7"
    page = owner.get("/ways/mail").text
    assert 'value="mail.example.org"' in page
    assert "bright-amber-7" not in page
    # An empty field keeps the password, a tick forgets it.
    owner.post("/ways/mail", data={**LINE, "version": "2", "password": "", "port": "587"})
    assert read_mail_password(hub.settings.data) == "bright-amber-7"
    owner.post("/ways/mail", data={**LINE, "version": "3", "password": "", "forget_password": "on"})
    assert read_mail_password(hub.settings.data) == ""


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("host", "no server"), ("host", ""), ("port", "ninety"), ("port", "70000"), ("security", "ssl"),
        ("from_address", "shop at home"), ("from_name", "x" * 121), ("password", "ärger"),
        ("password", "x" * 501),
    ],
)  # fmt: skip
def test_settings_that_cannot_be_come_back(hub: Hub, owner: TestClient, field: str, value: str) -> None:
    keep_mail_password(hub.settings.data, "the one before")
    answer = owner.post("/ways/mail", data={**LINE, field: value})
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert f'value="{LINE["user_name"]}"' in answer.text
    assert "bright-amber-7" not in answer.text
    assert read_mail_password(hub.settings.data) == "the one before"
    with hub.database.reading() as session:
        assert read_mail_settings(session).version == 1


def test_settings_that_another_owner_changed_are_not_overwritten(hub: Hub, owner: TestClient) -> None:
    owner.post("/ways/mail", data=LINE)
    answer = owner.post("/ways/mail", data={**LINE, "host": "other.example.org", "password": "another"})
    assert answer.status_code == 409
    assert 'value="other.example.org"' in answer.text
    assert f"<dd>{LINE['host']}, port" in answer.text
    assert read_mail_password(hub.settings.data) == "bright-amber-7"
    # Whoever has read what is there may put their own in its place.
    again = owner.post("/ways/mail", data={**LINE, "version": version_on(answer.text)})
    assert again.status_code == 303


def test_a_demo_stays_off_and_says_so_before_the_tap(
    hub: Hub, signed_in: Callable[[Role], TestClient]
) -> None:
    cookies = signed_in(Role.OWNER).cookies
    with TestClient(create_app(replace(hub, demo=True)), base_url="https://testserver") as browser:
        browser.cookies = cookies
        assert "no mail leaves it" in browser.get("/ways/mail").text
        assert "no mail leaves it" in browser.get("/ways/mail/trial").text
        assert browser.post("/ways/mail", data=LINE).status_code == 422
        assert browser.post("/ways/mail/trial", data={"to": "ada@example.org"}).status_code == 422
    with hub.database.reading() as session:
        assert not read_mail_settings(session).is_on


@either_way
def test_a_trial_says_what_the_server_said(owner: TestClient, headers: dict[str, str]) -> None:
    with post_office() as office:
        line = {**LINE, "port": str(office.port), "host": "127.0.0.1", "security": "none", "user_name": ""}
        owner.post("/ways/mail", data={**line, "is_on": ""})
        answer = owner.post("/ways/mail/trial", data={"to": "nell@example.org"}, headers=headers)
        assert (answer.status_code, answer.headers["location"]) == (303, "/ways/mail/trial")
        assert "it said: 250 Taken, thank you" in owner.get("/ways/mail/trial").text
        (arrived,) = office.arrived
        assert arrived.to_addresses == ["nell@example.org"]
        assert "can be written to" in arrived.part("plain")
        office.to_recipient = "550 nobody <b>here</b>"
        refused = owner.post("/ways/mail/trial", data={"to": "nell@example.org"}, headers=headers)
        assert refused.status_code == 409
        assert "550 nobody &lt;b&gt;here&lt;/b&gt;" in refused.text
        assert 'value="nell@example.org"' in refused.text


def test_a_trial_that_cannot_be_comes_back(owner: TestClient) -> None:
    answer = owner.post("/ways/mail/trial", data={"to": "nell@example.org"})
    assert (answer.status_code, "Fill in the server" in answer.text) == (422, True)
    owner.post("/ways/mail", data=LINE)
    answer = owner.post("/ways/mail/trial", data={"to": "nell at home"})
    assert (answer.status_code, 'value="nell at home"' in answer.text) == (422, True)


@either_way
def test_words_are_saved_and_shown_as_they_would_arrive(
    hub: Hub, owner: TestClient, headers: dict[str, str]
) -> None:
    assert "The day we promised for your rod has moved" in owner.get(SLIP).text
    answer = owner.post(SLIP, data=WORDS, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, SLIP)
    with hub.database.reading() as session:
        saved = mail_template(session, MailKind.SLIP)
    assert (saved.is_on, saved.subject, saved.version) == (True, "{rod} is late", 1)
    page = owner.get(SLIP).text
    assert "7 ft casting rod for pike is late" in page
    assert "Dear Ines Vale: A guide came bent" in page
    # Whatever the HTML is, it is an attribute of a frame that runs nothing.
    assert '<iframe class="mail-html" sandbox title' in page
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert 'data-label="Sent">on<' in owner.get("/ways/mail").text
    owner.post(SLIP, data={**WORDS, "version": "1", "ours": "on", "text": ""})
    with hub.database.reading() as session:
        assert mail_template(session, MailKind.SLIP).words == OUR_WORDS[MailKind.SLIP]


@either_way
def test_words_are_looked_at_before_they_are_saved(
    hub: Hub, owner: TestClient, headers: dict[str, str]
) -> None:
    answer = owner.post(f"{SLIP}/preview", data=WORDS, headers=headers)
    assert answer.status_code == 200
    assert "Dear Ines Vale: A guide came bent" in answer.text
    assert "Dear {customer}: {reason}" in answer.text
    with hub.database.reading() as session:
        assert mail_template(session, MailKind.SLIP).version == 0


@pytest.mark.parametrize("path", [SLIP, f"{SLIP}/preview"])
@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("text", "Dear {costumer}", "“{costumer}”, which is not known here"),
        ("text", "Dear {customer", "has a { without its }"),
        ("text", "", "please fill it in"),
        ("subject", "{stage}", "“{stage}”, which is not known here"),
        ("html", "<p>{link} {rod}</p>", "give it a line of its own"),
    ],
)
def test_words_that_cannot_be_come_back(
    owner: TestClient, path: str, field: str, value: str, says: str
) -> None:
    answer = owner.post(path, data={**WORDS, field: value})
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert says in unescape(answer.text)
    assert value in unescape(answer.text)


def test_words_that_another_owner_changed_are_not_overwritten(owner: TestClient) -> None:
    owner.post(SLIP, data=WORDS)
    answer = owner.post(SLIP, data={**WORDS, "text": "typed with care"})
    assert answer.status_code == 409
    assert "typed with care" in answer.text
    assert '<pre class="mail-text">' + escape(WORDS["text"]) in answer.text
    again = owner.post(SLIP, data={**WORDS, "text": "typed with care", "version": version_on(answer.text)})
    assert again.status_code == 303


def version_on(page: str) -> str:
    """The version that a form goes by."""
    return page.split('name="version" value="')[1].partition('"')[0]


def test_there_is_no_page_for_a_kind_that_is_not(owner: TestClient) -> None:
    assert owner.get("/ways/mail/kinds/spam").status_code == 404
    assert owner.post("/ways/mail/kinds/spam", data=WORDS).status_code == 404


def mail(hub: Hub, mail_id: int) -> MailView:
    with hub.database.reading() as session:
        return mail_view(session, mail_id)


@pytest.fixture
def with_mails(hub: Hub, hands: Hands) -> Hub:
    """A shop with one mail sent, one given up and one that waits."""
    now = hands.wall_at
    with hub.database.writing(now) as session:
        open_mail_shop(session, now)
        reach(session, now, "agreed", "wrapped", "coated", "inspected")
        for _ in range(2):
            claim = claim_mail(session, now=now, secret=hub.secret, public_url="")
            assert claim is not None
            if claim.mail_id == 1:
                mark_sent(session, claim, now=now)
            else:
                mark_failed(session, claim, now=now, says="550 no such <user>", is_for_good=True)
    return hub


def test_the_outbox_says_what_waits_was_given_up_and_was_sent(
    with_mails: Hub, hands: Hands, owner: TestClient
) -> None:
    page = owner.get("/desk/outbox").text
    for words in ("next try 09:00", "given up 09:00", "550 no such &lt;user&gt;", "sent 09:00", ROD):
        assert words in page
    assert page.count("/try-again") == 2
    assert page.count("/drop") == 1
    assert "Mail is off" not in page
    with with_mails.database.writing(hands.wall_at) as session:
        switch_mail(session, is_on=False)
    assert "Mail is off" in owner.get("/desk/outbox").text
    one = owner.get("/desk/outbox/2").text
    assert "Its page: (the address of the customer’s page)" in one
    assert "7 ft &amp;lt;casting&amp;gt;" in one
    assert owner.get("/desk/outbox/99").status_code == 404
    assert 'href="/desk/outbox"' in owner.get("/desk").text
    rod = owner.get(f"/builds/{ROD}").text
    assert 'href="/desk/outbox/2"' in rod
    assert "What was mailed about this rod" in rod


@either_way
def test_a_mail_is_tried_again_or_not_sent(
    with_mails: Hub, owner: TestClient, headers: dict[str, str]
) -> None:
    answer = owner.post("/desk/outbox/2/try-again", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/desk/outbox/2")
    assert mail(with_mails, 2).state is MailState.WAITING
    answer = owner.post("/desk/outbox/3/drop", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/desk/outbox/3")
    assert (mail(with_mails, 3).state, mail(with_mails, 3).last_error) == (
        MailState.GIVEN_UP, "Not to be sent, owner says.",
    )  # fmt: skip


def test_what_can_no_longer_be_done_with_a_mail_is_refused(
    with_mails: Hub, hands: Hands, owner: TestClient
) -> None:
    for path, says in (
        ("/desk/outbox/1/try-again", "It has been sent already."),
        ("/desk/outbox/1/drop", "It has been sent already."),
        ("/desk/outbox/2/drop", "It is not being sent anyway."),
    ):
        answer = owner.post(path)
        assert (answer.status_code, says in answer.text) == (409, True)
    with with_mails.database.writing(hands.wall_at) as session:
        assert claim_mail(session, now=hands.wall_at, secret=with_mails.secret, public_url="") is not None
    assert owner.post("/desk/outbox/3/drop").status_code == 409
    page = owner.get("/desk/outbox").text
    assert "is being sent" in page
    assert "/desk/outbox/3/drop" not in page
    hands.forward(seconds=CLAIM.total_seconds())
    assert owner.post("/desk/outbox/3/drop").status_code == 303
    assert owner.post("/desk/outbox/99/drop").status_code == 404


@pytest.mark.usefixtures("with_mails")
def test_helpers_see_no_customers_address(signed_in: Callable[[Role], TestClient]) -> None:
    helper = signed_in(Role.HELPER)
    assert helper.get("/desk/outbox").status_code == 403
    assert "/desk/outbox" not in helper.get("/desk").text
    assert "/desk/outbox" not in helper.get(f"/builds/{ROD}").text


def test_a_customer_says_whether_mail_is_wanted_and_where(hub: Hub, owner: TestClient) -> None:
    assert 'name="wants_mail" value="on" checked' in owner.get("/desk/customers/new").text
    ada = {"name": "Ada Thorn", "email": "ada@example.org"}
    for typed, wanted in (({**ada, "wants_mail": "on"}, True), (ada, False)):
        address = owner.post("/desk/customers/new", data=typed).headers["location"]
        assert ('name="wants_mail" value="on" checked' in owner.get(address).text) is wanted
        owner.post(address, data={**ada, **({} if wanted else {"wants_mail": "on"})})
        with hub.database.reading() as session:
            assert customer_view(session, int(address.rpartition("/")[2])).wants_mail is not wanted
    answer = owner.post("/desk/customers/new", data={**ada, "email": "ada@example..org"})
    assert answer.status_code == 422
    assert "“ada@example..org” is not an e-mail address" in answer.text
