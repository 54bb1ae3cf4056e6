"""The API of a cup before it is mixed: what it takes, every reason not to mix it; nothing is written."""

from typing import Any

import pytest

from tests.api.conftest import Program
from tests.api.filled import BOND, FINISH, ZONE
from tests.conftest import Hands

LOT = {"adhesive_id": BOND, "received_on": "2026-02-01", "use_by": "2026-12-31"}
COATED = {"name": "coated", "records": [{"kind": "cure", "name": "guide wraps"}]}
GLUED = {"name": "glued", "records": [{"kind": "cure", "name": "rear grip"}]}
CUP = {"adhesive_id": BOND, "zone_id": ZONE}


@pytest.fixture
def desk(desk: Program) -> Program:
    """Two rods that wait for glue (26-001, 26-002) and two that wait for a coat (26-003, 26-004)."""
    for name, stages in (("glue", [GLUED]), ("coats", [COATED])):
        sequence = desk.post("/sequences", name=name, rod_kind="casting", stages=stages)["id"]
        desk.build(sequence_id=sequence)
        desk.build(sequence_id=sequence)
    return desk


def serves(place: str, *numbers: str) -> list[dict[str, str]]:
    return [{"build": number, "place": place} for number in numbers]


def coats(*numbers: str) -> dict[str, Any]:
    return {"adhesive_id": FINISH, "zone_id": ZONE, "serves": serves("guide wraps", *numbers)}


def lot(desk: Program, part: str, **said: Any) -> int:
    number: int = desk.post("/lots", **{**LOT, "part": part, "number": f"L-{part}", **said})["id"]
    return number


def test_a_plan_says_what_a_cup_takes_and_writes_nothing(desk: Program) -> None:
    desk.send("PATCH", f"/adhesives/{BOND}", json={"parts_a": 2, "density_a": 1.16})
    a, b = lot(desk, "A"), lot(desk, "B")
    said = {"serves": serves("rear grip", "26-001", "26-002"), "lot_a_id": a, "lot_b_id": b}
    plan = desk.post("/mixes/plan", **CUP, **said, volume_ml=12, minutes=20, parts_c=18)
    # Worked by hand: two to one of 12 mL is 8 and 4 mL, and 8 × 1.16 = 9.28 g.
    assert plan["amounts"].pop("mass_a_g") == pytest.approx(9.28)
    assert plan["amounts"] == {
        "volume_ml": 12, "amount_a_ml": 8, "amount_b_ml": 4, "mass_b_g": None, "is_least": False,
    }  # fmt: skip
    assert (plan["allowed"], plan["holds"], plan["warnings"], plan["least_ml"]) == (True, [], [], 9)
    assert (plan["planned_minutes"], plan["zone_c"]) == (20, 20)
    assert plan["pot_life_ends_at"] == "2026-03-02T09:30:00Z"
    assert plan["turner_places"] == {"needed": 0, "free": None, "promised": 0, "until": None}
    assert [(item["build"], item["volume_ml"]) for item in plan["serves"]] == [
        ("26-001", None), ("26-002", None),
    ]  # fmt: skip
    assert desk.get("/mixes")["items"] == []
    assert desk.get("/builds/26-001/events")["items"] == []
    assert desk.get(f"/lots/{a}")["opened_on"] is None


def test_only_adhesive_and_zone_are_needed_and_an_amount_nobody_knows_is_null(desk: Program) -> None:
    plan = desk.post("/mixes/plan", **CUP)
    assert (plan["amounts"], plan["allowed"], plan["planned_minutes"]) == (None, True, 0)
    few = desk.post("/mixes/plan", **CUP, volume_ml=3)
    assert (few["amounts"]["is_least"], few["least_ml"]) == (True, 6)


@pytest.mark.parametrize(
    ("said", "kind", "waivable", "words"),
    [
        ({"lot_a_id": 1}, "lot", True, "Lot L-A (part A) is out of date"),
        ({"parts_c": 5}, "warm", True, "The parts are at 5.0 °C"),
        ({"minutes": 21.1}, "pot_life", True, "more than 70 % of it"),
        ({"minutes": 30.1}, "pot_life", False, "mix two cups"),
    ],
)
def test_each_reason_not_to_mix_is_a_hold(
    desk: Program, said: dict[str, Any], kind: str, waivable: bool, words: str
) -> None:
    lots = [lot(desk, "A", use_by="2026-03-01"), lot(desk, "A", number="L-2"), lot(desk, "B")]
    assert lots == [1, 2, 3]
    plan = desk.post("/mixes/plan", **{**CUP, "lot_a_id": 2, "lot_b_id": 3, **said})
    (hold,) = plan["holds"]
    assert (hold["kind"], hold["waivable"], hold["clears_at"]) == (kind, waivable, None)
    assert words in hold["reason"]
    assert plan["allowed"] is False


