"""Sending over SMTP: what arrives at a real server, and what is said of servers that refuse, hang or lie."""

import shutil
import ssl
import subprocess
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any

import pytest

from shop.outside.mail import Letter, MailFault, MailServer, Sending
from tests.mail_server import (
    PASSWORD,
    USER,
    hangs_up,
    misbehaving,
    post_office,
    says_nothing,
    takes_and_hangs_up,
    takes_and_is_silent,
    trickles,
)

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
LETTER = Letter(
    "<one@rods.example>", AT, "shop@rods.example", "Rods “Ø” & Sons, the long bench", "ada@example.org",
    "Ein schöner Tag für Sie, mit einem Betreff, der länger ist, als eine einzige Zeile es sein darf",
    "Grüße,\n.\n" + "x" * 2000 + "\nFrom the bench\n", "<p>Grüße &amp; <b>mehr</b></p>\n",
)  # fmt: skip
OPENSSL = shutil.which("openssl")
# The server warns of what is no danger on loopback, and of its own age.
on_an_open_line = pytest.mark.filterwarnings("ignore:Requiring AUTH", "ignore:Session.login_data")
needs_openssl = pytest.mark.skipif(OPENSSL is None, reason="no openssl to make a certificate with")


def at(port: int, security: str = "none", **more: str) -> MailServer:
    return MailServer("127.0.0.1", port, security, **more)


def fault_of(server: MailServer, letter: Letter = LETTER, most_seconds: float = 20.0) -> MailFault:
    with pytest.raises(MailFault) as raised:
        Sending(server, letter, step_seconds=0.5, most_seconds=most_seconds).run()
    return raised.value


def test_what_is_sent_arrives_whole() -> None:
    with post_office() as office:
        assert Sending(at(office.port), LETTER).run() == "250 Taken, thank you"
    (arrived,) = office.arrived
    message = arrived.message
    assert (arrived.from_address, arrived.to_addresses) == ("shop@rods.example", ["ada@example.org"])
    assert message["Subject"] == LETTER.subject
    assert message["From"].addresses[0].display_name == LETTER.from_name
    assert message["From"].addresses[0].addr_spec == "shop@rods.example"
    assert message["To"].addresses[0].addr_spec == "ada@example.org"
    assert message["Message-ID"] == "<one@rods.example>"
    assert parsedate_to_datetime(message["Date"]) == AT
    assert message["Auto-Submitted"] == "auto-generated"
    assert message.get_content_type() == "multipart/alternative"
    assert [part.get_content_type() for part in message.iter_parts()] == ["text/plain", "text/html"]
    assert arrived.part("plain") == LETTER.text
    assert arrived.part("html") == LETTER.html
    assert message.defects == []
    assert arrived.raw.isascii()
    assert max(map(len, arrived.raw.splitlines())) <= 998


def test_a_letter_without_html_is_plain_text_alone() -> None:
    with post_office() as office:
        Sending(at(office.port), replace(LETTER, html="")).run()
    assert office.arrived[0].message.get_content_type() == "text/plain"
    assert office.arrived[0].part("plain") == LETTER.text


@pytest.mark.parametrize("field", ["subject", "from_name", "to_address", "message_id"])
def test_nothing_gets_into_the_head_by_a_line_end(field: str) -> None:
    changed: dict[str, Any] = {field: "x@example.org\r\nBcc: eve@example.org"}
    wicked = replace(LETTER, **changed)
    with post_office() as office:
        fault_of(at(office.port), wicked)
        assert office.arrived == []


@pytest.mark.parametrize(
    ("to_recipient", "to_data", "says", "is_for_good"),
    [
        (
            "550 no such user",
            "250 OK",
            "does not take mail for this address; it said: 550 no such user",
            True,
        ),
        ("450 come back later", "250 OK", "it said: 450 come back later", False),
        ("250 OK", "554 this is spam", "does not take this mail; it said: 554 this is spam", True),
        ("250 OK", "451 disk is full", "does not take this mail; it said: 451 disk is full", False),
        ("250 OK", "421 going down", "421 going down", False),
    ],
)
def test_a_refusal_is_for_good_or_for_now(
    to_recipient: str, to_data: str, says: str, is_for_good: bool
) -> None:
    with post_office() as office:
        office.to_recipient, office.to_data = to_recipient, to_data
        fault = fault_of(at(office.port))
    assert says in str(fault)
    assert fault.is_for_good is is_for_good


def test_servers_that_misbehave_are_faults_for_now() -> None:
    for serve, says in (
        (says_nothing, "did not answer in time"),
        (hangs_up, "ended the connection"),
    ):
        with misbehaving(serve) as (port, _):
            fault = fault_of(at(port))
        assert (says in str(fault), fault.is_for_good) == (True, False), (serve, str(fault))
    fault = fault_of(at(port))  # nobody is there any more
    assert ("cannot be reached" in str(fault), fault.is_for_good) == (True, False)
    fault = fault_of(MailServer("no-such-server.invalid", 25, "none"))
    assert ("no server of that name" in str(fault), fault.is_for_good) == (True, False)


