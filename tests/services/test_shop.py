"""The rules for the spine: kept where they are not the usual ones, never over what another changed."""

import pytest
from sqlalchemy.orm import Session

from shop.craft.spine import USUAL_RULES
from shop.queries.shop import read_shop, shop_version
from shop.rules.refusals import BadInput, Overtaken
from shop.services.shop import ShopFacts, change_shop, set_spine_rules

USUAL = {kind: rule.guides.value for kind, rule in USUAL_RULES.items()}


def own(session: Session) -> dict[str, str]:
    session.expire_all()
    return dict(read_shop(session).spine_rules)


def test_a_new_shop_goes_by_what_is_usual(session: Session) -> None:
    assert own(session) == {}


def test_only_what_is_not_usual_is_kept_and_the_next_saying_replaces_it(session: Session) -> None:
    told = {**USUAL, "fly": "on the mark", "surf": "ignored"}
    set_spine_rules(session, told, version=1)
    assert own(session) == {"fly": "on the mark", "surf": "ignored"}
    assert shop_version(session) == 2
    set_spine_rules(session, {**USUAL, "boat": "opposite the mark"}, version=2)
    assert own(session) == {"boat": "opposite the mark"}
    set_spine_rules(session, USUAL, version=3)
    assert own(session) == {}


def test_the_shop_s_other_figures_stay_as_they_are(session: Session) -> None:
    before = read_shop(session)
    set_spine_rules(session, {"fly": "ignored"}, version=1)
    assert read_shop(session) == before._replace(spine_rules={"fly": "ignored"})


@pytest.mark.parametrize(
    ("told", "fields"),
    [
        ({"fly": "sideways"}, ["fly"]),
        ({"repair": "ignored", "fly": "ignored"}, ["repair"]),
        ({"whale": "on the mark", "surf": "On the mark"}, ["whale", "surf"]),
    ],
)
def test_a_rule_that_cannot_be_changes_nothing(
    session: Session, told: dict[str, str], fields: list[str]
) -> None:
    with pytest.raises(BadInput) as refused:
        set_spine_rules(session, told, version=1)
    assert list(refused.value.errors) == fields
    assert (own(session), shop_version(session)) == ({}, 1)


def test_what_another_has_changed_meanwhile_is_not_overwritten(session: Session) -> None:
    set_spine_rules(session, {"fly": "ignored"}, version=1)
    with pytest.raises(Overtaken, match="Somebody else changed the shop's figures meanwhile"):
        set_spine_rules(session, {"fly": "on the mark"}, version=1)
    facts = ShopFacts("The Long Bench", "Europe/Lisbon", "EUR")
    with pytest.raises(Overtaken):
        change_shop(session, facts, credit_cap=1.0, reading_gap_minutes=60.0, version=1)
    assert own(session) == {"fly": "ignored"}
    assert read_shop(session).name != "The Long Bench"