def test_a_lot_that_nobody_names_is_a_hold_once_the_shelf_has_any(desk: Program) -> None:
    lot(desk, "A")
    assert [hold["kind"] for hold in desk.post("/mixes/plan", **CUP)["holds"]] == ["lot", "lot"]


def test_a_cold_zone_is_a_hold(desk: Program) -> None:
    desk.send("PATCH", f"/zones/{ZONE}", json={"assumed_c": 12.9})
    plan = desk.post("/mixes/plan", **CUP)
    assert [hold["kind"] for hold in plan["holds"]] == ["warm"]
    assert plan["zone_c"] == 12.9


def test_a_window_that_nobody_can_use_is_a_hold(desk: Program, hands: Hands) -> None:
    # The window opens six hours after closing and shuts after twenty; the shop is there from 8 to 17.
    assert desk.post("/mixes/plan", **coats("26-003"), minutes=1)["holds"] == []
    hands.forward(hours=2, minutes=30)
    plan = desk.post("/mixes/plan", **coats("26-003"), minutes=1)
    assert [(hold["kind"], hold["cleared_by"]) for hold in plan["holds"]] == [("recoat", "owner")]
    assert (plan["recoat_from"], plan["recoat_until"]) == ("2026-03-02T17:31:00Z", "2026-03-03T07:31:00Z")


def test_a_turner_without_a_free_place_is_a_hold_and_a_cup_in_hand_takes_its_own(
    desk: Program, hands: Hands
) -> None:
    desk.post("/turners", name="Rack", places=1)
    both = desk.post("/mixes/plan", **coats("26-003", "26-004"))
    assert [hold["kind"] for hold in both["holds"]] == ["turner"]
    assert both["turner_places"] == {
        "needed": 2, "free": 1, "promised": 0, "until": "2026-03-02T14:00:00Z",
    }  # fmt: skip
    assert desk.post("/mixes/plan", **coats("26-004"))["holds"] == []
    mix = desk.post("/mixes", **coats("26-003"))["id"]
    for _ in range(2):
        (hold,) = (plan := desk.post("/mixes/plan", **coats("26-004")))["holds"]
        assert hold["reason"].endswith("and none is free; 1 is promised to other cups in hand.")
        assert (plan["turner_places"]["free"], plan["turner_places"]["promised"]) == (0, 1)
        # Coated and not yet on the turner it needs its place as much.
        if not desk.get(f"/mixes/{mix}/servings")["items"][0]["closed_at"]:
            desk.post(f"/mixes/{mix}/cures", build="26-003", place="guide wraps")
    stay = desk.post("/turners/1/stays", build="26-003", place_number=1)["id"]
    plan = desk.post("/mixes/plan", **coats("26-004"))
    assert (plan["turner_places"]["free"], plan["turner_places"]["promised"]) == (0, 0)
    hands.forward(hours=5)
    desk.post(f"/stays/{stay}/off")
    assert desk.post("/mixes/plan", **coats("26-004"))["turner_places"]["free"] == 1


def test_a_cup_that_is_over_or_to_be_done_again_has_promised_no_place(desk: Program, hands: Hands) -> None:
    desk.post("/turners", name="Rack", places=1)

    def promised() -> int:
        places: dict[str, int] = desk.post("/mixes/plan", **coats("26-004"))["turner_places"]
        return places["promised"]

    mix = desk.post("/mixes", **coats("26-003"))["id"]
    assert promised() == 1
    desk.post(f"/mixes/{mix}/suspect", reason="Poured by eye.")
    desk.post(f"/mixes/{mix}/verdict", verdict="redo", reason="It was.")
    assert promised() == 0
    desk.post("/mixes", **coats("26-003"))
    hands.forward(minutes=29, seconds=59)
    assert promised() == 1
    hands.forward(seconds=1)
    assert promised() == 0
    # Glue takes no place of a turner.
    desk.post("/mixes", **CUP, serves=serves("rear grip", "26-001"))
    assert promised() == 0


