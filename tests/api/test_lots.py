"""The API of lots: what is on the shelf, what becomes of it, recall both ways, who may."""

from collections.abc import Callable
from typing import Any

import pytest

from shop.db.mixes import Mix
from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands

LOT: dict[str, Any] = {
    "adhesive_id": 1, "part": "A", "number": "R-2207", "received_on": "2026-02-01", "opened_on": "2026-02-10",
    "use_by": "2026-09-01", "opened_life_days": 60, "position": "cupboard", "amount_ml": 473.5,
}  # fmt: skip
SPARE = {"adhesive_id": 1, "part": "B", "number": "H-1", "received_on": "2026-02-01"}
UNSAID = dict.fromkeys(("opened_on", "use_by", "opened_life_days", "amount_ml"))


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def name_lots(hub: Hub, hands: Hands, mix_id: int, lot_a: int | None, lot_b: int | None) -> None:
    with hub.database.writing(hands.wall_at) as session:
        mix = session.get_one(Mix, mix_id)
        mix.lot_a_id, mix.lot_b_id = lot_a, lot_b


def test_a_lot_is_kept_as_it_came(desk: Program) -> None:
    made = desk.post("/lots", **LOT)
    assert made == {
        "id": 1, **LOT, "adhesive": "Riverbed", "left_ml": 473.5, "unsaid_mixes": 0, "emptied_on": None,
        "quarantined": "", "last_day": "2026-04-11", "usable": True, "fault": "",
    }  # fmt: skip
    assert desk.get("/lots/1") == made
    plain = desk.post("/lots", **SPARE)
    assert {name: plain[name] for name in (*UNSAID, "left_ml", "last_day", "position")} == {
        **UNSAID, "left_ml": None, "last_day": None, "position": "",
    }  # fmt: skip
    other = desk.post("/lots", **{**LOT, "adhesive_id": 2})
    assert desk.get("/lots") == {"items": [made, plain, other], "next": None}
    assert desk.get("/lots", adhesive_id=1) == {"items": [made, plain], "next": None}
    assert desk.get("/lots", adhesive_id=1, limit=1) == {"items": [made], "next": "1"}
    assert desk.get("/lots", adhesive_id=1, after=1) == {"items": [plain], "next": None}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"part": "C"}, "part"),
        ({"number": ""}, "number"),
        ({"number": None}, "number"),
        ({"received_on": "2026-03-03"}, "received_on"),
        ({"received_on": "tomorrow"}, "received_on"),
        ({"opened_on": "2026-01-31"}, "opened_on"),
        ({"opened_life_days": 0}, "opened_life_days"),
        ({"opened_life_days": 1.5}, "opened_life_days"),
        ({"amount_ml": 0}, "amount_ml"),
        ({"amount_ml": "473"}, "amount_ml"),
        ({"left_ml": 3}, "left_ml"),
    ],
)
def test_what_no_lot_can_be_is_refused_by_field(desk: Program, changes: dict[str, Any], field: str) -> None:
    assert fields(desk.assert_refused(422, "/lots", **{**LOT, **changes})) == [field]
    assert desk.get("/lots")["items"] == []
    made = desk.post("/lots", **LOT)
    assert fields(desk.assert_refused(422, "/lots/1", method="PATCH", **changes)) == [field]
    assert desk.get("/lots/1") == made


@pytest.mark.parametrize(
    "changes", [{}, {"number": "R-9"}, UNSAID, {"position": ""}, {"use_by": "2026-02-01"}]
)
def test_a_change_leaves_the_rest(desk: Program, changes: dict[str, Any]) -> None:
    made = desk.post("/lots", **LOT)
    changed = desk.send("PATCH", "/lots/1", json=changes)
    assert changed.status_code == 200
    assert {name: changed.json()[name] for name in LOT} == {name: made[name] for name in LOT} | changes


