"""The shop's hours: saying when somebody is there, and on which days nobody is."""

from sqlalchemy.orm import Session

from shop.db.shop import Shop
from shop.rules.hours import Hours, faults_of_hours, kept_days, kept_week
from shop.rules.refusals import BadInput
from shop.services.shop import unchanged_shop


def set_hours(session: Session, hours: Hours, *, version: int) -> Shop:
    """Say when the shop is open. Raises `BadInput`, or `Overtaken` where the shop was changed meanwhile."""
    if errors := faults_of_hours(hours):
        raise BadInput(errors)
    shop = unchanged_shop(session, version)
    shop.hours, shop.closed_on = kept_week(hours), kept_days(hours)
    session.flush()
    return shop
