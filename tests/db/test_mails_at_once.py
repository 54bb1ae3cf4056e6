"""Two processes at one outbox, on both engines: each mail is claimed by one of them."""

from shop.db.sessions import Database
from shop.queries.mails import mail_view, next_mail_at, sent_mails
from shop.rules.mails import CARE_AFTER
from shop.services.mails import write_due_mails
from shop.services.outbox import Claim, claim_mail, mark_sent
from tests.conftest import START
from tests.mail_shop import SEQUENCE, open_mail_shop, reach


def open_outbox(database: Database, *stages: str) -> None:
    with database.writing(START) as session:
        open_mail_shop(session, START)
        reach(session, START, *stages)


def test_while_one_claims_a_mail_another_does_not_get_it(database: Database) -> None:
    open_outbox(database, "agreed", "wrapped", "coated")

    def claim_in(session: object) -> Claim | None:
        return claim_mail(session, now=START, secret=b"x", public_url="")  # type: ignore[arg-type]

    first = database.begin()
    one = claim_in(first)
    if database.embedded:
        # The other waits for the first anyway: SQLite has one writer.
        database.finish(first, START)
        second = database.begin()
        other = claim_in(second)
    else:
        second = database.begin()
        other = claim_in(second)
        database.finish(first, START)
    database.finish(second, START)
    assert one is not None
    assert other is not None
    assert {one.mail_id, other.mail_id} == {1, 2}
    with database.writing(START) as session:
        assert claim_in(session) is None
        mark_sent(session, one, now=START)
    with database.reading() as session:
        assert mail_view(session, one.mail_id).sent_at == START
        assert [mail.id for mail in sent_mails(session, 9, 9)] == [one.mail_id]
        assert next_mail_at(session) == other.until


def test_care_notes_are_found_on_both_engines(database: Database) -> None:
    open_outbox(database, *(stage.name for stage in SEQUENCE.stages))
    with database.writing(START) as session:
        assert write_due_mails(session, now=START + CARE_AFTER) == 1
        assert write_due_mails(session, now=START + CARE_AFTER) == 0