def test_a_rod_that_is_on_the_turner_has_its_place(desk: Program) -> None:
    desk.post("/turners", name="Rack", places=1)
    desk.post("/turners/1/stays", build="26-003", place_number=1)
    assert desk.post("/mixes/plan", **coats("26-003"))["holds"] == []
    assert [hold["kind"] for hold in desk.post("/mixes/plan", **coats("26-004"))["holds"]] == ["turner"]


def test_what_holds_a_rod_holds_the_cup_for_it(desk: Program) -> None:
    glue_first = {"kind": "set", "places": ["rear grip"]}
    seat = {"name": "seat", "holds": [glue_first], "records": [{"kind": "cure", "name": "reel seat"}]}
    sequence = desk.post("/sequences", name="two", rod_kind="casting", stages=[GLUED, seat])["id"]
    rod = desk.build(sequence_id=sequence)
    desk.glue(rod, "rear grip")
    desk.post(f"/builds/{rod}/advance", to="glued")
    (hold,) = desk.post("/mixes/plan", **CUP, serves=serves("reel seat", rod))["holds"]
    assert (hold["kind"], hold["waivable"], hold["cleared_by"]) == ("set", False, "time")
    assert hold["clears_at"] == "2026-03-02T19:00:00Z"
    assert hold["reason"].startswith(f"{rod}: ")


def test_a_lot_that_does_not_last_is_a_warning_and_no_hold(desk: Program) -> None:
    a, b = lot(desk, "A", amount_ml=20), lot(desk, "B", amount_ml=200)
    lots = {"lot_a_id": a, "lot_b_id": b}
    desk.post("/mixes", **CUP, **lots, amount_a_ml=8, amount_b_ml=8)
    enough = desk.post("/mixes/plan", **CUP, **lots, volume_ml=24)
    assert (enough["holds"], enough["warnings"]) == ([], [])
    desk.post("/mixes", **CUP, **lots)
    short = desk.post("/mixes/plan", **CUP, **lots, volume_ml=30)
    assert (short["holds"], short["allowed"]) == ([], True)
    assert short["warnings"] == [
        "Lot L-A (part A) has about 12 mL left by the record; this cup takes 15 mL of it. 1 mix from it did "
        "not say how much it took, so there may be less."
    ]


@pytest.mark.parametrize(
    ("said", "status", "field"),
    [
        ({"adhesive_id": 99}, 404, ""),
        ({"zone_id": 99}, 404, ""),
        ({"lot_a_id": 99}, 404, ""),
        ({"serves": serves("butt cap", "26-001")}, 422, "serves"),
        ({"serves": serves("rear grip", "26-099")}, 422, "serves"),
        ({"serves": serves("guide wraps", "26-003")}, 422, "serves"),
        ({"serves": serves("rear grip", "26-001") * 61}, 422, "serves"),
        ({"volume_ml": 0}, 422, "volume_ml"),
        ({"volume_ml": 1e-300}, 422, "volume_ml"),
        ({"minutes": 1e-300}, 422, "minutes"),
        ({"volume_ml": 2000.1}, 422, "volume_ml"),
        ({"volume_ml": "12"}, 422, "volume_ml"),
        ({"minutes": 1e300}, 422, "minutes"),
        ({"parts_c": 80.1}, 422, "parts_c"),
        ({"mixed_at": "2026-03-02T08:00:00Z"}, 422, "mixed_at"),
    ],
)
def test_a_cup_that_cannot_be_says_which_field(
    desk: Program, said: dict[str, Any], status: int, field: str
) -> None:
    problem = desk.assert_refused(status, "/mixes/plan", **{**CUP, **said})
    assert [error["field"].split(".")[0] for error in problem.get("errors", [])] == [field] * bool(field)


def test_a_place_in_another_cup_is_not_planned_for_twice(desk: Program) -> None:
    said: dict[str, Any] = {**CUP, "serves": serves("rear grip", "26-001")}
    desk.post("/mixes", **said)
    (error,) = desk.assert_refused(422, "/mixes/plan", **said)["errors"]
    assert "is in the cup of 09:00" in error["detail"]


@pytest.mark.parametrize("method", ["GET", "PATCH", "DELETE"])
def test_a_plan_is_asked_for_by_post_alone(desk: Program, method: str) -> None:
    desk.assert_refused(405, "/mixes/plan", method=method)
    assert desk.send(method, "/mixes/plan").headers["allow"] == "POST"


def test_planning_takes_a_key_of_the_bench(bench: Program, desk: Program) -> None:
    assert bench.post("/mixes/plan", **CUP)["allowed"] is True
    assert desk.post("/mixes/plan", **CUP)["allowed"] is True
