"""The API of cups for many rods: their lots and amounts, the places they are for, closing many at once."""

from typing import Any

import pytest

from tests.api.conftest import Program
from tests.conftest import Hands

LOT = {"adhesive_id": 1, "part": "A", "number": "R-118", "received_on": "2026-02-01", "use_by": "2026-12-31"}


def two_rods(desk: Program) -> tuple[str, str]:
    return desk.build(), desk.build()


def served(desk: Program, rods: tuple[str, str], **said: Any) -> Any:
    serves = [{"build": number, "place": "rear grip"} for number in rods]
    return desk.post("/mixes", adhesive_id=1, zone_id=1, serves=serves, **said)


def places(desk: Program, mix_id: int) -> list[tuple[str, str | None]]:
    return [(item["build"], item["closed_at"]) for item in desk.get(f"/mixes/{mix_id}/servings")["items"]]


def test_a_cup_keeps_its_lots_amounts_and_places(desk: Program) -> None:
    rods, lot = two_rods(desk), desk.post("/lots", **LOT)["id"]
    mix = served(desk, rods, lot_a_id=lot, amount_a_ml=4.5, amount_b_ml=4.5, planned_minutes=20)
    assert (mix["lot_a_id"], mix["lot_b_id"], mix["amount_a_ml"]) == (lot, None, 4.5)
    assert (mix["amount_b_ml"], mix["planned_minutes"]) == (4.5, 20)
    assert places(desk, mix["id"]) == [(rods[0], None), (rods[1], None)]
    events = desk.get(f"/builds/{rods[1]}/events")["items"]
    assert [(event["kind"], event["note"]) for event in events] == [
        ("mix", "Riverbed mixed for the rear grip, from lots A R-118.")
    ]
    corrected = desk.post(f"/mixes/{mix['id']}/correct", mixed_at="2026-03-02T08:55:00Z", reason="Late.")
    assert (corrected["lot_a_id"], corrected["amount_a_ml"]) == (lot, 4.5)
    right = {"amount_a_ml": 5.5, "amount_b_ml": 5, "planned_minutes": 25}
    again = desk.post(f"/mixes/{mix['id']}/correct", **right, reason="A slip.")
    assert {name: again[name] for name in right} == right
    problem = desk.assert_refused(422, f"/mixes/{mix['id']}/correct", amount_a_ml=0, reason="A slip.")
    assert [error["field"] for error in problem["errors"]] == ["amount_a_ml"]


def test_a_lot_out_of_date_is_refused_until_an_owner_releases_it(desk: Program, bench: Program) -> None:
    lot = desk.post("/lots", **{**LOT, "use_by": "2026-03-01"})["id"]
    said = {"adhesive_id": 1, "zone_id": 1, "lot_a_id": lot}
    problem = desk.assert_refused(409, "/mixes", **said)
    (hold,) = problem["holds"]
    assert (hold["kind"], hold["waivable"], hold["cleared_by"]) == ("lot", True, "work")
    assert "Lot R-118 (part A) is out of date" in hold["reason"]
    release = [{"kind": "lot", "reason": "A trial cup went hard."}]
    bench.assert_refused(403, "/mixes", **said, release=release)
    assert desk.post("/mixes", **said, release=release)["lot_a_id"] == lot
    # A cup of the day before it went out of date is a fact, and no fault.
    assert desk.post("/mixes", **said, mixed_at="2026-03-01T20:00:00Z")["lot_a_id"] == lot


@pytest.mark.parametrize(
    ("said", "status", "field"),
    [
        ({"amount_a_ml": 0}, 422, "amount_a_ml"),
        ({"amount_b_ml": 1e-300}, 422, "amount_b_ml"),
        ({"planned_minutes": 1e-300}, 422, "planned_minutes"),
        ({"amount_b_ml": 2001}, 422, "amount_b_ml"),
        ({"planned_minutes": -1}, 422, "planned_minutes"),
        ({"lot_a_id": 99}, 404, ""),
        ({"serves": [{"build": "26-099", "place": "rear grip"}]}, 404, ""),
        ({"serves": [{"build": "26-001", "place": " "}]}, 422, "place"),
        ({"release": [{"kind": "lot", "reason": " "}]}, 422, "release"),
    ],
)
def test_a_cup_that_cannot_be_is_not_written_down(
    desk: Program, said: dict[str, Any], status: int, field: str
) -> None:
    desk.build()
    problem = desk.assert_refused(status, "/mixes", adhesive_id=1, zone_id=1, **said)
    assert field in str(problem.get("errors", ""))
    assert desk.get("/mixes")["items"] == []


