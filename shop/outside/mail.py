"""Sending one mail over SMTP, around the standard library's `smtplib` and `email`.

A message is plain text with an HTML alternative (RFC 5322, RFC 2046), sent over TLS, STARTTLS or an open
line. It never takes longer than it was given: every step has a time-out, and the whole of it an end. A server
that has the letter is waited for much longer: whoever gives up on it sends the letter again. What is sent, to
whom and how often is left to others.
"""

import base64
import smtplib
import socket
import ssl
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from typing import Any

STEP_SECONDS = 20.0
MOST_SECONDS = 90.0
# From the letter's first line to the server's answer. RFC 5321 (4.5.3.2.6) asks for as much, since a server
# may look a letter over before it answers, and a shorter wait ends in copies of what it has taken.
ANSWER_SECONDS = 600.0
MOST_SAID = 300
# What RFC 5321 (4.1.1.1) has for a client that has no name of its own; looking one up may take long.
OUR_NAME = "[127.0.0.1]"
# "Start mail input" (RFC 5321, 4.2.3), which nothing but DATA is answered with.
GO_AHEAD = 354


@dataclass(frozen=True)
class MailServer:
    """Where mail is handed in. `security` is `tls`, `starttls` or `none`; no user name, no signing in."""

    host: str
    port: int
    security: str
    user_name: str = ""
    password: str = field(default="", repr=False)


@dataclass(frozen=True)
class Letter:
    """One mail to one address. Without `html` it is plain text alone."""

    message_id: str
    date: datetime
    from_address: str
    from_name: str
    to_address: str
    subject: str
    text: str
    html: str = ""


class MailFault(Exception):
    """A mail that was not taken; the text is a sentence.

    `is_for_good` where the server refused this very mail for good (RFC 5321, 4.2.1: 5yz to its recipient or
    its content). Everything else may be over later: a line, a server, a password that is put right.
    """

    def __init__(self, sentence: str, is_for_good: bool = False) -> None:
        super().__init__(sentence)
        self.is_for_good = is_for_good


def message_of(letter: Letter) -> EmailMessage:
    """A letter as a message. Raises `ValueError` for what no header can hold."""
    message = EmailMessage(policy=SMTP)
    message["Message-ID"] = letter.message_id
    message["Date"] = format_datetime(letter.date)
    message["From"] = Address(letter.from_name, addr_spec=letter.from_address)
    message["To"] = Address(addr_spec=letter.to_address)
    message["Subject"] = letter.subject
    # So that no absence notice answers it (RFC 3834).
    message["Auto-Submitted"] = "auto-generated"
    # Quoted-printable passes through every server, and no line of it is too long for one.
    message.set_content(letter.text, cte="quoted-printable")
    if letter.html:
        message.add_alternative(letter.html, subtype="html", cte="quoted-printable")
    return message


class _Line(smtplib.SMTP):
    """A connection that shows its socket as soon as it is open, and may be private from the start.

    `said` is what the server answered to the letter, which the library itself lets fall. `begun` is called
    when the server asks for the letter; from then on a step may take as long as that says.
    """

    def __init__(
        self,
        server: MailServer,
        opened: Callable[[socket.socket], None],
        begun: Callable[[], float],
        step_seconds: float,
    ) -> None:
        self.said = ""
        self._opened = opened
        self._begun = begun
        self._tls = ssl.create_default_context() if server.security == "tls" else None
        super().__init__(server.host, server.port, OUR_NAME, timeout=step_seconds)

    def _get_socket(self, host: str, port: int, timeout: float) -> socket.socket:
        plain: socket.socket = super()._get_socket(host, port, timeout)  # type: ignore[misc]
        self._opened(plain)
        return plain if self._tls is None else self._tls.wrap_socket(plain, server_hostname=host)

    def getreply(self) -> tuple[int, bytes]:
        code, answer = super().getreply()
        if code == GO_AHEAD and self.sock is not None:
            self.sock.settimeout(self._begun())
        return code, answer

    def data(self, msg: Any) -> tuple[int, bytes]:
        code, answer = super().data(msg)
        self.said = f"{code} {answer.decode('utf-8', 'replace')}"
        return code, answer