def test_a_lot_is_opened_and_used_up(bench: Program, desk: Program) -> None:
    desk.post("/lots", **SPARE)
    assert bench.post("/lots/1/open", on="2026-02-02")["opened_on"] == "2026-02-02"
    bench.assert_refused(409, "/lots/1/open")
    assert fields(bench.assert_refused(422, "/lots/1/empty", on="2026-02-01")) == ["emptied_on"]
    emptied = bench.post("/lots/1/empty")
    assert (emptied["emptied_on"], emptied["usable"]) == ("2026-03-02", False)
    bench.assert_refused(409, "/lots/1/empty")
    for_sure = desk.assert_refused(422, "/lots/1", method="PATCH", emptied_on="2026-03-01")
    assert fields(for_sure) == ["emptied_on"]
    assert desk.send("PATCH", "/lots/1", json={"position": "box"}).json()["emptied_on"] == "2026-03-02"
    taken_back = desk.send("PATCH", "/lots/1", json={"emptied_on": None}).json()
    assert (taken_back["emptied_on"], taken_back["usable"]) == (None, True)


def test_a_quarantine_holds_the_rods_that_had_it_and_an_owner_lifts_it(
    filled: Hub, hands: Hands, desk: Program, bench: Program
) -> None:
    number = desk.build()
    desk.post("/lots", **LOT)
    cure = desk.glue(number, "rear grip")
    name_lots(filled, hands, cure["mix_id"], 1, None)
    told = bench.post("/lots/1/quarantine", reason="It is brown.", suspect_mixes=True)
    assert told["suspected_mixes"] == [cure["mix_id"]]
    assert (told["usable"], told["quarantined"]) == (False, "It is brown.")
    assert told["fault"] == "Lot R-2207 (part A) is quarantined: It is brown."
    assert desk.kinds(number)[0] == "suspect"
    bench.assert_refused(409, "/lots/1/quarantine", reason="Again.")
    again = bench.post("/lots/1/quarantine", reason="Again.", suspect_mixes=True)
    assert (again["quarantined"], again["suspected_mixes"]) == ("It is brown.", [])
    assert fields(desk.assert_refused(422, "/lots/1/release", reason=" ")) == ["reason"]
    bench.assert_refused(403, "/lots/1/release", reason="Looks fine.")
    assert desk.post("/lots/1/release", reason="It was the light.")["usable"] is True
    desk.assert_refused(409, "/lots/1/release", reason="Again.")
    assert desk.kinds(number)[0] == "suspect", "a mix's suspicion awaits its own verdict"


def test_a_quarantine_without_its_mixes_and_with_them_later(
    filled: Hub, hands: Hands, bench: Program, desk: Program
) -> None:
    desk.post("/lots", **LOT)
    assert fields(bench.assert_refused(422, "/lots/1/quarantine", reason="x" * 401)) == ["reason"]
    assert bench.post("/lots/1/quarantine", reason="It is brown.")["suspected_mixes"] == []
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    name_lots(filled, hands, mix, 1, None)
    later = bench.post("/lots/1/quarantine", reason="It is brown.", suspect_mixes=True)
    assert later["suspected_mixes"] == [mix]


def test_recall_both_ways(filled: Hub, hands: Hands, desk: Program) -> None:
    number = desk.build()
    desk.post("/lots", **LOT)
    desk.post("/lots", **SPARE)
    cure = desk.glue(number, "rear grip")
    desk.glue(number, "fore grip")
    name_lots(filled, hands, cure["mix_id"], 1, 2)
    use = {
        "lot_id": 1, "lot": "R-2207", "adhesive": "Riverbed", "parts": "A", "build": number, "title": "7 ft",
        "customer": "Ada Thorn", "handed_over": False, "place": "rear grip", "pass": 1,
        "mix_id": cure["mix_id"], "mixed_at": "2026-03-02T09:00:00Z", "closed_at": "2026-03-02T09:00:00Z",
        "failed": "",
    }  # fmt: skip
    other = {**use, "lot_id": 2, "lot": "H-1", "parts": "B"}
    assert desk.get("/lots/1/builds") == {"items": [use], "next": None}
    assert desk.get("/lots/2/builds") == {"items": [other], "next": None}
    assert desk.get(f"/builds/{number}/lots") == {"items": [use, other], "next": None}


