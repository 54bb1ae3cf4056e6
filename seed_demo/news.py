"""What a customer of the demo reads and writes: a promise that moved, an answer, a message that waits."""

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from seed_demo.hand import Hand
from shop.db.builds import Build
from shop.queries.shop import shop_version
from shop.rules.care_sheet import READY_MADE
from shop.services.builds import change_build
from shop.services.care_sheet import save_care_sheet
from shop.services.messages import mark_seen_by_customer, write_from_customer, write_from_shop

LATE_DAYS = 3
WHY = "One of the guides came with a bent foot, and the new one takes until the beginning of the week."
ASKED = "Could the wraps get a thin gold trim?\nAnd does the day still hold?"
ANSWERED = "A gold trim is on. The day has moved a little; it stands above, with the reason."
THANKS = "Thank you, that is quite all right. I could fetch it on a Saturday."


def fill_news(session: Session, hand: Hand, build: Build, *, now: datetime) -> None:
    """Move a rod's promise with its reason, let its customer and the shop write, and keep a care sheet."""
    save_care_sheet(session, READY_MADE, version=shop_version(session))
    asked, moved = now - timedelta(days=2, hours=3), now - timedelta(days=2)
    write_from_customer(session, build.id, now=asked, text=ASKED)
    if build.promised_on is not None:
        later = build.promised_on + timedelta(days=LATE_DAYS)
        bench = hand.bench(moved, "Maren")
        change_build(session, build.number, bench, promised_on=later, promise_reason=WHY)
    write_from_shop(session, build.number, hand.bench(moved + timedelta(minutes=5), "Maren"), text=ANSWERED)
    mark_seen_by_customer(session, build.id, now=now - timedelta(days=1))
    write_from_customer(session, build.id, now=now - timedelta(hours=2), text=THANKS)
