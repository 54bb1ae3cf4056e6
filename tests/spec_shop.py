"""A shop whose sequence uses parts, for the tests of specs, enquiries and orders.

Threads close with “laid out”, the blank with “parts in hand”; the first stage waits for the customer's yes.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.craft.lengths import parse_length
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.rules.spec import HandleRow, Spec
from shop.services.bench import Bench
from shop.services.blanks import add_blank
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.services.enquiries import take_down_enquiry
from shop.services.events import Logged, Release, advance
from shop.services.sequences import add_sequence
from shop.services.zones import add_zone
from shop.web.benches import BenchSide
from shop.web.deps import Hub

UTC = ZoneInfo("UTC")
CUSTOMER, BLANK, OTHER_BLANK = 1, 1, 2
ENQUIRY, ORDER = "26-001", "26-002"
YES = Hold(HoldKind.APPROVAL)
CASTING = Sequence(
    "casting", "casting",
    (
        Stage("agreed", "Your order is agreed.", holds=(YES,)),
        Stage("parts in hand"),
        Stage("blank checked", uses=("blank",)),
        Stage("laid out", "The guides are set.", uses=("guide", "tip-top")),
        Stage("wrapped", "It is wrapped.", uses=("thread",)),
        Stage("handed over", "Handed over."),
    ),
)  # fmt: skip
FLY = Sequence("fly", "fly", (Stage("agreed", holds=(YES,)), Stage("handed over")))
SPEC = Spec(
    "casting", "7 ft casting", blank_id=BLANK, length_words="7 ft",
    handle=(
        HandleRow("rear grip", "cork, full wells", parse_length("9 1/2 in")),
        HandleRow("reel seat", "casting, size 16"),
    ),
    guide_count=9, thread_colour="#1f4e7a", thread_name="navy, size A",
)  # fmt: skip


def bench_of(hub: Hub, session: Session, now: datetime) -> Bench:
    """The bench with an owner at it."""
    return BenchSide(hub, now).bench(session, Actor("Maren", ROLE_RIGHTS[Role.OWNER]))


def open_desk(hub: Hub, session: Session, now: datetime) -> Bench:
    """Put the shop on file, with an enquiry that has a spec and an order that has none; gives its bench."""
    add_customer(session, now=now, name="Ada Thorn")
    add_zone(session, now=now, name="bench", assumed_c=20.0)
    casting = add_sequence(session, now=now, sequence=CASTING)
    add_sequence(session, now=now, sequence=FLY)
    for model in ("Heron 70", "Heron 80"):
        add_blank(session, now=now, maker="Tern", model=model, length_nm=parse_length("84 in"))
    bench = bench_of(hub, session, now)
    take_down_enquiry(session, bench, zone=UTC, customer_id=CUSTOMER, spec=SPEC)
    take_on_build(
        session, now=now, zone=UTC, customer_id=CUSTOMER, title="8 ft casting", rod_kind="casting",
        sequence_id=casting.id, blank_id=BLANK,
    )  # fmt: skip
    return bench


def log(session: Session, bench: Bench, number: str, *stages: str) -> None:
    """Log stages one after the other, house rules released where one is shut."""
    for stage in stages:
        releases = (Release(HoldKind.APPROVAL, "said on the telephone"),) if stage == "agreed" else ()
        advance(session, number, bench, Logged(stage, releases=releases))