def test_a_lot_or_a_build_that_is_not_on_file(desk: Program) -> None:
    for path in ("/lots/9", "/lots/9/builds", "/builds/26-999/lots"):
        desk.assert_refused(404, path, method="GET")
    for path in ("/lots/9/open", "/lots/9/empty"):
        desk.assert_refused(404, path)
    for path in ("/lots/9/quarantine", "/lots/9/release"):
        desk.assert_refused(404, path, reason="It is brown.")
    desk.assert_refused(404, "/lots/9", method="PATCH", number="R-1")
    desk.assert_refused(404, "/lots", **{**LOT, "adhesive_id": 9})


def test_who_may(program: Callable[..., Program], desk: Program) -> None:
    desk.post("/lots", **LOT)
    reader, bench = program(Scope.READ), program(Scope.BENCH)
    assert reader.get("/lots")["items"]
    for path in ("/lots/1/open", "/lots/1/empty", "/lots/1/quarantine", "/lots/1/release"):
        reader.assert_refused(403, path)
    for who in (reader, bench):
        who.assert_refused(403, "/lots", **LOT)
        who.assert_refused(403, "/lots/1", method="PATCH", number="R-1")


def test_a_lot_is_put_on_the_shelf_once_however_often_it_is_sent(desk: Program) -> None:
    headers = {"Idempotency-Key": "delivery of Monday"}
    first = desk.send("POST", "/lots", json=LOT, headers=headers)
    assert desk.send("POST", "/lots", json=LOT, headers=headers).json() == first.json()
    assert len(desk.get("/lots")["items"]) == 1


def test_a_quarantine_of_a_lot_in_the_cup_is_told_wherever_the_cup_is_used(desk: Program) -> None:
    rods = [desk.build(), desk.build(), desk.build()]
    lots = [desk.post("/lots", **LOT)["id"], desk.post("/lots", **SPARE)["id"]]
    serves = [{"build": rod, "place": "rear grip"} for rod in rods]
    said = {"adhesive_id": 1, "zone_id": 1, "lot_a_id": lots[0], "lot_b_id": lots[1]}
    mix = desk.post("/mixes", **said, serves=serves)
    plain = desk.post("/mixes", adhesive_id=1, zone_id=1)
    assert mix["warnings"] == plain["warnings"] == []
    first = desk.post("/mixes/1/closings", closings=serves[:1])
    assert first["warnings"] == []
    desk.post("/lots/1/quarantine", reason="stringy")
    told = [
        "Lot R-2207 (part A), which is in this cup, is quarantined: stringy. Better mix again from another "
        "lot."
    ]
    assert desk.get("/mixes/1")["warnings"] == told
    assert [item["warnings"] for item in desk.get("/mixes")["items"]] == [told, []]
    assert desk.post("/mixes/1/puddle", state="firm")["warnings"] == told
    closed = desk.post("/mixes/1/closings", closings=serves[1:2])
    assert (closed["warnings"], len(closed["items"])) == (told, 1)
    assert desk.post("/mixes/1/cures", build=rods[2], place="rear grip")["warnings"] == told
    assert desk.post("/mixes/2/cures", build=rods[2], place="reel seat")["warnings"] == []
    desk.post("/lots/2/quarantine", reason="gritty")
    assert len(desk.get("/mixes/1")["warnings"]) == 2
    desk.post("/lots/1/release", reason="It was the other bottle.")
    assert desk.get("/mixes/1")["warnings"] == [
        "Lot H-1 (part B), which is in this cup, is quarantined: gritty. Better mix again from another lot."
    ]
