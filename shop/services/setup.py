"""The first run: the shop gets its name, its first owner and the ready-made sequences, only once."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.users import User
from shop.queries.shop import shop_record
from shop.queries.users import has_owner
from shop.rules.people import Role
from shop.rules.refusals import BadInput, Overtaken
from shop.services.sequences import add_ready_made
from shop.services.shop import ShopFacts, faults_of_shop, name_shop
from shop.services.users import Hasher, add_user, faults_of_name, faults_of_password


def open_shop(
    session: Session, passwords: Hasher, facts: ShopFacts, *, now: datetime, name: str, password: str
) -> User:
    """Name the shop and open its first owner's account.

    Raises `Overtaken` once there is an owner, and `BadInput` with every fault of both.
    """
    # Takes the lock on the shop's row first, so that two first runs at once make one owner.
    shop_record(session)
    if has_owner(session):
        raise Overtaken("This shop has an owner already; sign in with that account.")
    errors = faults_of_shop(facts) | faults_of_name(session, name) | faults_of_password(password)
    if errors:
        raise BadInput(errors)
    name_shop(session, facts)
    add_ready_made(session, now=now)
    return add_user(session, passwords, now=now, name=name, role=Role.OWNER, password=password)
