"""The shop's own rule for the spine: on which side of the mark the guides go, by kind of rod."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.spine import USUAL_RULES, GuidesGo
from shop.queries.shop import shop_version
from shop.rules.orientation import spine_rule
from shop.services.shop import set_spine_rules
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/spine.html"
WORDS = {
    GuidesGo.ON_MARK: "on the mark",
    GuidesGo.OPPOSITE: "opposite the mark",
    GuidesGo.IGNORED: "by the straightest axis; the mark is ignored",
}


@router.get("/ways/spine")
def show_spine_rules(actor: AtWays, page: Page, session: Reading) -> Response:
    """The rule of each kind of rod, to change."""
    rules = {kind: spine_rule(kind, page.shop.spine_rules) for kind in USUAL_RULES}
    form = FormView({**rules, "version": shop_version(session)})
    return page.show(TEMPLATE, here="ways", form=form, **_context())


@router.post("/ways/spine")
def save_spine_rules(actor: AtWays, page: Page, session: Writing, posted: Form) -> Response:
    """Change the rules."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, _context):
        rules, version = _rules(posted)
        set_spine_rules(session, rules, version=version)
    return page.go("/ways/spine", "The rules for the spine are saved.")


def _rules(posted: Posted) -> tuple[dict[str, str], int]:
    fields = Fields(posted)
    rules = {kind: fields.choice(kind, f"The rule for {kind} rods", tuple(GuidesGo)) for kind in USUAL_RULES}
    version = fields.whole("version", "The version", 1, 10**9)
    fields.required("version", "The version", version)
    fields.done()
    return rules, version or 0


def _context() -> dict[str, Any]:
    kinds = [
        {
            "name": kind,
            "label": f"{kind.capitalize()} rods",
            "hint": f"Common practice: {WORDS[rule.guides]}. {rule.note}".strip(),
        }
        for kind, rule in USUAL_RULES.items()
    ]
    return {"kinds": kinds, "options": [(rule.value, words) for rule, words in WORDS.items()]}
