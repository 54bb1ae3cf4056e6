"""Mail: what is asked before one is written, which is due, and the outbox as pages and API show it."""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, literal, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.events import Event
from shop.db.mails import Mail, MailSettings, MailTemplate
from shop.db.promises import Promise
from shop.db.quotes import Quote
from shop.db.returns import Return
from shop.db.sequences import Stage
from shop.db.shop import Shop
from shop.db.types import UtcDateTime
from shop.rules.mails import CARE_AFTER, CARE_AT_LATEST, MailKind, MailState
from shop.rules.refusals import NotOnFile


class MailGround(NamedTuple):
    """What a mail about a build is written from; only there while mail and its kind are switched on."""

    subject: str
    text: str
    html: str
    from_address: str
    customer_id: int
    customer: str
    email: str
    number: str
    title: str
    shop: str
    time_zone: str
    care_sheet: str


class BuildGround(NamedTuple):
    """What a mail about a build is judged by before it goes out: how things are with the build by now."""

    customer_id: int
    is_closed: bool
    last_promise_id: int | None


class MailView(NamedTuple):
    """A mail of the outbox. `text` and `html` still have `{link}` in them where the link belongs."""

    id: int
    kind: str
    build_id: int | None
    build: str | None
    customer_id: int | None
    to_address: str
    subject: str
    text: str
    html: str
    created_at: datetime
    next_try_at: datetime
    claimed_until: datetime | None
    tries: int
    sent_at: datetime | None
    given_up_at: datetime | None
    last_error: str

    @property
    def state(self) -> MailState:
        """How far it has come."""
        if self.sent_at is not None:
            return MailState.SENT
        return MailState.WAITING if self.given_up_at is None else MailState.GIVEN_UP


_WAITING = Mail.sent_at.is_(None) & Mail.given_up_at.is_(None)
_IS_ON = select(MailSettings.id).where(MailSettings.is_on).exists()
# A claimed mail is due again when its claim has run out: whoever had it is gone.
_DUE_AT = func.coalesce(Mail.claimed_until, Mail.next_try_at)
_GROUND = (
    select(
        MailTemplate.subject, MailTemplate.text, MailTemplate.html, MailSettings.from_address, Customer.id,
        Customer.name, Customer.email, Build.number, Build.title, Shop.name, Shop.time_zone, Shop.care_sheet,
    )
    .select_from(MailSettings)
    .join(MailTemplate, MailTemplate.is_on & (MailTemplate.kind == bindparam("kind")))
    .join(Build, Build.id == bindparam("build_id"))
    .join(Customer, Customer.id == Build.customer_id)
    .join(Shop, Shop.id == 1)
    .where(MailSettings.is_on, Customer.wants_mail, Customer.erased_at.is_(None))
)  # fmt: skip
_GROUND_OF_BUILD = select(
    Build.customer_id,
    Build.closed_at.is_not(None),
    select(func.max(Promise.id)).where(Promise.build_id == Build.id).correlate(Build).scalar_subquery(),
).where(Build.id == bindparam("build_id"))
_KEY = select(Mail.id).where(Mail.key == bindparam("key"))
_NEXT = select(func.min(_DUE_AT)).where(_WAITING, _IS_ON)
_DUE = (
    select(Mail)
    .where(_WAITING, _IS_ON, bindparam("now", type_=UtcDateTime) >= _DUE_AT)
    .order_by(Mail.next_try_at, Mail.id)
    .limit(1)
    # On an engine of many writers another process takes the next one.
    .with_for_update(skip_locked=True)
)
_VIEW = select(
    Mail.id, Mail.kind, Mail.build_id, Build.number, Mail.customer_id, Mail.to_address, Mail.subject,
    Mail.text, Mail.html, Mail.created_at, Mail.next_try_at, Mail.claimed_until, Mail.tries, Mail.sent_at,
    Mail.given_up_at, Mail.last_error,
).join(Build, Build.id == Mail.build_id, isouter=True)  # fmt: skip
_ONE = _VIEW.where(Mail.id == bindparam("id"))
_PAGE = _VIEW.where(Mail.id > bindparam("after")).order_by(Mail.id).limit(bindparam("most"))
_PAGE_OF_BUILD = _PAGE.where(Build.number == bindparam("build"))
_OF_BUILD = _VIEW.where(Mail.build_id == bindparam("build_id")).order_by(Mail.id.desc()).limit(50)
_WAIT = _VIEW.where(_WAITING).order_by(Mail.next_try_at, Mail.id).limit(bindparam("most"))
_GIVEN_UP = (
    _VIEW.where(Mail.given_up_at.is_not(None))
    .order_by(Mail.given_up_at.desc(), Mail.id.desc())
    .limit(bindparam("most"))
)
_SENT = (
    _VIEW.where(Mail.sent_at.is_not(None), Mail.id < bindparam("before"))
    .order_by(Mail.id.desc())
    .limit(bindparam("most"))
)
_WAITING_OF_BUILD = select(Mail).where(Mail.build_id == bindparam("build_id"), _WAITING).order_by(Mail.id)
_SLIPS_OF_BUILD = (
    select(Mail)
    .where(Mail.build_id == bindparam("build_id"), Mail.kind == MailKind.SLIP)
    .order_by(Mail.id.desc())
)
_OF_CUSTOMER = select(Mail).where(Mail.customer_id == bindparam("customer_id")).order_by(Mail.id)
_STAGES_OF_EVENTS = select(Event.id, Stage.id).join(Stage, Stage.id == Event.stage_id)
_NONCE_OF_QUOTE = select(Quote.nonce).where(Quote.id == bindparam("id"), Quote.withdrawn_at.is_(None))
_CARE_ON = select(MailTemplate.id).where(MailTemplate.kind == MailKind.CARE, MailTemplate.is_on).exists()
_CARES: Select[*tuple[Any, ...]] = (
    select(Build.id, Build.closed_at)
    .where(
        _IS_ON, _CARE_ON,
        Build.closed_at.between(bindparam("earliest"), bindparam("latest")),
        Build.closed_as == "",
        ~select(Mail.id).where(Mail.key == literal("care:").concat(Build.id)).exists(),
        ~select(Return.id).where(Return.build_id == Build.id).exists(),
    )
    .order_by(Build.id)
)  # fmt: skip


