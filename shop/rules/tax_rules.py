"""Tax rules: what can be said of one, and which of them may be on side by side.

Which tax is due, from when and on what is for the shop and its accountant to say; nothing here knows a law.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.craft.quote import TaxRule
from shop.craft.quote_working import say_percent
from shop.craft.saying import say_money
from shop.rules.quotes import MOST_CENTS, PLACES_OF_PERCENT, has_more_places

MOST_NAME, MOST_NOTE = 80, 1000


@dataclass(frozen=True, slots=True)
class TaxRuleFacts:
    """A rule as it is said: the rule itself, a note for the shop, and whether it is on."""

    rule: TaxRule
    note: str = ""
    is_on: bool = False


def faults_of_tax_rule(said: TaxRuleFacts, others_on: Iterable[TaxRule]) -> dict[str, str]:
    """What cannot be of a rule, by field. `others_on` are the other rules that are switched on."""
    rule = said.rule
    errors = {}
    if not 1 <= len(rule.name.strip()) <= MOST_NAME:
        errors["name"] = f"The tax needs a name of 1 to {MOST_NAME} characters."
    if not 0 <= rule.percent <= 100:
        errors["percent"] = "The tax must be from 0 to 100 %."
    elif has_more_places(rule.percent, PLACES_OF_PERCENT):
        errors["percent"] = f"The tax is written with at most {PLACES_OF_PERCENT} decimal places."
    if rule.cap_cents is not None and not 0 <= rule.cap_cents <= MOST_CENTS:
        errors["cap_cents"] = f"The most it may come to must be from 0 to {say_money(MOST_CENTS)}."
    if rule.valid_until is not None and rule.valid_until < rule.valid_from:
        errors["valid_until"] = f"The tax ends on {rule.valid_until}, before it begins on {rule.valid_from}."
    if len(said.note) > MOST_NOTE:
        errors["note"] = f"The note has {len(said.note)} characters; at most {MOST_NOTE} fit."
    if said.is_on and not errors and (other := _beside(rule, others_on)) is not None:
        errors["name"] = (
            f"Another rule called “{rule.name}” is on and holds on some of the same days, from "
            f"{other.valid_from}; end that one first, or rods would be taxed twice."
        )
    return errors


def _beside(rule: TaxRule, others_on: Iterable[TaxRule]) -> TaxRule | None:
    """A rule of the same name that holds on a day on which this one does, or none."""
    name = rule.name.strip().casefold()
    same = (other for other in others_on if other.name.strip().casefold() == name)
    return next((other for other in same if _share_a_day(rule, other)), None)


def _share_a_day(one: TaxRule, other: TaxRule) -> bool:
    begins_in_time = other.valid_until is None or one.valid_from <= other.valid_until
    return begins_in_time and (one.valid_until is None or other.valid_from <= one.valid_until)


def say_tax(rule: TaxRule) -> str:
    """A rule in a line: `6.25 % of the price, at most 10.00 a rod`."""
    most = "" if rule.cap_cents is None else f", at most {say_money(rule.cap_cents)} a rod"
    return f"{say_percent(rule.percent)} of the {rule.taxed_on}{most}"
