"""A real mail server on loopback (aiosmtpd), and servers that misbehave, for what is sent to arrive at.

Each lives in a thread of its own and is ended with its block. What arrives is parsed back by the standard
library.
"""

import asyncio
import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session

USER, PASSWORD = "nell", "bright-amber-7"


@dataclass
class Arrived:
    """A mail that the server took: from and to whom it was handed in, and the message parsed back."""

    from_address: str
    to_addresses: list[str]
    raw: bytes

    @property
    def message(self) -> EmailMessage:
        parsed = message_from_bytes(self.raw, policy=policy.default)
        assert isinstance(parsed, EmailMessage)
        return parsed

    def part(self, kind: str) -> str:
        """The text of the plain or the HTML part."""
        body = self.message.get_body((kind,))
        assert body is not None
        text: str = body.get_content()
        return text.replace("\r\n", "\n")


@dataclass
class PostOffice:
    """What a server took, and what it answers: `to_recipient` and `to_data` may be set to a refusal.

    `on_data` is called before a mail is taken.
    """

    port: int = 0
    arrived: list[Arrived] = field(default_factory=list)
    to_recipient: str = "250 OK"
    to_data: str = "250 Taken, thank you"
    signed_in: list[str] = field(default_factory=list)
    on_data: Callable[[], None] | None = None

    async def handle_RCPT(
        self, _server: SMTP, _session: Session, envelope: Envelope, address: str, _options: list[str]
    ) -> str:
        if self.to_recipient.startswith("250"):
            envelope.rcpt_tos.append(address)
        return self.to_recipient

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:
        if self.to_data.startswith("250"):
            content = envelope.content
            assert isinstance(content, bytes)
            if self.on_data is not None:
                self.on_data()
            self.arrived.append(Arrived(envelope.mail_from or "", list(envelope.rcpt_tos), content))
        return self.to_data

    def authenticate(
        self, _server: SMTP, _session: Session, _envelope: Envelope, _how: str, data: Any
    ) -> AuthResult:
        assert isinstance(data, LoginPassword)
        right = (data.login, data.password) == (USER.encode(), PASSWORD.encode())
        if right:
            self.signed_in.append(USER)
        return AuthResult(success=right, handled=False)


@contextmanager
def post_office(
    *, tls: ssl.SSLContext | None = None, security: str = "none", with_users: bool = False
) -> Iterator[PostOffice]:
    """A server that takes mail. `security` says how the line is made private, with `tls`."""
    office = PostOffice()
    starttls = tls if security == "starttls" else None

    def session() -> SMTP:
        return SMTP(
            office, hostname="test.example", loop=loop, tls_context=starttls,
            require_starttls=starttls is not None, auth_required=with_users,
            auth_require_tls=starttls is not None,
            authenticator=office.authenticate if with_users else None,
            auth_exclude_mechanism=[] if with_users else ["LOGIN", "PLAIN"],
        )  # fmt: skip

    loop = asyncio.new_event_loop()
    listening = socket.create_server(("127.0.0.1", 0))
    office.port = listening.getsockname()[1]
    around = tls if security == "tls" else None
    thread = threading.Thread(target=loop.run_forever)
    thread.start()
    # Not run from here: a test with a browser has a loop running in its own thread already.
    serving = loop.create_server(session, sock=listening, ssl=around)
    server = asyncio.run_coroutine_threadsafe(serving, loop).result(10)
    try:
        yield office
    finally:
        asyncio.run_coroutine_threadsafe(_ended(server), loop).result(10)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(10)
        loop.close()


async def _ended(server: asyncio.Server) -> None:
    server.close()
    mine = asyncio.current_task()
    others = [task for task in asyncio.all_tasks() if task is not mine]
    for task in others:
        task.cancel()
    await asyncio.gather(*others, return_exceptions=True)
    # Lets the connections that were cut be closed before the loop is.
    await asyncio.sleep(0)


@contextmanager
def misbehaving(serve: Callable[[socket.socket, threading.Event], None]) -> Iterator[tuple[int, list[int]]]:
    """A port where `serve` talks to whoever comes, one after another, and the list of who came.

    `serve` gets the connection and an event that is set when the block ends.
    """
    listening = socket.create_server(("127.0.0.1", 0))
    ended = threading.Event()
    came: list[int] = []

    def accept() -> None:
        while not ended.is_set():
            with suppress(OSError):
                connection, _ = listening.accept()
                with connection:
                    came.append(len(came))
                    serve(connection, ended)

    thread = threading.Thread(target=accept)
    thread.start()
    try:
        yield listening.getsockname()[1], came
    finally:
        ended.set()
        listening.shutdown(socket.SHUT_RDWR)
        listening.close()
        thread.join(10)


def says_nothing(_connection: socket.socket, ended: threading.Event) -> None:
    """Accepts and never answers."""
    ended.wait(30)


def hangs_up(connection: socket.socket, _ended: threading.Event) -> None:
    """Greets, and ends the connection after the first word."""
    connection.sendall(b"220 here\r\n")
    connection.recv(100)


def trickles(connection: socket.socket, ended: threading.Event) -> None:
    """Says one letter after another and never comes to an end of its line."""
    with suppress(OSError):
        while not ended.wait(0.02):
            connection.sendall(b"2")


def takes_and_is_silent(connection: socket.socket, ended: threading.Event) -> None:
    """Takes a letter and never says that it did."""
    _take(connection)
    ended.wait(30)


def takes_and_hangs_up(connection: socket.socket, _ended: threading.Event) -> None:
    """Takes a letter and ends the connection."""
    _take(connection)


def _take(connection: socket.socket) -> None:
    connection.sendall(b"220 here\r\n")
    with connection.makefile("rb") as lines:
        for line in lines:
            if line == b".\r\n":
                return
            if line.startswith((b"ehlo", b"mail", b"rcpt", b"data")):
                connection.sendall(b"354 go on\r\n" if line.startswith(b"data") else b"250 yes\r\n")
