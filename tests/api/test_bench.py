"""The bench as a program sees it: what is free, what is setting, what is held."""

from typing import Any

from tests.api.conftest import Program
from tests.conftest import Hands


def numbers(view: dict[str, list[Any]]) -> dict[str, list[str]]:
    return {name: [row["number"] for row in rows] for name, rows in view.items()}


def test_an_empty_bench_has_three_empty_lists(desk: Program) -> None:
    assert desk.get("/bench") == {"free": [], "curing": [], "held": []}


def test_each_build_is_in_one_list(desk: Program) -> None:
    free, setting, held = desk.build(), desk.build(), desk.build()
    for number in (setting, held):
        desk.post(f"/builds/{number}/advance", to="agreed")
        desk.post(f"/builds/{number}/advance", to="fitted", measurements={"rear bore": "12 mm"})
        desk.post(f"/builds/{number}/advance", to="grip glued")
    cure = desk.glue(setting, "rear grip")
    assert numbers(desk.get("/bench")) == {"free": [free], "curing": [setting], "held": [held]}
    row = desk.get("/bench")["curing"][0]
    assert (row["stage"], row["next"], row["allowed"]) == ("grip glued", "seat glued", False)
    assert row["holds"] == desk.get(f"/builds/{setting}/next")["holds"]
    assert row["cures"] == [
        {
            name: cure[name]
            for name in ("id", "place", "adhesive", "set_at", "full_at", "recoat_from", "recoat_until")
        }
    ]
    desk.post(f"/mixes/{cure['mix_id']}/suspect", reason="Poured by eye.")
    assert numbers(desk.get("/bench"))["held"] == [setting, held]


def test_the_row_of_a_build_names_it_and_says_when_it_is_ready(desk: Program, hands: Hands) -> None:
    number = desk.build(promised_on="2026-04-17")
    desk.post(f"/builds/{number}/advance", to="agreed")
    desk.post(f"/builds/{number}/advance", to="fitted", measurements={"rear bore": "12 mm"})
    desk.glue(number, "rear grip")
    desk.post(f"/builds/{number}/advance", to="grip glued", checks=[{"name": "orientation", "by": "Ott"}])
    row = desk.get("/bench")["curing"][0]
    assert (row["title"], row["customer"], row["promised_on"]) == ("7 ft", "Ada Thorn", "2026-04-17")
    assert row["ready_at"] == "2026-03-02T19:00:00Z"
    hands.forward(hours=10)
    row = desk.get("/bench")["free"][0]
    assert (row["ready_at"], row["allowed"], row["holds"]) == (None, True, [])
    assert [cure["place"] for cure in row["cures"]] == ["rear grip"], "set, but not hard yet"
    hands.forward(hours=14)
    assert desk.get("/bench")["free"][0]["cures"] == []
