"""Joints and coats of several cups, tacky coats and coats laid after their stages, through `/next`."""

from typing import Any

from tests.api.conftest import Program
from tests.api.test_doubts import glued, holds, seated
from tests.conftest import Hands

QUICK = {
    "name": "Quick", "parts_a": 1, "parts_b": 1, "reference_c": 20, "pot_life_minutes": 5, "set_minutes": 15,
    "full_cure_minutes": 60, "source": "its sheet",
}  # fmt: skip
WINDOW = {"recoat_from_minutes": 30, "recoat_until_minutes": 120}


def test_a_quick_cup_on_a_slow_one_frees_no_rod(desk: Program, hands: Hands) -> None:
    number, _ = glued(desk)
    quick = desk.post("/adhesives", use="bond", **QUICK)["id"]
    hands.forward(minutes=2)
    desk.glue(number, "rear grip", quick)
    hands.forward(minutes=16)
    assert holds(desk, number)[0] == ("set", "The Riverbed at the rear grip has not set.")
    curing = next(row for row in desk.get("/bench")["curing"] if row["number"] == number)
    assert {cure["set_at"] for cure in curing["cures"]} == {"2026-03-02T19:00:00Z"}
    hands.forward(hours=9, minutes=42)
    assert desk.kinds(number) == ["check"]


def test_a_second_cup_does_not_hide_that_the_first_is_tacky(desk: Program, hands: Hands) -> None:
    number, first = glued(desk)
    hands.forward(minutes=5)
    desk.glue(number, "rear grip")
    hands.forward(hours=10, minutes=10)
    desk.post(f"/mixes/{first['mix_id']}/puddle", state="tacky")
    assert holds(desk, number)[0] == (
        "set", "The puddle of the Riverbed at the rear grip is tacky: it must be found firm."
    )  # fmt: skip
    desk.post(f"/mixes/{first['mix_id']}/puddle", state="firm")
    assert desk.kinds(number) == ["check"]


def coated(desk: Program, hands: Hands) -> tuple[str, Any]:
    """A build whose first coat is laid and logged, and that coat's cure."""
    number, _ = seated(desk, hands)
    hands.forward(hours=60)
    desk.post(f"/builds/{number}/advance", to="hard")
    coat = desk.glue(number, "guide wraps", 2)
    desk.post(f"/builds/{number}/advance", to="first coat")
    return number, coat


def test_the_window_of_a_coat_of_two_products_is_that_of_both(desk: Program, hands: Hands) -> None:
    number, _ = coated(desk, hands)
    quick = desk.post("/adhesives", use="finish", **QUICK, **WINDOW)["id"]
    hands.forward(minutes=10)
    desk.glue(number, "guide wraps", quick)
    hands.forward(minutes=31)
    assert holds(desk, number) == [
        ("recoat", "The recoat window of the Stillwater at the guide wraps has not opened.")
    ]
    hands.forward(hours=5, minutes=19)
    assert holds(desk, number) == [
        ("recoat", "The recoat window of the Quick at the guide wraps has shut: wash, scuff and wipe it, "
         "then tick “prep”.")
    ]  # fmt: skip


def test_nothing_is_laid_on_a_tacky_coat_until_its_puddle_is_firm(desk: Program, hands: Hands) -> None:
    number, coat = coated(desk, hands)
    hands.forward(hours=14)
    assert desk.get(f"/builds/{number}/next")["allowed"]
    path = f"/mixes/{coat['mix_id']}/puddle"
    desk.post(path, state="tacky")
    tacky = "The puddle of the Stillwater at the guide wraps is tacky: it must be found firm."
    assert holds(desk, number) == [("recoat", tacky)]
    refused = desk.assert_refused(409, f"/builds/{number}/advance", to="second coat", checks=["prep"])
    assert [hold["reason"] for hold in refused["holds"]] == [tacky]
    (held,) = [row for row in desk.get("/bench")["held"] if row["number"] == number]
    assert (held["holds"][0]["cleared_by"], held["holds"][0]["waivable"]) == ("person", False)
    wish = {"adhesive_id": 2, "zone_id": 1, "serves": [{"build": number, "place": "guide wraps"}]}
    against = [hold for hold in desk.post("/mixes/plan", **wish)["holds"] if hold["kind"] == "recoat"]
    assert [(hold["reason"], hold["waivable"]) for hold in against] == [(f"{number}: {tacky}", False)]
    desk.post(path, state="firm")
    assert desk.get(f"/builds/{number}/next")["allowed"]


def test_a_coat_laid_after_its_stages_keeps_the_rod_in_the_shop(desk: Program, hands: Hands) -> None:
    number, _ = coated(desk, hands)
    hands.forward(hours=8)
    desk.glue(number, "guide wraps", 2)
    desk.post(f"/builds/{number}/advance", to="second coat")
    assert desk.get(f"/builds/{number}/next")["allowed"], "laid with its stage: this sequence asks no more"
    hands.forward(days=3)
    desk.glue(number, "guide wraps", 2)
    coming = desk.get(f"/builds/{number}/next")
    assert (coming["stage"], coming["ready_at"]) == ("handed over", "2026-03-09T15:00:00Z")
    assert holds(desk, number) == [("full_cure", "The Stillwater at the guide wraps has not fully cured.")]
    desk.assert_refused(409, f"/builds/{number}/advance", to="handed over")
    hands.forward(hours=24)
    desk.post(f"/builds/{number}/advance", to="handed over")
