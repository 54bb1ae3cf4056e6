"""Rods carried to another zone: what that does to their cures, what is refused, and how it is undone."""

from typing import Any

import pytest
from sqlalchemy import update

from shop.db.builds import Build
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands

# In the cellar nothing hardens: it is below the coldest temperature of both sheets. The loft is no warmer
# for a cure than the bench, whatever the thermometer says: warmth makes no wait shorter than the sheet.
CELLAR, LOFT = 2, 3


@pytest.fixture
def number(desk: Program) -> str:
    """A rod with a joint at the rear grip, closed at nine on the bench; it sets at seven in the evening."""
    desk.post("/zones", name="cellar", assumed_c=8)
    desk.post("/zones", name="loft", assumed_c=30)
    number = desk.build()
    assert desk.glue(number, "rear grip")["set_at"] == "2026-03-02T19:00:00Z"
    return number


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def test_a_joint_waits_where_it_is_cold_and_goes_on_when_it_is_carried_back(
    bench: Program, number: str, hands: Hands
) -> None:
    hands.forward(hours=2)
    (gone,) = bench.post(f"/builds/{number}/move", zone_id=CELLAR, by="Nell")["items"]
    assert (gone["zone"], gone["closed_in"], gone["stalled"], gone["set_at"]) == (
        "cellar",
        "bench",
        True,
        None,
    )
    hands.forward(hours=4)
    (back,) = bench.post(f"/builds/{number}/move", zone_id=1, at="2026-03-02T14:00:00Z")["items"]
    assert (back["zone"], back["set_at"], back["full_at"]) == (
        "bench", "2026-03-02T22:00:00Z", "2026-03-03T12:00:00Z",
    )  # fmt: skip
    assert back["moves"] == [
        {"id": 1, "zone": "cellar", "at": "2026-03-02T11:00:00Z", "by": "Nell", "undone": ""},
        {"id": 2, "zone": "bench", "at": "2026-03-02T14:00:00Z", "by": "bench key", "undone": ""},
    ]
    assert bench.get("/cures/1") == back


def test_a_move_is_on_the_record_of_the_rod(bench: Program, number: str, hands: Hands) -> None:
    hands.forward(hours=1)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR, by="Nell")
    event = bench.get(f"/builds/{number}/events")["items"][-1]
    assert (event["kind"], event["by"], event["at"]) == ("move", "Nell", "2026-03-02T10:00:00Z")
    assert event["note"] == "Carried to the zone cellar with what was soft: rear grip."
    bench.post("/moves/1/undo", reason="It stayed on the bench")
    event = bench.get(f"/builds/{number}/events")["items"][-1]
    assert (event["kind"], event["note"]) == (
        "correction", "The rear grip was not carried to the zone cellar after all: It stayed on the bench.",
    )  # fmt: skip


def test_a_move_holds_the_stage_that_waits_for_the_joint(bench: Program, number: str, hands: Hands) -> None:
    bench.post(f"/builds/{number}/advance", to="agreed")
    bench.post(f"/builds/{number}/advance", to="fitted", measurements={"rear bore": "12 mm"})
    bench.post(f"/builds/{number}/advance", to="grip glued")
    hands.forward(hours=5)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR)
    hands.forward(hours=1)
    bench.post(f"/builds/{number}/move", zone_id=1)
    holds = {hold["kind"]: hold for hold in bench.get(f"/builds/{number}/next")["holds"]}
    assert holds["set"]["clears_at"] == "2026-03-02T20:00:00Z"
    hands.forward(hours=3, minutes=59)
    assert "set" in bench.kinds(number)
    hands.forward(minutes=61)
    assert bench.kinds(number) == ["check"]


