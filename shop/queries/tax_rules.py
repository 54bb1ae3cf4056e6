"""Tax rules: all of them for the owner, those that are on for a quote."""

from datetime import date, datetime
from fractions import Fraction
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.craft.quote import TaxedOn
from shop.craft.quote import TaxRule as Rule
from shop.db.tax_rules import TaxRule
from shop.rules.refusals import NotOnFile


class TaxRuleView(NamedTuple):
    """A rule on file; `percent` is exact, `cap_cents` the most it may come to for a rod."""

    id: int
    name: str
    percent: Fraction
    valid_from: date
    valid_until: date | None
    cap_cents: int | None
    taxed_on: TaxedOn
    is_on: bool
    note: str
    created_at: datetime
    version: int

    @property
    def rule(self) -> Rule:
        """The rule as the sums take it."""
        return Rule(self.name, self.percent, self.valid_from, self.valid_until, self.cap_cents, self.taxed_on)


_VIEW: Select[*tuple[Any, ...]] = select(*(getattr(TaxRule, name) for name in TaxRuleView._fields))
_ALL = _VIEW.order_by(TaxRule.id)
_ON = _ALL.where(TaxRule.is_on)
_ONE = _VIEW.where(TaxRule.id == bindparam("id"))
_PAGE = _ALL.where(TaxRule.id > bindparam("after")).limit(bindparam("most"))


def _view(row: Any) -> TaxRuleView:
    view = TaxRuleView._make(row)
    return view._replace(percent=Fraction(view.percent), taxed_on=TaxedOn(view.taxed_on))


def tax_rules(session: Session) -> list[TaxRuleView]:
    """Every rule, in the order in which they are reckoned."""
    return [_view(row) for row in session.execute(_ALL)]


def tax_rules_on(session: Session) -> list[TaxRuleView]:
    """The rules that are switched on, in the order in which they are reckoned."""
    return [_view(row) for row in session.execute(_ON)]


def tax_rules_after(session: Session, after: int, most: int) -> list[TaxRuleView]:
    """At most `most` rules whose id is above `after`, by id."""
    return [_view(row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def tax_rule_view(session: Session, rule_id: int) -> TaxRuleView:
    """One rule. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": rule_id}).first()
    if row is None:
        raise NotOnFile(f"There is no tax rule {rule_id} on file.")
    return _view(row)


def tax_rule_record(session: Session, rule_id: int) -> TaxRule:
    """The record of one rule, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    record = session.get(TaxRule, rule_id, with_for_update=True)
    if record is None:
        raise NotOnFile(f"There is no tax rule {rule_id} on file.")
    return record
