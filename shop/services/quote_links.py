"""The customers' links to quotes: ended for good where whoever has them must no longer read what is there."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.quotes import Quote, QuoteAnswer
from shop.queries.privacy import answers_of_quotes, records_of_builds
from shop.rules.quote_answers import YES
from shop.services.tokens import hash_of, new_token


def end_quote_links(
    session: Session, build_ids: Sequence[int], *, now: datetime
) -> tuple[Sequence[Quote], Sequence[QuoteAnswer]]:
    """End the link of every quote of some builds; gives those quotes and their answers, for more to be done.

    What was agreed still stands; an open offer, which nobody could answer any more, is withdrawn.
    """
    quotes = records_of_builds(session, Quote, build_ids)
    answers = answers_of_quotes(session, [quote.id for quote in quotes])
    agreed = {answer.quote_id for answer in answers if answer.answer == YES}
    for quote in quotes:
        quote.nonce, quote.token_hash = new_token(), hash_of(new_token())
        if quote.id not in agreed:
            quote.withdrawn_at = quote.withdrawn_at or now
    session.flush()
    return quotes, answers
