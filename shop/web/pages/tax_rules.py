"""The taxes under Ways: dated rules, put on file, changed, and switched on by an owner alone."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.quote import TaxedOn, TaxRule, exact
from shop.craft.quote_working import say_decimal
from shop.craft.saying import say_money
from shop.db.sessions import Session
from shop.queries.tax_rules import TaxRuleView, tax_rule_view, tax_rules
from shop.rules.tax_rules import MOST_NAME, MOST_NOTE, TaxRuleFacts, say_tax
from shop.services.tax_rules import add_tax_rule, change_tax_rule, switch_tax_rule
from shop.web.deps import Form, Now, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, ONE = "pages/taxes.html", "pages/tax.html"
NEW = {
    "name": "", "percent": "", "valid_from": "", "valid_until": "", "cap_cents": "",
    "taxed_on": TaxedOn.PRICE.value, "is_on": "", "note": "",
}  # fmt: skip


@router.get("/ways/taxes")
def show_taxes(actor: AtWays, page: Page, session: Reading) -> Response:
    """Every rule in the order in which they are reckoned, and a form for a further one."""
    return page.show(LIST, here="ways", form=FormView(), **_list(session, page.shop.currency))


def _list(session: Session, currency: str) -> dict[str, Any]:
    return {
        "taxes": [_line(view) for view in tax_rules(session)],
        "kept": NEW,
        "currency": currency,
        "taxed_on": [(option.value, option.value) for option in TaxedOn],
    }


def _line(view: TaxRuleView) -> dict[str, Any]:
    until = f" until {view.valid_until}" if view.valid_until else ""
    return {
        "id": view.id, "name": view.name, "is_on": view.is_on, "note": view.note,
        "says": say_tax(view.rule), "when": f"from {view.valid_from}{until}",
    }  # fmt: skip


@router.post("/ways/taxes")
def put_tax_on_file(actor: AtWays, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put a rule on file."""
    page.here = "ways"
    with showing_again(page, LIST, posted, lambda: _list(session, page.shop.currency)):
        rule = add_tax_rule(session, _said(Fields(posted), posted.get("is_on") == "on"), now=now)
    return page.go("/ways/taxes", f"{rule.name} is on file, and {'on' if rule.is_on else 'off'}.")


def _said(fields: Fields, is_on: bool) -> TaxRuleFacts:
    """A rule as typed. Raises `BadInput` with every fault."""
    name = fields.text("name", "The name", MOST_NAME, required=True)
    percent = fields.required("percent", "The tax", fields.number("percent", "The tax", 0, 100))
    valid_from = fields.required("valid_from", "The first day", fields.day("valid_from", "The first day"))
    valid_until = fields.day("valid_until", "The last day")
    cap = fields.cents("cap_cents", "The most it may come to")
    taxed_on = fields.choice("taxed_on", "What it is taken on", tuple(TaxedOn))
    note = fields.text("note", "The note", MOST_NOTE)
    fields.done()
    rule = TaxRule(name, exact(percent or 0), valid_from or date.min, valid_until, cap, TaxedOn(taxed_on))
    return TaxRuleFacts(rule, note, is_on)


@router.get("/ways/taxes/{rule_id}")
def show_tax(actor: AtWays, page: Page, session: Reading, rule_id: int) -> Response:
    """One rule, to change."""
    return page.show(ONE, here="ways", form=FormView(), **_one(session, rule_id, page.shop.currency))


def _one(session: Session, rule_id: int, currency: str) -> dict[str, Any]:
    view = tax_rule_view(session, rule_id)
    kept = {
        "name": view.name, "percent": say_decimal(view.percent), "valid_from": view.valid_from.isoformat(),
        "valid_until": "" if view.valid_until is None else view.valid_until.isoformat(),
        "cap_cents": "" if view.cap_cents is None else say_money(view.cap_cents),
        "taxed_on": view.taxed_on.value, "is_on": "on" if view.is_on else "", "note": view.note,
    }  # fmt: skip
    return {
        "tax": view,
        "on_file": _line(view),
        "kept": kept,
        "currency": currency,
        "taxed_on": [(o.value, o.value) for o in TaxedOn],
    }


@router.post("/ways/taxes/{rule_id}")
def save_tax(actor: AtWays, page: Page, session: Writing, rule_id: int, posted: Form) -> Response:
    """Change a rule for the quotes to come."""
    page.here = "ways"
    with showing_again(page, ONE, posted, lambda: _one(session, rule_id, page.shop.currency)):
        fields = Fields(posted)
        version = fields.whole("version", "The version", 1, 10**9)
        said = _said(fields, posted.get("is_on") == "on")
        change_tax_rule(session, rule_id, said, version=version or 0)
    return page.go("/ways/taxes", "Saved.")


@router.post("/ways/taxes/{rule_id}/switch")
def switch_tax(actor: AtWays, page: Page, session: Writing, rule_id: int, posted: Form) -> Response:
    """Switch a rule on or off for the quotes to come."""
    page.here, is_on = "ways", posted.get("to") == "on"
    with showing_again(page, ONE, posted, lambda: _one(session, rule_id, page.shop.currency)):
        rule = switch_tax_rule(session, rule_id, is_on=is_on)
    return page.go("/ways/taxes", f"{rule.name} is {'on' if is_on else 'off'}.")