def mail_ground(session: Session, kind: MailKind, build_id: int) -> MailGround | None:
    """What a mail about a build is written from; none where mail or the kind is off, or nobody wants it."""
    row = session.execute(_GROUND, {"kind": kind.value, "build_id": build_id}).first()
    return None if row is None else MailGround._make(row)


def ground_of_build(session: Session, build_id: int) -> BuildGround:
    """How things are by now with a build that a mail is about."""
    return BuildGround(*session.execute(_GROUND_OF_BUILD, {"build_id": build_id}).one())


def has_mail(session: Session, key: str) -> bool:
    """Whether this has been told, or is waiting to be."""
    return session.scalar(_KEY, {"key": key}) is not None


def next_mail_at(session: Session) -> datetime | None:
    """When the next mail of the outbox is due; none where none waits or mail is off."""
    return session.scalar(_NEXT)


def due_mail(session: Session, now: datetime) -> Mail | None:
    """The record of the mail that is due first, for a verb to claim; none where mail is off."""
    return session.scalars(_DUE, {"now": now}).first()


def due_cares(session: Session, now: datetime) -> list[tuple[int, datetime]]:
    """Builds that were handed over thirty days ago and have had no care note, with when that was.

    One that has come back since is left out, and one handed over too long ago.
    """
    span = {"earliest": now - CARE_AT_LATEST, "latest": now - CARE_AFTER}
    return [(build_id, closed_at) for build_id, closed_at in session.execute(_CARES, span)]


def mail_view(session: Session, mail_id: int) -> MailView:
    """One mail. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": mail_id}).first()
    if row is None:
        raise NotOnFile(f"There is no mail {mail_id} in the outbox.")
    return MailView._make(row)


def mails_after(session: Session, after: int, most: int, build: str | None = None) -> list[MailView]:
    """At most `most` mails whose id is above `after`, by id: all, or those about the build of a number."""
    if build is None:
        rows = session.execute(_PAGE, {"after": after, "most": most})
    else:
        rows = session.execute(_PAGE_OF_BUILD, {"after": after, "most": most, "build": build})
    return [MailView._make(row) for row in rows]


def mails_of_build(session: Session, build_id: int) -> list[MailView]:
    """What was written about a build, newest first, fifty at most."""
    return [MailView._make(row) for row in session.execute(_OF_BUILD, {"build_id": build_id})]


def waiting_mails(session: Session, most: int) -> list[MailView]:
    """What waits to be sent, the soonest first."""
    return [MailView._make(row) for row in session.execute(_WAIT, {"most": most})]


def given_up_mails(session: Session, most: int) -> list[MailView]:
    """What was given up, the newest first."""
    return [MailView._make(row) for row in session.execute(_GIVEN_UP, {"most": most})]


def sent_mails(session: Session, before: int, most: int) -> list[MailView]:
    """What was sent, of the mails whose id is below `before`, the newest first."""
    return [MailView._make(row) for row in session.execute(_SENT, {"before": before, "most": most})]


def mail_record(session: Session, mail_id: int) -> Mail:
    """The record of one mail, for a verb to change. Raises `NotOnFile`."""
    record = session.get(Mail, mail_id, with_for_update=True)
    if record is None:
        raise NotOnFile(f"There is no mail {mail_id} in the outbox.")
    return record


def waiting_records(session: Session, build_id: int) -> list[Mail]:
    """The records of the mails about a build that have not gone out."""
    return list(session.scalars(_WAITING_OF_BUILD, {"build_id": build_id}))


def slip_records(session: Session, build_id: int) -> list[Mail]:
    """The records of the mails that tell of a build's promise moving, the newest first."""
    return list(session.scalars(_SLIPS_OF_BUILD, {"build_id": build_id}))


def mail_records_of(session: Session, customer_id: int) -> list[Mail]:
    """The records of every mail to a customer."""
    return list(session.scalars(_OF_CUSTOMER, {"customer_id": customer_id}))


def stages_of_events(session: Session, event_ids: list[int]) -> dict[int, int]:
    """The id of the stage that each of some events is about."""
    return dict(session.execute(_STAGES_OF_EVENTS.where(Event.id.in_(event_ids))).all())


def nonce_of_quote(session: Session, quote_id: int) -> str | None:
    """What the link of a quote is computed from; none once the quote is withdrawn."""
    return session.scalar(_NONCE_OF_QUOTE, {"id": quote_id})
