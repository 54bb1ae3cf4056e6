"""The shop's own figures: its name, time zone and currency, its cure clock's care, its spine rules."""

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple
from zoneinfo import available_timezones

from sqlalchemy.orm import Session

from shop.db.shop import Shop
from shop.queries.shop import shop_record
from shop.rules.orientation import faults_of_spine_rules, own_spine_rules
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.warranties import MOST_MONTHS

MOST_NAME = 80
LEAST_CAP, MOST_CAP = 1.0, 2.0
LEAST_GAP_MINUTES, MOST_GAP_MINUTES = 5.0, 1440.0
MOST_DAYS = 3650


class ShopFacts(NamedTuple):
    """What a shop is called, where its clocks stand and what it reckons in (three letters of ISO 4217)."""

    name: str
    time_zone: str
    currency: str


@cache
def time_zones() -> tuple[str, ...]:
    """The names of every time zone this machine knows, in order."""
    return tuple(sorted(available_timezones()))


def name_shop(session: Session, facts: ShopFacts) -> Shop:
    """Say what the shop is called and where it is. Raises `BadInput`."""
    if errors := faults_of_shop(facts):
        raise BadInput(errors)
    shop = shop_record(session)
    shop.name, shop.time_zone, shop.currency = facts.name.strip(), facts.time_zone, facts.currency
    session.flush()
    return shop


def change_shop(
    session: Session,
    facts: ShopFacts,
    *,
    credit_cap: float,
    reading_gap_minutes: float,
    version: int,
    warranty_months: int | None = None,
    unclaimed_days: int | None = None,
) -> Shop:
    """Change the shop's figures as one. Raises `BadInput`, or `Overtaken` where they were changed meanwhile.

    `credit_cap` is how many minutes of cure one warm minute may count for; `reading_gap_minutes` is how
    far apart two temperatures may lie and still be joined by a straight line. `warranty_months` is how long
    the warranty of a new rod runs (0: none), `unclaimed_days` how long a repair may lie ready until it counts
    as not fetched; what is left out stays.
    """
    errors = faults_of_shop(facts)
    if not LEAST_CAP <= credit_cap <= MOST_CAP:
        errors["credit_cap"] = f"The most credit for warmth must lie between {LEAST_CAP:g} and {MOST_CAP:g}."
    if not LEAST_GAP_MINUTES <= reading_gap_minutes <= MOST_GAP_MINUTES:
        errors["reading_gap_minutes"] = (
            f"The reading gap must lie between {LEAST_GAP_MINUTES:g} and {MOST_GAP_MINUTES:g} minutes."
        )
    errors |= _faults_of_after(warranty_months, unclaimed_days)
    if errors:
        raise BadInput(errors)
    unchanged_shop(session, version)
    shop = name_shop(session, facts)
    shop.credit_cap, shop.reading_gap_minutes = credit_cap, reading_gap_minutes
    shop.warranty_months = shop.warranty_months if warranty_months is None else warranty_months
    shop.unclaimed_days = shop.unclaimed_days if unclaimed_days is None else unclaimed_days
    session.flush()
    return shop


def _faults_of_after(warranty_months: int | None, unclaimed_days: int | None) -> dict[str, str]:
    errors = {}
    if warranty_months is not None and not 0 <= warranty_months <= MOST_MONTHS:
        errors["warranty_months"] = f"The warranty must run 0 to {MOST_MONTHS} months."
    if unclaimed_days is not None and not 1 <= unclaimed_days <= MOST_DAYS:
        errors["unclaimed_days"] = f"The days must lie between 1 and {MOST_DAYS}."
    return errors


def set_spine_rules(session: Session, rules: Mapping[str, str], *, version: int) -> Shop:
    """Say on which side of the mark the guides go, by kind of rod; a kind left out goes by common practice.

    Only what differs from common practice is kept. Raises `BadInput`, or `Overtaken` where the shop's figures
    were changed meanwhile.
    """
    if errors := faults_of_spine_rules(rules):
        raise BadInput(errors)
    shop = unchanged_shop(session, version)
    shop.spine_rules = own_spine_rules(rules)
    session.flush()
    return shop


def unchanged_shop(session: Session, version: int) -> Shop:
    """The shop's record, if nobody has changed it since that version. Raises `Overtaken`."""
    shop = shop_record(session)
    if shop.version != version:
        raise Overtaken("Somebody else changed the shop's figures meanwhile; look at them again.")
    return shop


def faults_of_shop(facts: ShopFacts) -> dict[str, str]:
    """What is wrong with the facts of a shop, by field."""
    errors = {}
    if not 1 <= len(facts.name.strip()) <= MOST_NAME:
        errors["shop_name"] = f"The shop's name must have 1 to {MOST_NAME} characters."
    if facts.time_zone not in time_zones():
        errors["time_zone"] = f"“{facts.time_zone}” is not a time zone; choose one such as Europe/Lisbon."
    if not (len(facts.currency) == 3 and facts.currency.isascii() and facts.currency.isupper()):
        errors["currency"] = "The currency is three capital letters, such as EUR or USD."
    return errors