class Sending:
    """One try to send one letter. `run` is for a thread of its own; `cut` ends it from another."""

    def __init__(
        self,
        server: MailServer,
        letter: Letter,
        step_seconds: float = STEP_SECONDS,
        most_seconds: float = MOST_SECONDS,
        answer_seconds: float = ANSWER_SECONDS,
    ) -> None:
        self._server = server
        self._letter = letter
        self._step_seconds = step_seconds
        self._answer_seconds = answer_seconds
        self._lock = threading.Lock()
        self._held: socket.socket | None = None
        self._is_cut = False
        self._has_begun = False
        self._end = self._timer(most_seconds)

    def run(self) -> str:
        """Send the letter; gives what the server said on taking it. Raises `MailFault`."""
        self._end.start()
        try:
            return self._send()
        except (OSError, ValueError, smtplib.SMTPException) as fault:
            raise self._fault_of(fault) from fault
        finally:
            self._end.cancel()
            self._let_go()

    def _timer(self, seconds: float) -> threading.Timer:
        end = threading.Timer(seconds, self.cut)
        end.daemon = True
        return end

    def _begin(self) -> float:
        """The server asks for the letter: from here on the try has an end of its own."""
        self._end.cancel()
        self._has_begun = True
        self._end = self._timer(self._answer_seconds)
        self._end.start()
        return self._answer_seconds

    def cut(self) -> None:
        """End the try wherever it is; whether the server has taken the letter may stay open."""
        with self._lock:
            self._is_cut = True
            if self._held is not None:
                with suppress(OSError):
                    self._held.shutdown(socket.SHUT_RDWR)

    def _send(self) -> str:
        server = self._server
        message = message_of(self._letter)
        line = _Line(server, self._hold, self._begin, self._step_seconds)
        try:
            if server.security == "starttls":
                line.starttls(context=ssl.create_default_context())
            if server.user_name:
                line.login(server.user_name, server.password)
            # `send_message` would put a ">" before a line that begins with "From".
            line.sendmail(self._letter.from_address, [self._letter.to_address], message.as_bytes())
            # It was taken; how the farewell goes changes nothing.
            with suppress(OSError):
                line.quit()
            return self._plain(line.said)
        finally:
            line.close()

    def _hold(self, opened: socket.socket) -> None:
        with self._lock:
            # A second handle of the same connection: the first changes hands when the line is made private.
            self._held = opened.dup()
            if self._is_cut:
                self._held.shutdown(socket.SHUT_RDWR)

    def _let_go(self) -> None:
        with self._lock:
            if self._held is not None:
                self._held.close()
                self._held = None

    def _fault_of(self, fault: Exception) -> MailFault:
        """A fault of the libraries as a sentence for the shop."""
        if self._has_begun and not isinstance(fault, smtplib.SMTPResponseException):
            return MailFault(
                "The server got the mail and did not say whether it took it, so it may arrive twice."
            )
        if self._is_cut:
            return MailFault("The server was too slow; the try was ended.")
        if isinstance(fault, smtplib.SMTPRecipientsRefused):
            code, said = next(iter(fault.recipients.values()))
            return self._answered(
                "does not take mail for this address", code, said, is_for_good=500 <= code < 600
            )
        if isinstance(fault, smtplib.SMTPDataError):
            code = fault.smtp_code
            words = "does not take this mail"
            return self._answered(words, code, fault.smtp_error, is_for_good=500 <= code < 600)
        if isinstance(fault, smtplib.SMTPAuthenticationError):
            return self._answered("does not let us in", fault.smtp_code, fault.smtp_error)
        if isinstance(fault, smtplib.SMTPSenderRefused):
            words = "takes no mail from the shop's address"
            return self._answered(words, fault.smtp_code, fault.smtp_error)
        if isinstance(fault, smtplib.SMTPResponseException):
            return self._answered("is not ready", fault.smtp_code, fault.smtp_error)
        return MailFault(_sentence_of(fault))

    def _answered(self, words: str, code: int, said: Any, is_for_good: bool = False) -> MailFault:
        return MailFault(f"The server {words}; it said: {code} {self._plain(said)}", is_for_good)

    def _plain(self, said: Any) -> str:
        """What a server said, as one line that can be shown: nothing odd, and no password."""
        text = said.decode("utf-8", "replace") if isinstance(said, bytes) else str(said)
        password = self._server.password
        if password:
            for secret in (password, base64.b64encode(password.encode()).decode()):
                text = text.replace(secret, "…")
        line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
        return line if len(line) <= MOST_SAID else line[: MOST_SAID - 1] + "…"


def _sentence_of(fault: Exception) -> str:
    """A fault without an answer of the server."""
    if isinstance(fault, smtplib.SMTPNotSupportedError) or type(fault) is smtplib.SMTPException:
        return "The server does not offer what the settings ask for: STARTTLS, or a user name and password."
    # The library tells of a time-out while it reads as of a connection that was lost.
    if isinstance(fault, TimeoutError) or isinstance(fault.__context__, TimeoutError):
        return "The server did not answer in time."
    if isinstance(fault, smtplib.SMTPServerDisconnected):
        return "The server ended the connection."
    if isinstance(fault, ssl.SSLCertVerificationError):
        return f"The server's certificate is not to be trusted: {fault.verify_message}."
    if isinstance(fault, ssl.SSLError):
        return "No private line could be agreed on; look at the port and at TLS or STARTTLS."
    if isinstance(fault, socket.gaierror):
        return "There is no server of that name, or the network is down."
    if isinstance(fault, OSError) and fault.strerror:
        return f"The server cannot be reached: {fault.strerror.lower()}."
    if isinstance(fault, ValueError):
        return "The mail or the settings have something in them that cannot be sent."
    return f"The server said something that cannot be understood ({type(fault).__name__})."
