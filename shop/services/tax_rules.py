"""Tax rules: put on file, changed, switched on and off. A quote keeps the rules it was made with."""

from dataclasses import replace
from datetime import datetime

from sqlalchemy.orm import Session

from shop.craft.quote_working import say_decimal
from shop.db.tax_rules import TaxRule
from shop.queries.tax_rules import tax_rule_record, tax_rule_view, tax_rules_on
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.tax_rules import TaxRuleFacts, faults_of_tax_rule


def add_tax_rule(session: Session, said: TaxRuleFacts, *, now: datetime) -> TaxRule:
    """Put a rule on file. Raises `BadInput`."""
    _check(session, None, said)
    record = TaxRule(created_at=now)
    _write(record, said)
    session.add(record)
    session.flush()
    return record


def change_tax_rule(
    session: Session, rule_id: int, said: TaxRuleFacts, *, version: int | None = None
) -> TaxRule:
    """Say everything of a rule anew; quotes that were made keep what they were made with.

    Raises `BadInput`, `NotOnFile`, and, with `version` given, `Overtaken` where it was changed since.
    """
    record = tax_rule_record(session, rule_id)
    if version is not None and record.version != version:
        raise Overtaken("Somebody else changed this tax meanwhile; what is on file now is shown above.")
    _check(session, rule_id, said)
    _write(record, said)
    session.flush()
    return record


def switch_tax_rule(session: Session, rule_id: int, *, is_on: bool) -> TaxRule:
    """Switch a rule on or off for the quotes to come. Raises `BadInput` or `NotOnFile`."""
    record = tax_rule_record(session, rule_id)
    view = tax_rule_view(session, rule_id)
    said = replace(TaxRuleFacts(view.rule, view.note), is_on=is_on)
    _check(session, rule_id, said)
    record.is_on = is_on
    session.flush()
    return record


def _check(session: Session, rule_id: int | None, said: TaxRuleFacts) -> None:
    others = [view.rule for view in tax_rules_on(session) if view.id != rule_id]
    if errors := faults_of_tax_rule(said, others):
        raise BadInput(errors)


def _write(record: TaxRule, said: TaxRuleFacts) -> None:
    rule = said.rule
    record.name, record.percent = rule.name.strip(), say_decimal(rule.percent)
    record.valid_from, record.valid_until = rule.valid_from, rule.valid_until
    record.cap_cents, record.taxed_on = rule.cap_cents, rule.taxed_on.value
    record.note, record.is_on = said.note.strip(), said.is_on
