"""The API of tax rules: dated, on file, and on only where an owner has switched them on."""

from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.craft.quote import TaxedOn, TaxRule, exact
from shop.queries.tax_rules import TaxRuleView, tax_rule_view, tax_rules_after
from shop.rules.tax_rules import MOST_NAME, MOST_NOTE, TaxRuleFacts
from shop.services.tax_rules import add_tax_rule, change_tax_rule
from shop.web.api.base import (
    After,
    Body,
    Limit,
    Once,
    Page,
    Ref,
    Truth,
    api_router,
    changes_of,
    page_of,
)
from shop.web.api.money import PER_CENT, CentsIn, ShareOut, WholeShareIn
from shop.web.api.times import DayIn
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForWays

router = api_router("tax rules")

Name = Annotated[str, Field(min_length=1, max_length=MOST_NAME, examples=["Sales tax"])]
Note = Annotated[str, Field(max_length=MOST_NOTE)]


class TaxRuleIn(Body):
    """A tax of so many percent from a day to a day, both included; `cap_cents` is the most for one rod."""

    name: Name
    percent: WholeShareIn
    valid_from: DayIn
    valid_until: DayIn | None = None
    cap_cents: CentsIn | None = None
    taxed_on: TaxedOn = TaxedOn.PRICE
    is_on: Truth = False
    note: Note = ""


class TaxRuleChanges(Body):
    """What changes of a rule; whatever is left out stays."""

    name: Name | None = None
    percent: Annotated[WholeShareIn | None, Field(description=PER_CENT)] = None
    valid_from: DayIn | None = None
    valid_until: DayIn | None = None
    cap_cents: CentsIn | None = None
    taxed_on: TaxedOn | None = None
    is_on: Truth | None = None
    note: Note | None = None
    version: Annotated[Ref | None, Field(description="The version that was looked at.")] = None


class TaxRuleOut(BaseModel):
    """A rule on file; it counts only while `is_on`."""

    id: int
    name: str
    percent: ShareOut
    valid_from: date
    valid_until: date | None
    cap_cents: int | None
    taxed_on: TaxedOn
    is_on: bool
    note: str
    version: int


def _facts(said: dict[str, Any]) -> TaxRuleFacts:
    rule = TaxRule(
        said["name"], exact(said["percent"]), said["valid_from"], said["valid_until"], said["cap_cents"],
        TaxedOn(said["taxed_on"]),
    )  # fmt: skip
    return TaxRuleFacts(rule, said["note"], said["is_on"])


def _out(view: TaxRuleView) -> dict[str, Any]:
    return {**view._asdict(), "percent": float(view.percent)}


@router.get("/tax-rules", response_model=Page[TaxRuleOut])
def list_tax_rules(actor: KeyForDesk, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Tax rules by id, which is the order in which they are reckoned."""
    page = page_of(tax_rules_after(session, after, limit + 1), limit, lambda view: view.id)
    return {**page, "items": [_out(view) for view in page["items"]]}


@router.post("/tax-rules", status_code=201, response_model=TaxRuleOut)
def post_tax_rule(actor: KeyForWays, session: Writing, _once: Once, now: Now, body: TaxRuleIn) -> Any:
    """Put a tax rule on file."""
    rule = add_tax_rule(session, _facts(body.model_dump()), now=now)
    return _out(tax_rule_view(session, rule.id))


@router.get("/tax-rules/{rule_id}", response_model=TaxRuleOut)
def get_tax_rule(actor: KeyForDesk, session: Reading, rule_id: int) -> Any:
    """One tax rule."""
    return _out(tax_rule_view(session, rule_id))


@router.patch("/tax-rules/{rule_id}", response_model=TaxRuleOut)
def patch_tax_rule(
    actor: KeyForWays, session: Writing, _once: Once, rule_id: int, body: TaxRuleChanges
) -> Any:
    """Change a rule, or switch it on or off, for the quotes to come."""
    changes = changes_of(body, "valid_until", "cap_cents", "version")
    version = changes.pop("version", None)
    said = {**_out(tax_rule_view(session, rule_id)), **changes}
    change_tax_rule(session, rule_id, _facts(said), version=version)
    return _out(tax_rule_view(session, rule_id))
