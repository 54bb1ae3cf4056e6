"""The shop's care sheet, which customers read once their rod is handed over."""

from sqlalchemy.orm import Session

from shop.db.shop import Shop
from shop.rules.care_sheet import faults_of_care_sheet
from shop.rules.refusals import BadInput
from shop.services.shop import unchanged_shop


def save_care_sheet(session: Session, text: str, *, version: int) -> Shop:
    """Keep what customers are told; empty for nothing.

    Raises `BadInput`, or `Overtaken` where the shop's figures were changed since that version.
    """
    said = text.replace("\r\n", "\n").strip()
    if errors := faults_of_care_sheet(said):
        raise BadInput(errors)
    shop = unchanged_shop(session, version)
    shop.care_sheet = said
    session.flush()
    return shop
