"""The demo's shop and its people."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.outside.passwords import Passwords
from shop.queries.shop import shop_record
from shop.rules.people import Role
from shop.services.users import add_user

SHOP_NAME = "Tern Hollow Rods"
TIME_ZONE = "Europe/Oslo"
PEOPLE = (("Ottar", Role.BUILDER), ("Pell", Role.HELPER))


def open_demo_shop(
    session: Session, passwords: Passwords, *, now: datetime, owner: str, password: str
) -> None:
    """Name the shop and open the accounts; everybody has the same password."""
    shop = shop_record(session)
    shop.name, shop.time_zone, shop.currency = SHOP_NAME, TIME_ZONE, "EUR"
    for name, role in ((owner, Role.OWNER), *PEOPLE):
        add_user(session, passwords, now=now, name=name, role=role, password=password)
