"""The places a cup was mixed for as verbs: left out, closed after all, closed once, closed with a doubt."""

from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_record
from shop.queries.events import events_of_build
from shop.queries.servings import servings_of_mix
from shop.rules.record import EventKind
from shop.rules.refusals import Overtaken
from shop.services.corrections import CureAnew, correct_cure
from shop.services.cups import CupSaid
from shop.services.cures import close_cure
from shop.services.mixes import suspect_mix
from shop.services.servings import leave_out
from tests.conftest import START
from tests.lot_shop import LotShop

REASON = "The bore was too tight"


@pytest.fixture
def shop(session: Session) -> LotShop:
    """Two rods, and the first cup mixed for the rear grip of each."""
    shop = LotShop(session, START)
    shop.mix(cup=CupSaid(serves=tuple((number, "rear grip") for number in shop.numbers)))
    return shop


def notes(shop: LotShop, rod: int = 0) -> list[tuple[EventKind, str]]:
    build = build_record(shop.session, shop.numbers[rod])
    return [(EventKind(event.kind), event.note) for event in events_of_build(shop.session, build.id)]


def close_with_first(shop: LotShop, place: str = "rear grip", rod: int = 0, **more: Any) -> int:
    """Close a place with the first cup; gives the cure's id."""
    said = {"build": shop.numbers[rod], "place": place, "closed_at": None, **more}
    return close_cure(shop.session, shop.bench(), 1, **said).id


def left_out(shop: LotShop) -> list[str]:
    return [view.left_out for view in servings_of_mix(shop.session, 1)]


@pytest.mark.parametrize("reason", [REASON, f"{REASON}."])
def test_a_place_left_out_is_on_the_record_of_its_rod(shop: LotShop, reason: str) -> None:
    leave_out(shop.session, shop.bench(), 1, 1, reason=reason)
    assert (
        EventKind.MIX,
        f"The rear grip was not closed with the Riverbed mixed for it: {REASON}.",
    ) in notes(shop)
    assert not any("was not closed" in note for _, note in notes(shop, rod=1))


def test_a_place_left_out_may_be_closed_with_that_cup_after_all(shop: LotShop) -> None:
    leave_out(shop.session, shop.bench(), 1, 1, reason=REASON)
    leave_out(shop.session, shop.bench(), 1, 2, reason=REASON)
    close_with_first(shop)
    assert left_out(shop) == ["", REASON]
    view = servings_of_mix(shop.session, 1)[0]
    assert (view.closed_at, view.is_open) == (START, False)
    assert any("was not closed" in note for _, note in notes(shop)), "that it was left out, stays"
    with pytest.raises(Overtaken):
        leave_out(shop.session, shop.bench(), 1, 1, reason=REASON)


def test_a_place_is_closed_once_with_one_cup(shop: LotShop) -> None:
    cure_id = close_with_first(shop)
    with pytest.raises(Overtaken) as refused:
        close_with_first(shop)
    assert refused.value.sentence == "The rear grip was closed with this cup already at 09:00."
    # Other places, other rods and other cups have nothing to do with it; nor has one that failed.
    close_with_first(shop, place="butt cap")
    close_with_first(shop, rod=1)
    shop.close(shop.mix())
    correct_cure(shop.session, shop.bench(), cure_id, anew=CureAnew(failed=True), reason="It slid.")
    close_with_first(shop)


def test_closing_with_a_mix_under_suspicion_says_so_on_the_record(shop: LotShop) -> None:
    close_with_first(shop)
    suspect_mix(shop.session, shop.bench(), 1, reason="old bottle")
    close_with_first(shop, rod=1)
    closed = [[note for kind, note in notes(shop, rod) if kind is EventKind.CURE] for rod in (0, 1)]
    assert closed == [
        ["Riverbed closed at the rear grip."],
        ["Riverbed closed at the rear grip; the mix is under suspicion."],
    ]


def test_a_joint_done_anew_with_a_mix_under_suspicion_says_both(shop: LotShop) -> None:
    shop.close(shop.mix())
    suspect_mix(shop.session, shop.bench(), 1, reason="old bottle")
    close_with_first(shop, again=True, again_reason="turned")
    assert notes(shop)[-1][1] == (
        "Riverbed closed at the rear grip anew; the mix is under suspicion; the joint before it (Riverbed) "
        "has failed: turned."
    )