def test_an_undone_move_counts_no_more_and_stays_to_be_read(
    bench: Program, number: str, hands: Hands
) -> None:
    hands.forward(hours=2)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR)
    cure = bench.post("/moves/1/undo", reason="The wrong rod.")
    assert (cure["zone"], cure["set_at"]) == ("bench", "2026-03-02T19:00:00Z")
    assert [(move["zone"], move["undone"]) for move in cure["moves"]] == [("cellar", "The wrong rod.")]
    bench.assert_refused(409, "/moves/1/undo", reason="Again.")


def test_only_what_is_named_is_carried(bench: Program, number: str, hands: Hands) -> None:
    seat = bench.glue(number, "reel seat")
    hands.forward(hours=1)
    carried = bench.post(f"/builds/{number}/move", zone_id=CELLAR, cure_ids=[seat["id"]])["items"]
    assert [cure["place"] for cure in carried] == ["reel seat"]
    assert bench.get("/cures/1")["zone"] == "bench"
    both = bench.post(f"/builds/{number}/move", zone_id=LOFT)["items"]
    assert [(cure["place"], cure["zone"]) for cure in both] == [("rear grip", "loft"), ("reel seat", "loft")]
    rest = bench.post(f"/builds/{number}/move", zone_id=1, cure_ids=[1])["items"]
    assert [cure["place"] for cure in rest] == ["rear grip"]
    # What lies there already is left alone where nothing was named.
    assert [c["place"] for c in bench.post(f"/builds/{number}/move", zone_id=1)["items"]] == ["reel seat"]


def test_a_corrected_cure_keeps_its_moves(bench: Program, number: str, hands: Hands) -> None:
    hands.forward(hours=2)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR)
    hands.forward(hours=1)
    bench.post(f"/builds/{number}/move", zone_id=1)
    anew = {"place": "fore grip", "reason": "The wrong place."}
    cure = bench.post("/cures/1/correct", **anew)
    assert [(move["zone"], move["at"]) for move in cure["moves"]] == [
        ("cellar", "2026-03-02T11:00:00Z"), ("bench", "2026-03-02T12:00:00Z"),
    ]  # fmt: skip
    assert cure["set_at"] == "2026-03-02T20:00:00Z"
    bench.assert_refused(409, "/moves/1/undo", reason="The old entry's.")


def test_a_correction_cannot_close_a_joint_after_it_was_carried(
    bench: Program, number: str, hands: Hands
) -> None:
    hands.forward(minutes=10)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR)
    hands.forward(minutes=10)
    late = {"closed_at": "2026-03-02T09:10:01Z", "reason": "It was later."}
    assert fields(bench.assert_refused(422, "/cures/1/correct", **late)) == ["closed_at"]
    bench.post("/cures/1/correct", **{**late, "closed_at": "2026-03-02T09:10:00Z"})


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"zone_id": CELLAR, "at": "2026-03-02T11:00:01Z"}, "at"),  # a second ahead
        ({"zone_id": CELLAR, "at": "2026-03-02T08:59:59Z"}, "at"),  # a second before the joint was closed
        ({"zone_id": LOFT, "at": "2026-03-02T09:59:59Z"}, "at"),  # a second before it was last carried
        ({"zone_id": CELLAR}, "zone_id"),
        ({"zone_id": CELLAR, "cure_ids": [1]}, "zone_id"),
        ({"zone_id": 1, "cure_ids": [99]}, "cure_ids"),
        ({"zone_id": 1, "cure_ids": []}, "cure_ids"),
        ({"zone_id": 1, "at": "noon"}, "at"),
        ({}, "zone_id"),
    ],
)
def test_a_move_that_cannot_be(
    bench: Program, number: str, hands: Hands, said: dict[str, Any], field: str
) -> None:
    hands.forward(hours=1)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR)
    hands.forward(hours=1)
    before = bench.get("/cures/1")
    assert fields(bench.assert_refused(422, f"/builds/{number}/move", **said)) == [field]
    assert bench.get("/cures/1") == before