def test_many_places_are_closed_at_once(desk: Program, hands: Hands) -> None:
    rods = two_rods(desk)
    mix = served(desk, rods)["id"]
    hands.forward(minutes=20)
    closings = [
        {"build": rods[0], "place": "rear grip"},
        {"build": rods[1], "place": "rear grip", "closed_at": "2026-03-02T09:08:00Z"},
    ]
    cures = desk.post(f"/mixes/{mix}/closings", closings=closings, by="Nell")["items"]
    assert [(cure["build"], cure["closed_at"], cure["by"]) for cure in cures] == [
        (rods[0], "2026-03-02T09:20:00Z", "Nell"), (rods[1], "2026-03-02T09:08:00Z", "Nell"),
    ]  # fmt: skip
    assert places(desk, mix) == [(rods[0], "2026-03-02T09:20:00Z"), (rods[1], "2026-03-02T09:08:00Z")]


@pytest.mark.parametrize(
    ("closed_at", "status"),
    [("2026-03-02T08:59:59Z", 422), ("2026-03-02T09:30:01Z", 409), ("2026-03-02T12:00:00Z", 422)],
    ids=["before the mix", "after the pot life", "in the future"],
)
def test_one_place_that_cannot_be_closed_leaves_all_of_them_open(
    desk: Program, hands: Hands, closed_at: str, status: int
) -> None:
    rods = two_rods(desk)
    mix = served(desk, rods)["id"]
    hands.forward(minutes=40)
    good = {"build": rods[0], "place": "rear grip", "closed_at": "2026-03-02T09:10:00Z"}
    bad = {"build": rods[1], "place": "rear grip", "closed_at": closed_at}
    desk.assert_refused(status, f"/mixes/{mix}/closings", closings=[good, bad])
    assert places(desk, mix) == [(rods[0], None), (rods[1], None)]
    desk.assert_refused(422, f"/mixes/{mix}/closings", closings=[])


def test_the_same_closing_sent_twice_is_one(desk: Program) -> None:
    rods = two_rods(desk)
    mix = served(desk, rods)["id"]
    closings = [{"build": rods[0], "place": "rear grip"}]
    sent = [
        desk.send(
            "POST", f"/mixes/{mix}/closings", json={"closings": closings}, headers={"idempotency-key": "k1"}
        ).json()
        for _ in range(2)
    ]
    assert sent[0] == sent[1]
    assert len(desk.get(f"/builds/{rods[0]}/events")["items"]) == 2


def test_the_lots_of_a_cup_can_be_put_right(desk: Program) -> None:
    wrong, right = (desk.post("/lots", **{**LOT, "number": number})["id"] for number in ("R-118", "R-119"))
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1, lot_a_id=wrong)["id"]
    assert desk.get(f"/lots/{wrong}")["opened_on"] == "2026-03-02"
    assert desk.post(f"/mixes/{mix}/correct", lot_a_id=right, reason="Read it wrong.")["lot_a_id"] == right
    assert desk.get(f"/lots/{right}")["opened_on"] == "2026-03-02"
    # The lots of one product are not those of another.
    problem = desk.assert_refused(
        422, f"/mixes/{mix}/correct", adhesive_id=2, lot_b_id=right, reason="It was the finish."
    )
    assert [error["field"] for error in problem["errors"]] == ["lot_a_id", "lot_b_id"]
    finish = desk.post("/lots", **{**LOT, "adhesive_id": 2})["id"]
    anew = desk.post(f"/mixes/{mix}/correct", adhesive_id=2, lot_a_id=finish, reason="It was the finish.")
    assert (anew["adhesive_id"], anew["lot_a_id"]) == (2, finish)
    desk.assert_refused(404, f"/mixes/{mix}/correct", lot_b_id=99, reason="A slip.")
