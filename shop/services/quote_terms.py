"""The shop's own rates, and the words that customers read with a quote."""

from sqlalchemy.orm import Session

from shop.db.shop import Shop
from shop.rules.quote_terms import QuoteTerms, faults_of_quote_terms, quote_terms_map
from shop.rules.refusals import BadInput
from shop.services.shop import unchanged_shop


def save_quote_terms(session: Session, said: QuoteTerms, words: str, *, version: int) -> Shop:
    """Keep what quotes begin with; quotes that were made keep what they were made with.

    Raises `BadInput`, or `Overtaken` where the shop's figures were changed since that version.
    """
    if errors := faults_of_quote_terms(said, words):
        raise BadInput(errors)
    shop = unchanged_shop(session, version)
    shop.quote_terms, shop.terms = quote_terms_map(said), words.strip()
    session.flush()
    return shop
