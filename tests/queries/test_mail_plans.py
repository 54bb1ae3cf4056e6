"""The outbox of a shop that has sent much is looked at by index, again and again, as the server does."""

import re
from typing import Any

from sqlalchemy.orm import Session

from shop.queries.mails import due_mail, given_up_mails, next_mail_at, sent_mails, waiting_mails
from shop.web.deps import Hub
from tests.conftest import START, Hands
from tests.mail_shop import open_mail_shop
from tests.queries.test_plans import asked


def ask_everything(session: Session) -> None:
    next_mail_at(session)
    due_mail(session, START)
    waiting_mails(session, 50)
    given_up_mails(session, 50)
    sent_mails(session, 10_000, 50)


def test_no_look_at_the_outbox_walks_what_was_sent(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        open_mail_shop(session, START)
    with asked(hub) as statements, hub.database.reading() as session:
        ask_everything(session)
    plans: dict[str, Any] = {}
    with hub.database.engine.connect() as connection:
        for text, values in statements:
            if text.startswith("SELECT"):
                plan = connection.exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)
                plans[text] = [str(row[3]) for row in plan]
    assert len(plans) == 5
    steps = [step for plan in plans.values() for step in plan if re.match(r"(SCAN|SEARCH) mails\b", step)]
    assert len(steps) == 5
    assert [step for step in steps if not re.search(r"ix_mails_(waiting|given_up)|PRIMARY KEY", step)] == []
