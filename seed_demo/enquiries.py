"""The demo's enquiries: what is asked for, how far each spec has grown, and a rod whose colour changed."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from seed_demo.hand import Hand
from seed_demo.shop import TIME_ZONE
from shop.craft.lengths import parse_length
from shop.db.builds import Build
from shop.rules.spec import HandleRow, Spec
from shop.services.customers import add_customer
from shop.services.enquiries import take_down_enquiry
from shop.services.specs import revise_spec


def _row(place: str, said: str, length: str = "") -> HandleRow:
    return HandleRow(place, said, parse_length(length) if length else None)


LIGHT = Spec(
    "spinning", "7 ft spinning, sea trout in the surf",
    length_words="7 ft", power="medium", action="fast",
    handle=(_row("rear grip", "cork, straight", "8 1/2 in"), _row("reel seat", "size 16, matt black")),
    wishes="A rod that goes into a short boot.",
)  # fmt: skip
WHOLE = Spec(
    "casting", "7 ft casting, big lures",
    length_words="7 ft", power="heavy", action="fast",
    handle=(
        _row("rear grip", "cork, full wells", "9 1/2 in"), _row("reel seat", "casting, size 16"),
        _row("fore grip", "cork", "2 1/2 in"), _row("butt cap", "rubber, 1 in"),
    ),
    hand_size="large, a wide glove", reel="low profile, size 200", winding_side="left",
    guides="ring guides, single foot from the fifth on", guide_count=9,
    thread_colour="#1f4e7a", thread_name="navy blue, size A", trim_colour="#b08d2e", trim_name="old gold",
    inscription="Tight lines", inscription_again="Tight lines", inscription_side="top",
)  # fmt: skip
FLY = Spec(
    "fly", "9 ft fly, 5 line, a travelling rod",
    length_words="9 ft, four pieces", power="5 line", action="medium",
    handle=(_row("fore grip", "cork, half wells", "6 1/2 in"), _row("reel seat", "up-locking, walnut")),
    hand_size="small", guides="snake guides, two stripping guides", guide_count=11,
    thread_colour="#4b2e6b", thread_name="plum, size A",
)  # fmt: skip


def fill_enquiries(hand: Hand, changed: Build, *, now: datetime) -> None:
    """Take down three enquiries, one that lacks much and two ready to be quoted; change a rod's colour."""
    zone = ZoneInfo(TIME_ZONE)
    for name, days_ago, spec in (
        ("Linnea Strand", 6.0, replace(WHOLE, blank_id=hand.shelf.blanks["casting"])),
        ("Oskar Fenn", 3.0, replace(FLY, blank_id=hand.shelf.blanks["fly"])),
        ("Marit Dahl", 0.2, LIGHT),
    ):
        bench = hand.bench(now - timedelta(days=days_ago))
        email = f"{name.split()[0].lower()}@example.org"
        customer = add_customer(hand.session, now=bench.now, name=name, email=email)
        take_down_enquiry(hand.session, bench, zone=zone, customer_id=customer.id, spec=spec)
    _change_colour(hand, changed, now)


def _change_colour(hand: Hand, build: Build, now: datetime) -> None:
    """A rod on the bench whose thread is to be another: the change came in time, and a ticket is stale."""
    spec = replace(WHOLE, title=build.title, blank_id=build.blank_id)
    other = replace(spec, thread_colour="#2f6b3a", thread_name="forest green, size A")
    revise_spec(hand.session, build.number, hand.bench(now - timedelta(hours=3)), spec, revision=0)
    revise_spec(
        hand.session, build.number, hand.bench(now - timedelta(hours=1)), other, revision=1,
        reason="asked for by telephone",
    )  # fmt: skip
