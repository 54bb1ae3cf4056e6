"""A shop that writes mail, with one rod of an Ada who wants it, for the tests of mail in every layer."""

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.queries.mail_settings import mail_template, read_mail_settings
from shop.queries.mails import MailView, mail_view, mails_after
from shop.rules.mail_words import Words
from shop.rules.mails import MailKind, MailState
from shop.rules.sequences import Sequence, Stage
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.services.events import Logged, advance
from shop.services.mail_settings import Line, change_mail_settings, change_mail_template
from shop.services.outbox import Claim, claim_mail
from shop.services.sequences import add_sequence
from tests.conftest import START
from tests.lot_shop import bench_at

SECRET = bytes(range(32))
URL = "https://rods.example/"
ADA = "ada@example.org"
FROM = "shop@rods.example"
ROD = "26-001"
SEQUENCE = Sequence(
    "told", "casting",
    (
        Stage("agreed", "We have agreed on your rod.", tells_customer=True),
        Stage("wrapped", "The guides are wrapped on."),
        Stage("coated", "It shines.", tells_customer=True),
        Stage("inspected", "Your rod is ready."),
        Stage("handed over", "Enjoy it."),
    ),
)  # fmt: skip


def open_mail_shop(
    session: Session, now: datetime, *, port: int = 2525, kinds: tuple[MailKind, ...] = ()
) -> None:
    """Fill the shop, switch mail on and the kinds named (all where none is)."""
    add_customer(session, now=now, name="Ada Thorn", email=ADA)
    add_sequence(session, now=now, sequence=SEQUENCE)
    take_rod(session, now)
    switch_mail(session, port=port)
    for kind in kinds or tuple(MailKind):
        switch_kind(session, kind)


def take_rod(session: Session, now: datetime) -> str:
    """One more rod of Ada's; gives its number."""
    return take_on_build(
        session, now=now, zone=ZoneInfo("UTC"), customer_id=1, title="7 ft <casting>", rod_kind="casting",
        sequence_id=1,
    ).number  # fmt: skip


def switch_mail(session: Session, *, is_on: bool = True, port: int = 2525) -> None:
    """Switch all mail on or off."""
    line = Line(is_on, "127.0.0.1", port, "none", "", FROM, "The Long Bench")
    change_mail_settings(session, line, version=read_mail_settings(session).version)


def switch_kind(session: Session, kind: MailKind, *, is_on: bool = True, words: Words | None = None) -> None:
    """Switch one kind of mail on or off, with the words that are there or others."""
    found = mail_template(session, kind)
    change_mail_template(session, kind, words or found.words, is_on=is_on, version=found.version)


def reach(session: Session, now: datetime, *stages: str, number: str = ROD) -> None:
    """Log stages of a rod, one after another."""
    for stage in stages:
        advance(session, number, bench_at(session, now), Logged(stage))


def outbox(session: Session) -> list[MailView]:
    """Every mail there is, by id."""
    return mails_after(session, 0, 100)


def claimed(session: Session, now: datetime = START) -> Claim | None:
    """The claim on the mail that is due first, or none."""
    return claim_mail(session, now=now, secret=SECRET, public_url=URL)


def claimed_one(session: Session, now: datetime = START) -> Claim:
    """The claim on the mail that is due first, which there is."""
    claim = claimed(session, now)
    assert claim is not None
    return claim


def state(session: Session, mail_id: int = 1) -> tuple[MailState, str]:
    """How a mail stands, and what the last fault was."""
    view = mail_view(session, mail_id)
    return view.state, view.last_error
