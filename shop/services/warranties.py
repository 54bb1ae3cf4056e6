"""Warranty: given with the last stage of a new rod, by the months that the shop gives then."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.shop import read_shop
from shop.rules.warranties import warranty_until


def give_warranty(session: Session, build: Build, handed_over: datetime) -> None:
    """Note until when a rod's warranty runs, from the shop's day of an instant; a repair gets none.

    A rod that was sent back and is handed over anew gets a new one.
    """
    if build.rod_kind == "repair":
        return
    shop = read_shop(session)
    build.warranty_until = warranty_until(handed_over.astimezone(shop.zone).date(), shop.warranty_months)