@pytest.mark.parametrize("security", ["none", "tls"])
def test_a_server_that_says_a_little_for_ever_is_cut(security: str) -> None:
    with misbehaving(trickles) as (port, _):
        began = time.monotonic()
        fault = fault_of(at(port, security), most_seconds=0.3)
        assert time.monotonic() - began < 10
    if security == "none":
        assert "too slow" in str(fault)
    assert not fault.is_for_good


def test_a_server_that_has_the_letter_is_waited_for_longer() -> None:
    with post_office() as office:
        office.on_data = lambda: time.sleep(0.5)
        trying = Sending(at(office.port), LETTER, step_seconds=0.2, most_seconds=0.4, answer_seconds=20.0)
        assert trying.run() == "250 Taken, thank you"
    assert len(office.arrived) == 1


def test_whoever_never_says_whether_it_took_the_letter_is_told_of_as_such() -> None:
    for serve in (takes_and_is_silent, takes_and_hangs_up):
        with misbehaving(serve) as (port, _), pytest.raises(MailFault) as raised:
            Sending(at(port), LETTER, answer_seconds=0.3).run()
        assert "did not say whether it took it" in str(raised.value), serve
        assert not raised.value.is_for_good


def test_a_try_is_cut_from_another_thread() -> None:
    with misbehaving(trickles) as (port, came):
        trying = Sending(at(port), LETTER)
        faults: list[MailFault] = []

        def run() -> None:
            with pytest.raises(MailFault) as raised:
                trying.run()
            faults.append(raised.value)

        thread = threading.Thread(target=run)
        thread.start()
        while not came:
            time.sleep(0.005)
        trying.cut()
        thread.join(10)
        assert [str(fault) for fault in faults] == ["The server was too slow; the try was ended."]
    before = Sending(at(1), LETTER)
    before.cut()
    with pytest.raises(MailFault):
        before.run()


@on_an_open_line
def test_a_password_goes_over_a_line_and_into_no_sentence() -> None:
    with post_office(with_users=True) as office:
        Sending(at(office.port, user_name=USER, password=PASSWORD), LETTER).run()
        assert office.signed_in == [USER]
        wrong = at(office.port, user_name=USER, password="wrong-one")
        fault = fault_of(wrong)
        assert str(fault).startswith("The server does not let us in; it said: 535")
        assert not fault.is_for_good
    assert "wrong-one" not in str(fault) + repr(wrong)


def test_what_a_server_echoes_of_a_password_is_taken_out() -> None:
    with post_office() as office:
        office.to_data = f"554 you said {PASSWORD}\x07 " + "y" * 600
        trying = Sending(at(office.port, password=PASSWORD), LETTER)
        with pytest.raises(MailFault) as raised:
            trying.run()
    said = str(raised.value)
    assert PASSWORD not in said
    assert said.isprintable()
    assert len(said) < 400


def test_asking_for_what_the_server_does_not_offer_sends_nothing() -> None:
    with post_office() as office:
        for server in (at(office.port, "starttls"), at(office.port, user_name=USER, password=PASSWORD)):
            fault = fault_of(server)
            assert ("does not offer" in str(fault), fault.is_for_good) == (True, False)
        assert "No private line could be agreed on" in str(fault_of(at(office.port, "tls")))
        assert office.arrived == []


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A certificate of the local host that no authority knows, with its key in the same folder."""
    folder = tmp_path_factory.mktemp("certificate")
    assert OPENSSL is not None
    subprocess.run(
        [
            OPENSSL, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
            "-keyout", "key.pem", "-out", "cert.pem", "-days", "2", "-subj", "/CN=localhost",
            "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1",
        ],
        cwd=folder, check=True, capture_output=True,
    )  # fmt: skip
    return folder / "cert.pem"


@needs_openssl
@pytest.mark.parametrize("security", ["tls", "starttls"])
def test_a_private_line_needs_a_certificate_that_is_trusted(
    certificate: Path, security: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    tls.load_cert_chain(certificate, certificate.with_name("key.pem"))
    with post_office(tls=tls, security=security, with_users=security == "starttls") as office:
        users = {"user_name": USER, "password": PASSWORD} if security == "starttls" else {}
        fault = fault_of(at(office.port, security, **users))
        assert "certificate is not to be trusted" in str(fault)
        assert not fault.is_for_good
        # As if an authority that this machine trusts had signed it.
        monkeypatch.setenv("SSL_CERT_FILE", str(certificate))
        Sending(at(office.port, security, **users), LETTER, step_seconds=5).run()
        assert len(office.arrived) == 1