@pytest.mark.parametrize(("hours", "status"), [(23.999, 200), (24.0, 409)])
def test_what_is_hard_is_carried_for_nothing(
    bench: Program, number: str, hands: Hands, hours: float, status: int
) -> None:
    hands.forward(hours=hours)
    answer = bench.send("POST", f"/builds/{number}/move", json={"zone_id": CELLAR})
    assert answer.status_code == status, answer.text


def test_a_rod_that_was_carried_earlier_than_it_was_logged_is_soft_again(
    bench: Program, number: str, hands: Hands
) -> None:
    hands.forward(hours=30)
    (cure,) = bench.post(f"/builds/{number}/move", zone_id=CELLAR, at="2026-03-03T08:00:00Z")["items"]
    assert (cure["stalled"], cure["set_at"]) == (True, "2026-03-02T19:00:00Z")


def test_a_rod_carried_whole_takes_along_what_was_on_it_by_then(
    bench: Program, desk: Program, number: str, hands: Hands
) -> None:
    hands.forward(hours=3)
    desk.glue(number, "reel seat")
    carried = bench.post(f"/builds/{number}/move", zone_id=CELLAR, at="2026-03-02T11:59:59Z")["items"]
    assert [(cure["place"], cure["zone"]) for cure in carried] == [("rear grip", "cellar")]
    assert bench.get("/cures/2")["zone"] == "bench"
    # Named, it is a mistake to be told of.
    wrong: dict[str, Any] = {"zone_id": CELLAR, "at": "2026-03-02T11:59:59Z", "cure_ids": [2]}
    assert fields(bench.assert_refused(422, f"/builds/{number}/move", **wrong)) == ["at"]
    # The very instant of closing counts as on it.
    whole = bench.post(f"/builds/{number}/move", zone_id=LOFT, at="2026-03-02T12:00:00Z")["items"]
    assert [cure["place"] for cure in whole] == ["rear grip", "reel seat"]


def test_a_finished_rod_is_carried_no_more(bench: Program, number: str, filled: Hub, hands: Hands) -> None:
    with filled.database.writing(hands.wall_at) as session:
        session.execute(update(Build).values(closed_at=hands.wall_at))
    problem = bench.assert_refused(409, f"/builds/{number}/move", zone_id=CELLAR)
    assert "is finished" in problem["detail"]


def test_a_coat_says_until_when_it_is_kept_turning(desk: Program, hands: Hands) -> None:
    sheet = {"reference_c": 20, "pot_life_minutes": 30, "set_minutes": 300, "full_cure_minutes": 1440}
    clear = {"name": "Clearwater", "use": "finish", "parts_a": 1, "parts_b": 1, **sheet, "turn_minutes": 120}
    adhesive = desk.post("/adhesives", **clear)["id"]
    coat = desk.glue(desk.build(), "guide wraps", adhesive)
    assert coat["turned_at"] == "2026-03-02T11:00:00Z"
    desk.send("PATCH", f"/adhesives/{adhesive}", json={"turn_minutes": 240})
    assert desk.get(f"/cures/{coat['id']}")["turned_at"] == coat["turned_at"]
    hands.forward(hours=1)
    desk.post("/zones", name="cellar", assumed_c=8)
    desk.post(f"/builds/{coat['build']}/move", zone_id=CELLAR)
    assert desk.get(f"/cures/{coat['id']}")["turned_at"] is None


def test_what_is_not_on_file_or_not_asked_is_refused(bench: Program, number: str, hands: Hands) -> None:
    bench.assert_refused(404, f"/builds/{number}/move", zone_id=99)
    bench.assert_refused(404, "/builds/99-999/move", zone_id=CELLAR)
    bench.assert_refused(404, "/moves/99/undo", reason="None such.")
    hands.forward(hours=1)
    bench.post(f"/builds/{number}/move", zone_id=CELLAR)
    assert fields(bench.assert_refused(422, "/moves/1/undo", reason=" ")) == ["reason"]
    assert bench.get("/cures/1")["zone"] == "cellar"
